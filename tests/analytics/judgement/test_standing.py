"""A standing does not flicker, and no scatter passes a limit."""

from dataclasses import replace
from datetime import date

from analytics.judgement.limits import judge_indicator
from analytics.judgement.trend import Trend
from analytics.plant import Limits

DAY = date(2026, 3, 1)
NAN = float("nan")
TREND = Trend("train", "permeate_flow", 0.9, 0.89, 0.91, NAN, NAN, NAN, 60, DAY, DAY, (), None)


def stands(*levels: float, half: float = 0.01, closure: float = 0.0) -> str:
    trend = replace(TREND, value=levels[-1], low=levels[-1] - half, high=levels[-1] + half, recent=levels)
    return judge_indicator(trend, Limits(), temperature_corrected=True, closure=closure).standing


def test_row_52_at_the_limits() -> None:
    """-9.9 / -10.0 / -21 %: warn, clean, too late; the defaults."""
    assert [stands(level, level) for level in (0.901, 0.900, 0.79)] == ["warn", "clean", "too late"]


def test_one_day_over_the_limit_is_not_enough_and_one_day_back_neither() -> None:
    assert stands(0.905, 0.902, 0.899) == "warn"
    assert stands(0.905, 0.899, 0.898) == "clean"
    assert stands(0.899, 0.898, 0.902, 0.904) == "clean"
    assert stands(0.899, 0.898, 0.902, 0.915) == "warn"


def test_an_interval_that_reaches_far_back_passes_no_limit() -> None:
    assert stands(0.88, 0.88, half=0.10) == "warn"
    assert stands(0.92, 0.92, half=0.09) == "fine"
    assert stands(0.88, 0.88, half=0.05) == "clean"


def test_what_the_method_leaves_counts_as_the_interval_does() -> None:
    """1.645 times 6 % of 0.88 is 0.087; with a half interval of 0.01 the near end lies at 0.967."""
    assert stands(0.88, 0.88, closure=0.03) == "clean"
    assert stands(0.88, 0.88, closure=0.06) == "clean"
    assert stands(0.88, 0.88, closure=0.07) == "warn"
