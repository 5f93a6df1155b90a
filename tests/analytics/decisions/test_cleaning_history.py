"""Cleanings in a row: delay after the limit, time to the next, and each held against the level after the one before."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from analytics.decisions.cleaning_history import CleaningDays, judge_cleanings
from analytics.judgement.trend import Segment
from analytics.plant import Membrane, Plant, Site, Stage, Train

START = date(2025, 1, 1)
KEY = ("stage1", "permeate_flow")
PLANT = Plant(Site("Somewhere"), Train("RO 1", (Stage(4, 6, Membrane(37.0)), Stage(2, 6, Membrane(37.0)))))


def day(n: int) -> date:
    return START + timedelta(days=n)


def saw(*runs: tuple[int, int, float, float]) -> tuple[pd.Series, tuple[Segment, ...]]:
    """Runs of days with the level at both ends, as a series and as trend lines with an interval of 0.01."""
    index = pd.date_range(START, day(runs[-1][1]))
    values = np.full(len(index), np.nan)
    pieces = []
    for first, last, begin, end in runs:
        values[first : last + 1] = np.linspace(begin, end, last - first + 1)
        ends = (begin, end, begin - 0.005, end - 0.005, begin + 0.005, end + 0.005)
        pieces.append(Segment(day(first), day(last), *ends))
    return pd.Series(values, index=index), tuple(pieces)


def test_a_row_of_three_by_hand() -> None:
    # By hand: 0.90 is passed 100 of 120 days after the start (0.12 lost in 120 days): 21 days late at day 121.
    series, pieces = saw((0, 120, 1.0, 0.88), (122, 240, 0.99, 0.91), (242, 300, 0.93, 0.92), (302, 330, 0.925, 0.92))
    given = [CleaningDays(day(n), day(n), 1) for n in (121, 241, 301)]
    found = judge_cleanings(PLANT, given, {KEY: series}, {KEY: pieces})
    first, second, third = found.cleanings
    assert (first.result.quality, second.result.quality, third.result.quality) == ("worked", "failed", "failed")
    assert (first.delay_days, second.delay_days) == (21, None)
    assert [one.next_days for one in found.cleanings] == [120, 60, None]
    # By hand: asked for is 97 % of the level after the one before: 0.97, then 0.97 * 0.99.
    assert [e.asked for one in (first, second) for e in one.result.effects] == pytest.approx([0.97, 0.9603])
    assert found.programme.state == "root cause"


def test_a_cleaning_of_another_stage_is_not_judged_by_this_one() -> None:
    series, pieces = saw((0, 120, 1.0, 0.88), (122, 240, 0.99, 0.91))
    found = judge_cleanings(PLANT, [CleaningDays(day(121), day(121), 2)], {KEY: series}, {KEY: pieces})
    assert found.cleanings[0].result.quality == "cannot be said"


def test_no_cleaning_is_no_programme() -> None:
    assert judge_cleanings(PLANT, [], {}, {}).programme.state == "none yet"
