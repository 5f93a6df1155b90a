"""Efficiency by hand, and the judgement of simulated cleanings with a known share given back."""

import math
from datetime import date

import numpy as np
import pandas as pd
import pytest

from analytics.decisions.cleaning_effect import (
    CleaningResult,
    IndicatorEffect,
    efficiency,
    indicator_effect,
    judge_cleaning,
)
from analytics.judgement.trend import Segment

LIMITS = {"permeate_flow": 0.90, "salt_passage": 1.15, "pressure_drop": 1.15}
DAY = pd.Timestamp("2026-03-25")


def test_efficiency_and_what_stays_by_hand() -> None:
    # By hand: (0.97 - 0.86) / (1.00 - 0.86) = 0.786; 1.00 - 0.97 = 3 % stays.
    assert efficiency(0.86, 0.97).value == pytest.approx(0.786, abs=0.001)
    found = effect(log(0.86, 0.97, scatter=0.0), "permeate_flow")
    assert found.efficiency is not None and found.efficiency.value == pytest.approx(0.786, abs=0.001)
    assert found.irreversible == pytest.approx(0.03, abs=0.001)


def test_the_interval_of_an_efficiency_by_hand() -> None:
    # By hand, d/d(after) = 1 / 0.14 = 7.14, d/d(before) = -0.03 / 0.14^2 = -1.53; errors 0.01: 0.073; by 1.645: 0.12.
    found = efficiency(0.86, 0.97, before_error=0.01, after_error=0.01)
    assert found.high - found.value == pytest.approx(0.120, abs=0.001)


def test_nothing_lost_has_no_efficiency() -> None:
    assert math.isnan(efficiency(1.0, 1.0).value)


def log(before: float, after: float, *, scatter: float = 0.005, days_after: int = 30) -> pd.Series:
    """Thirty days before a cleaning and some after it, with scatter from a seed."""
    rng = np.random.default_rng(7)
    index = pd.date_range(DAY - pd.Timedelta(days=30), periods=31 + days_after, freq="D")
    values = np.where(index < DAY, before, after) + scatter * rng.standard_normal(len(index))
    return pd.Series(np.where(index == DAY, np.nan, values), index=index)


def effect(series: pd.Series, name: str, previous: float = 1.0, segments: tuple[Segment, ...] = ()) -> IndicatorEffect:
    return indicator_effect(
        series, segments, scope="stage1", name=name, first=DAY, last=DAY, level_after_previous=previous
    )


def judged(*effects: IndicatorEffect) -> CleaningResult:
    return judge_cleaning(effects, LIMITS)


@pytest.mark.parametrize(("share", "quality"), [(0.95, "worked"), (0.65, "doubtful"), (0.30, "failed")])
def test_the_share_given_back_decides(share: float, quality: str) -> None:
    series = log(1.20, 1.20 - 0.20 * share)
    found = judged(effect(series, "pressure_drop"))
    assert found.quality == quality and found.governing is not None and found.governing.efficiency is not None
    given = found.governing.efficiency
    assert given.value == pytest.approx(share, abs=0.05) and given.low < share < given.high


def test_the_indicator_nearest_to_its_limit_governs() -> None:
    # Pressure drop was past its limit and came back, flow had lost little and did not.
    found = judged(effect(log(0.95, 0.955), "permeate_flow"), effect(log(1.20, 1.01), "pressure_drop"))
    assert found.governing is not None and found.governing.name == "pressure_drop" and found.quality == "worked"


def test_salt_passage_never_governs() -> None:
    assert judged(effect(log(1.30, 1.30), "salt_passage"), effect(log(0.88, 0.99), "permeate_flow")).quality == "worked"


@pytest.mark.parametrize(
    ("name", "after", "previous", "accepted"),
    [
        ("permeate_flow", 0.975, 1.0, True),  # at least 97 % of the level after the cleaning before: from memory
        ("permeate_flow", 0.965, 1.0, False),
        ("permeate_flow", 0.955, 0.98, True),
        ("pressure_drop", 1.06, 1.0, False),  # at most 105 %
        ("pressure_drop", 1.06, 1.02, True),
    ],
)
def test_what_is_asked_for_goes_with_the_cleaning_before(
    name: str, after: float, previous: float, accepted: bool
) -> None:
    before = 0.88 if name == "permeate_flow" else 1.25
    assert effect(log(before, after, scatter=0.0), name, previous).accepted is accepted


def test_without_two_days_after_it_is_too_early() -> None:
    assert judged(effect(log(0.88, 0.99, days_after=1), "permeate_flow")).quality == "too early"
    assert judged(effect(log(0.88, 0.99, days_after=2), "permeate_flow")).quality == "worked"


def test_little_lost_says_nothing_and_an_empty_log_less() -> None:
    assert judged(effect(log(0.99, 1.0), "permeate_flow")).quality == "nothing to win"
    assert judged(effect(log(0.9, 1.0).iloc[:0], "permeate_flow")).quality == "cannot be said"


def test_a_trend_on_both_sides_is_taken_before_medians() -> None:
    def piece(start: date, end: date, at_start: float, at_end: float) -> Segment:
        errors = (at_start - 0.005, at_end - 0.005, at_start + 0.005, at_end + 0.005)
        return Segment(start, end, at_start, at_end, *errors)

    trend = (
        piece(date(2026, 2, 24), date(2026, 3, 24), 0.93, 0.88),
        piece(date(2026, 3, 26), date(2026, 4, 24), 0.98, 0.97),
    )
    found = effect(log(0.90, 0.975), "permeate_flow", segments=trend)
    assert found.before is not None and found.after is not None
    assert (found.before.value, found.after.value) == (0.88, 0.98)
