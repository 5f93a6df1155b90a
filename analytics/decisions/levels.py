"""Where the irreversible trend can be seen: just after cleanings, and today as far as one can tell what the next gives
back.

Losses are logarithms, as in `analytics.decisions.wear`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np
import pandas as pd

from analytics.decisions.wear import DAYS_PER_YEAR, GivenBack, Level

Direction = Literal["falls", "rises"]

SETTLE_DAYS, WINDOW_DAYS = 2, 14
"""Days after a cleaning that are left out (judge 24 to 72 h after it, common practice), and days whose median
counts."""
LEAST_DAYS = 3
OPEN_RUN_DAYS = 28
"""A run is as long as this before its end says something beside its beginning. [d]"""
LEAST_ERROR = 0.015
"""No level is known better: what season and gauges leave after normalization; common practice, no source. [-]"""


@dataclass(frozen=True)
class Run:
    """Where a run begins and where it ends, None where too few days are known; and its length. [d]"""

    begin: Level | None
    end: Level | None
    days: int

    @property
    def lost(self) -> float:
        """What it lost; 0 while that is not known. [-]"""
        return max(self.end.loss - self.begin.loss, 0.0) if self.begin and self.end else 0.0


def levels_after_cleaning(
    ratio: pd.Series,
    cleaned: Sequence[pd.Timestamp],
    *,
    direction: Direction,
    given_back: GivenBack,
    uneven: float = 0.0,
) -> tuple[Level, ...]:
    """Levels that the irreversible trend rests on, from the days of one set of elements.

    Parameters
    ----------
    ratio : Series
        Indicator over the reference by local day, since the elements were put in; NaN where a day is not used. [-]
    cleaned : sequence of Timestamp
        Days of the cleanings; what lies before the first of them is a run as well.
    direction : {"falls", "rises"}
        Which way is worse.
    given_back : GivenBack
        Of the next cleaning.
    uneven : float
        How much the share that one cleaning gives back differs from that of another: a level after one cleaning stands
        for what no cleaning gives back only as well as that. [-]

    Returns
    -------
    tuple of Level
        Years since the first day of `ratio`. The last one is today's level less what a cleaning would give back.
    """
    known = np.log(ratio[ratio > 0]) * (-1.0 if direction == "falls" else 1.0)
    runs = runs_between(known[known.notna()], cleaned)
    found = [run.begin for run in runs[:1] if run.begin]
    found += [
        replace(run.begin, error=math.hypot(run.begin.error, uneven * before.lost))
        for before, run in pairwise(runs)
        if run.begin
    ]
    if runs and runs[-1].begin and runs[-1].end and runs[-1].days >= OPEN_RUN_DAYS:
        found.append(_if_cleaned_today(runs[-1], given_back))
    return tuple(found)


def runs_between(known: pd.Series, cleaned: Sequence[pd.Timestamp]) -> tuple[Run, ...]:
    """Runs from one cleaning to the next, from losses by day without gaps in them."""
    if known.empty:
        return ()
    first, last = known.index[0], known.index[-1]
    starts = [first, *sorted(day for day in set(cleaned) if first < day <= last), last + pd.Timedelta(days=1)]
    return tuple(_run(known, start, end, first) for start, end in pairwise(starts))


def _run(known: pd.Series, start: pd.Timestamp, end: pd.Timestamp, first: pd.Timestamp) -> Run:
    begins = start + pd.Timedelta(days=SETTLE_DAYS if start > first else 0)
    window = pd.Timedelta(days=WINDOW_DAYS)
    inside = known[(known.index >= begins) & (known.index < end)]
    early, late = inside[inside.index < begins + window], inside[inside.index >= end - window]
    return Run(
        _level(early, first, after_cleaning=start > first) if len(early) >= LEAST_DAYS else None,
        _level(late, first, after_cleaning=False) if len(late) >= LEAST_DAYS else None,
        (end - start).days,
    )


def _level(window: pd.Series, first: pd.Timestamp, *, after_cleaning: bool) -> Level:
    values = window.to_numpy(dtype=np.float64)
    middle = float(np.median(values))
    spread = 1.4826 * float(np.median(np.abs(values - middle)))  # of a normal distribution, from its median deviation
    days = (pd.DatetimeIndex(window.index) - first) / pd.Timedelta(days=1)
    error = max(1.25 * spread / math.sqrt(len(values)), LEAST_ERROR)  # a median is 1.25 times as uncertain as a mean
    return Level(float(np.median(days)) / DAYS_PER_YEAR, middle, error, after_cleaning)


def _if_cleaned_today(run: Run, given_back: GivenBack) -> Level:
    assert run.end is not None
    return replace(
        run.end,
        loss=run.end.loss - given_back.share * run.lost,
        error=math.hypot(run.end.error, given_back.error * run.lost),
    )
