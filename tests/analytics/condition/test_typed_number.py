"""Numbers read as people type them, and written as they would."""

import pytest

from analytics.condition.typed_number import number_text, plain_number, shifted


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (11.99688, 4, "12"),
        (0.012345, 4, "0.01235"),
        (0.1, 4, "0.1"),
        (-3480.26, 4, "-3480"),
        (0.0, 4, "0"),
        (2.5, 1, "3"),
    ],
)
def test_numbers_are_written_to_so_many_digits(value: float, digits: int, text: str) -> None:
    assert number_text(value, digits) == text


@pytest.mark.parametrize(
    ("typed", "power", "text"),
    [
        ("121", -1, "12.1"),
        ("12.1", 1, "121"),
        ("5", -2, "0.05"),
        ("-7.5", 3, "-7500"),
        ("0.05", 2, "5"),
        ("10", -1, "1"),
    ],
)
def test_points_move_without_a_rounding(typed: str, power: int, text: str) -> None:
    assert shifted(typed, power) == text


@pytest.mark.parametrize(
    ("typed", "plain"),
    [("1,243", "1.243"), ("1 234.5", "1234.5"), ("1.234.567", "1234567"), ("−3", "-3"), ("1e3", None),
     ("", None), ("1,2,3", None)],
)  # fmt: skip
def test_numbers_as_people_type_them(typed: str, plain: str | None) -> None:
    assert plain_number(typed) == plain
