"""Numbers in forms: decimal point or comma, and never one that could be two."""

import pytest

from server.typed_numbers import number_problem, typed_number


@pytest.mark.parametrize(
    ("text", "plain"),
    [("12,5", "12.5"), (" 12.5 ", "12.5"), ("0,123", "0.123"), ("-3", "-3"), ("1 234,5", "1234.5"),
     ("1.234,5", "1234.5"), ("1,234.5", "1234.5"), ("1.234.567", "1234567"), ("1234,567", "1234.567"), ("1e-3", "1e-3"),
     ("1.234", "1.234")],
)  # fmt: skip
def test_one_number(text: str, plain: str) -> None:
    assert typed_number(text) == plain and number_problem(text) == ""


@pytest.mark.parametrize(
    ("text", "said"),
    [("1,234", "1.234 or as 1234"), ("-12,345", "-12.345 or as -12345"), ("", "not a number"), ("12;5", "not a number"),
     ("1,2,3", "not a number"), ("nan", "not a number"), ("inf", "not a number"), ("1_000", "not a number"),
     ("1e400", "too large"), ("12 bar", "not a number")],
)  # fmt: skip
def test_none_or_two(text: str, said: str) -> None:
    assert said in number_problem(text)
    with pytest.raises(ValueError, match=said):
        typed_number(text)
