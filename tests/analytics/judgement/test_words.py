"""The phrases that every sentence shares: real minus signs, no jargon, no false digits."""

from datetime import date

import pytest

from analytics.judgement.words import amount, percent_change, plain_date, scope_name


@pytest.mark.parametrize(
    ("ratio", "text"), [(0.9, "0.90"), (1.0049, "1.00"), (1.005001, "1.01"), (-0.1, "−0.10"), (None, "")]
)
def test_amount(ratio: float | None, text: str) -> None:
    assert amount(ratio) == text


@pytest.mark.parametrize(
    ("ratio", "text"),
    [(0.92, "down 8.0 %"), (1.128, "up 12.8 %"), (1.0, "unchanged"), (1.0004, "unchanged"), (0.9996, "unchanged"),
     (1.0006, "up 0.1 %"), (0.999, "down 0.1 %"), (2.5, "up 150.0 %")],
)  # fmt: skip
def test_percent_change(ratio: float, text: str) -> None:
    assert percent_change(ratio) == text


def test_dates_and_scopes() -> None:
    assert plain_date(date(2026, 4, 4)) == "4 April 2026"
    assert plain_date(None) == ""
    assert scope_name("train") == "the train"
    assert scope_name("stage3") == "stage 3"
