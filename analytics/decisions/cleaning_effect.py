"""Did a cleaning work: what came back, how surely, what stays, and what that says about the next one.

Levels are those of the trend at the end of the run before and at the start of the run after, or, while a run is too
short for a trend, medians of daily ratios to the reference; never single readings. Days count from 24 h after the
restart, because salt passage in particular needs a day or two to settle.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.judgement.trend import Segment

Array = npt.NDArray[np.float64]
Quality = Literal["worked", "doubtful", "failed", "too early", "nothing to win", "cannot be said"]

GOOD, POOR = 0.80, 0.50
"""Efficiency from which a cleaning is good, and below which it failed; common practice, from memory. [-]"""
ACCEPTED = {"permeate_flow": 0.97, "salt_passage": 1.05, "pressure_drop": 1.05}
"""What is asked for after a cleaning, against the level after the one before; common practice, from memory. [-]"""
MOST_DAYS, LOOK_BACK_DAYS = 10, 21
"""A level rests on this many days at the most, and before a cleaning on none that lie further back. [d]"""
FIRST_DAY, LAST_DAY, LEAST_DAYS = 1, 10, 2
"""Local days after the last day of the cleaning that count, and how many of them are needed. [d]"""
LEAST_LOSS = 0.03
"""With less lost than this, efficiency says nothing; common practice, no source. [-]"""
LEAST_ERROR = 0.003
"""Standard error below which a level of some days is not believed; common practice, no source. [-]"""
Z90 = 1.645
MEDIAN_ERROR = 1.2533
"""Standard error of a median over that of a mean, for normal scatter."""


@dataclass(frozen=True)
class Level:
    """A level with its interval that holds 90 times in 100, from so many days. Ratio to the reference. [-]"""

    value: float
    error: float
    days: int

    @property
    def low(self) -> float:
        return self.value - Z90 * self.error

    @property
    def high(self) -> float:
        return self.value + Z90 * self.error


@dataclass(frozen=True)
class Efficiency:
    """Share of the loss that came back, with its interval that holds 90 times in 100. [-]"""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class IndicatorEffect:
    """What a cleaning did to one indicator of one scope.

    Attributes
    ----------
    before, after : Level or None
    efficiency : Efficiency or None
        None where too little had been lost, or a level is not known.
    irreversible : float
        What stays of the loss against the reference, positive for worse; NaN while not known. [-]
    asked : float
        What the level afterwards was to be. [-]
    accepted : bool or None
        Whether it is; None while not known.
    """

    scope: str
    name: str
    before: Level | None
    after: Level | None
    efficiency: Efficiency | None
    irreversible: float
    asked: float
    accepted: bool | None


@dataclass(frozen=True)
class CleaningResult:
    """The judgement of one cleaning: by the indicator that had the best reason for it."""

    quality: Quality
    governing: IndicatorEffect | None
    effects: tuple[IndicatorEffect, ...]


def efficiency(
    before: float, after: float, *, reference: float = 1.0, before_error: float = 0.0, after_error: float = 0.0
) -> Efficiency:
    r"""Share of what was lost that a cleaning brought back.

    Parameters
    ----------
    before, after, reference : float
        Levels of an indicator. [-]
    before_error, after_error : float
        Their standard errors. [-]

    Returns
    -------
    Efficiency
        NaN where nothing had been lost. [-]

    Notes
    -----
    .. math:: \eta = \frac{x_{after} - x_{before}}{x_{ref} - x_{before}}

    with the error of a ratio to first order. The reference is the initial one: what stays is the irreversible part.

    Examples
    --------
    >>> round(efficiency(0.86, 0.97).value, 3)
    0.786
    """
    lost = reference - before
    if lost == 0:
        return Efficiency(math.nan, math.nan, math.nan)
    value = (after - before) / lost
    error = math.hypot(after_error / lost, (after - reference) / lost**2 * before_error)
    return Efficiency(value, value - Z90 * error, value + Z90 * error)


def indicator_effect(
    series: pd.Series,
    segments: Sequence[Segment] = (),
    *,
    scope: str,
    name: str,
    first: pd.Timestamp,
    last: pd.Timestamp,
    level_after_previous: float = 1.0,
) -> IndicatorEffect:
    """What a cleaning did to one indicator.

    Parameters
    ----------
    series : Series
        One ratio per local day, NaN where there is none; index of days without time zone. [-]
    segments : sequence of Segment
        The trend of the same, run by run.
    scope, name : str
    first, last : Timestamp
        First and last local day of the cleaning.
    level_after_previous : float
        Level after the cleaning before this one; one where there was none. [-]

    Returns
    -------
    IndicatorEffect
    """
    known = series[series.notna()]
    earlier = (known.index < first) & (known.index >= first - pd.Timedelta(days=LOOK_BACK_DAYS))
    before = _trend_end(segments, first) or _level(known[earlier], MOST_DAYS)
    after = _trend_start(segments, last) or _after(known, last)
    accept = ACCEPTED[name]
    asked = accept * level_after_previous
    if after is None:
        return IndicatorEffect(scope, name, before, None, None, math.nan, asked, None)
    falling_is_bad = accept < 1
    irreversible = (1 - after.value) if falling_is_bad else (after.value - 1)
    accepted = after.value >= asked if falling_is_bad else after.value <= asked
    share = None
    if before is not None and _lost(before, falling_is_bad) >= max(LEAST_LOSS, Z90 * before.error):
        share = efficiency(before.value, after.value, before_error=before.error, after_error=after.error)
    return IndicatorEffect(scope, name, before, after, share, irreversible, asked, accepted)


def _lost(before: Level, falling_is_bad: bool) -> float:
    return (1 - before.value) if falling_is_bad else (before.value - 1)


def _trend_end(segments: Sequence[Segment], first: pd.Timestamp) -> Level | None:
    """Level of the trend where the run before the cleaning ends."""
    earliest = (first - pd.Timedelta(days=LOOK_BACK_DAYS)).date()
    ended = [s for s in segments if earliest <= s.end < first.date()]
    if not ended:
        return None
    last = max(ended, key=lambda s: s.end)
    return Level(
        last.value_end, max((last.high_end - last.low_end) / (2 * Z90), LEAST_ERROR), (last.end - last.start).days
    )


def _trend_start(segments: Sequence[Segment], last: pd.Timestamp) -> Level | None:
    """Level of the trend where the run after the cleaning begins."""
    latest = (last + pd.Timedelta(days=LAST_DAY)).date()
    begun = [s for s in segments if last.date() <= s.start <= latest]
    if not begun:
        return None
    first = min(begun, key=lambda s: s.start)
    error = max((first.high_start - first.low_start) / (2 * Z90), LEAST_ERROR)
    return Level(first.value_start, error, (first.end - first.start).days)


def _after(known: pd.Series, last: pd.Timestamp) -> Level | None:
    days = (pd.DatetimeIndex(known.index) - last).days
    return _level(known[(days >= FIRST_DAY) & (days <= LAST_DAY)], MOST_DAYS)


def _level(values: pd.Series, most: int) -> Level | None:
    """Median of the last days at the most; its error from the differences between neighbours, which no trend moves."""
    if len(values) < LEAST_DAYS:
        return None
    steps = np.diff(values.to_numpy(dtype=np.float64))
    scatter = 1.4826 * float(np.median(np.abs(steps))) / math.sqrt(2)
    kept = values.iloc[-most:]
    error = max(MEDIAN_ERROR * scatter / math.sqrt(len(kept)), LEAST_ERROR)
    return Level(float(kept.median()), error, len(kept))


def judge_cleaning(effects: Sequence[IndicatorEffect], limits: dict[str, float]) -> CleaningResult:
    """Judge a cleaning by the indicator that had lost the largest part of the way to its limit.

    Parameters
    ----------
    effects : sequence of IndicatorEffect
        Of the stages that were cleaned, and of the train.
    limits : dict
        The limit that calls for a cleaning, by name of the indicator. [-]

    Returns
    -------
    CleaningResult
        Salt passage is shown but never governs.
    """
    cleanable = [e for e in effects if e.name != "salt_passage"]
    if not any(e.after for e in cleanable):
        return CleaningResult(
            "too early" if any(e.before for e in cleanable) else "cannot be said", None, tuple(effects)
        )
    shares = [e for e in cleanable if e.efficiency is not None and e.before is not None]
    if not shares:
        quality: Quality = "nothing to win" if any(e.before for e in cleanable) else "cannot be said"
        return CleaningResult(quality, None, tuple(effects))
    governing = max(shares, key=lambda e: (e.before.value - 1) / (limits[e.name] - 1) if e.before else 0.0)
    return CleaningResult(_quality(governing), governing, tuple(effects))


def _quality(effect: IndicatorEffect) -> Quality:
    """By the share that came back; one whose interval reaches over the good mark also needs what was asked for."""
    share = effect.efficiency
    if share is None or math.isnan(share.value):
        return "cannot be said"
    if share.value >= GOOD or (effect.accepted and share.low >= POOR and share.high >= GOOD):
        return "worked"
    return "doubtful" if share.value >= POOR else "failed"
