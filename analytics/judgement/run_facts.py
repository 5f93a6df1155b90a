"""What each run has done to one indicator: where it began, how it went, what the intervention before it gave back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import stats

from analytics.judgement.runs import Run
from analytics.judgement.trend import FORECAST_DAYS, LEAST_DAYS, LEAST_ERROR, Segment, Trend

Array = npt.NDArray[np.float64]
Growth = Literal["linear", "accelerating", "levelling off", ""]

CONFIDENCE = 0.90
MOST_POINTS = 150
"""Longer runs are thinned to this many medians before the slope is taken."""
BETTER = 6.0
"""Akaike's criterion by which a bent line must be better than a straight one to be believed. [-]"""
WORTH = 0.02
"""Loss from which what was given back is said as a share, and change from which it is said how it grew. [-]"""
NO_TEMPERATURE = "feed temperature is not known, so a season looks like a loss or a recovery"
NO_LEVEL = "its level at the start is not known"
NO_LEVEL_BEFORE = "the level before it is not known"
LITTLE_LOST = "what had been lost before is no more than its error, or than {least:.0f} %"
NOTHING_CAME_BACK = "it stood worse after than before"
MORE_CAME_BACK = "more came back than had been lost since the reference"


@dataclass(frozen=True)
class RunFact:
    """One indicator over one run. Ratios to the reference, per day. [-, 1/d]

    Attributes
    ----------
    start_level, start_low, start_high, end_level : float
        Level on the first and last day, with the interval of the first; NaN where the run has too few days.
    slope, slope_low, slope_high : float
        Theil and Sen's, over the whole run; NaN where the days carry none.
    growth : str
        Whether the change was linear, accelerating or levelling off; empty where it cannot be told, and of less than
        `WORTH`.
    days : int
        Days with readings.
    valid : bool
    why : str
        The criterion that failed; empty for a valid run.
    lasting_loss : float
        How far the run began on the bad side of the first reference: what no cleaning has given back; NaN where that
        cannot be known. [-]
    lasting_loss_why : str
        Why it cannot; empty where it is known.
    given_back : float
        Share of the loss before it that the intervention gave back, 0 to 1; NaN for the first run, and where it cannot
        be known. [-]
    given_back_why : str
        Why it cannot; empty for the first run, and where it is known.
    """

    scope: str
    name: str
    start: date
    end: date
    opened_by: str
    start_level: float
    start_low: float
    start_high: float
    end_level: float
    slope: float
    slope_low: float
    slope_high: float
    growth: Growth
    days: int
    valid: bool
    why: str
    lasting_loss: float
    given_back: float
    lasting_loss_why: str = ""
    given_back_why: str = ""


@dataclass(frozen=True)
class _Level:
    """A level and half the width of its interval; NaN where it is not known. [-]"""

    value: float = float("nan")
    error: float = float("nan")

    @classmethod
    def of(cls, value: float, low: float, high: float) -> "_Level":
        return cls(value, max((high - low) / 2, LEAST_ERROR))


def run_facts(
    series: pd.Series, trend: Trend, runs: Sequence[Run], *, falling_is_bad: bool, comparable: bool = True
) -> tuple[RunFact, ...]:
    """Describe every run of one indicator.

    Parameters
    ----------
    series : Series
        One ratio by local day, days out of line NaN. [-]
    trend : Trend
        Of the same; its segments hold the levels.
    runs : sequence of Run
        Of its scope.
    falling_is_bad : bool
        True for permeate flow.
    comparable : bool
        False where temperature moves it and is not known: levels of other seasons tell of no loss then.
    """
    facts: list[RunFact] = []
    known = series[series.notna()]
    sign = -1.0 if falling_is_bad else 1.0
    before: _Level | None = None
    for run in runs:
        inside = known[(known.index >= run.start) & (known.index <= run.end)]
        pieces = [s for s in trend.segments if run.start.date() <= s.start and s.end <= run.end.date()]
        fact = _fact(inside, trend, run, pieces)
        began = _Level.of(fact.start_level, fact.start_low, fact.start_high)
        facts.append(replace(fact, **_lost(before, began, sign=sign) if comparable else _incomparable(before)))
        last = pieces[-1] if pieces else None
        before = _Level.of(last.value_end, last.low_end, last.high_end) if last else _Level()
    return tuple(facts)


def _lost(before: _Level | None, began: _Level, *, sign: float) -> dict[str, Any]:
    """What stays lost and what came back, each with why it is not known."""
    if not np.isfinite(began.value):
        return {"lasting_loss_why": NO_LEVEL, "given_back_why": NO_LEVEL if before is not None else ""}
    share, why = (float("nan"), "") if before is None else _given_back(before, began, sign)
    return {"lasting_loss": max(sign * (began.value - 1), 0.0), "given_back": share, "given_back_why": why}


def _incomparable(before: _Level | None) -> dict[str, Any]:
    return {"lasting_loss_why": NO_TEMPERATURE, "given_back_why": NO_TEMPERATURE if before is not None else ""}


def _given_back(before: _Level, began: _Level, sign: float) -> tuple[float, str]:
    """The share, drawn into 0 to 1 where it is outside by no more than its error."""
    nan, loss = float("nan"), sign * (before.value - 1)
    if not np.isfinite(loss):
        return nan, NO_LEVEL_BEFORE
    if loss < WORTH or loss <= before.error:
        return nan, LITTLE_LOST.format(least=100 * WORTH)
    back, error = sign * (before.value - began.value), float(np.hypot(before.error, began.error))
    if back < -error:
        return nan, NOTHING_CAME_BACK
    if back > loss + began.error:
        return nan, MORE_CAME_BACK
    return float(np.clip(back / loss, 0.0, 1.0)), ""


def _fact(inside: pd.Series, trend: Trend, run: Run, pieces: Sequence[Segment]) -> RunFact:
    nan = float("nan")
    start, low, high = (pieces[0].value_start, pieces[0].low_start, pieces[0].high_start) if pieces else (nan, nan, nan)
    slope, growth = (nan, nan, nan), ""
    if len(inside) >= FORECAST_DAYS:
        points = _thinned(inside)
        slope = _slope(points)
        growth = _growth(points) if abs(slope[0]) * _days(points)[-1] >= WORTH else ""
    return RunFact(
        scope=trend.scope,
        name=trend.name,
        start=run.start.date(),
        end=run.end.date(),
        opened_by=run.opened_by,
        start_level=start,
        start_low=low,
        start_high=high,
        end_level=pieces[-1].value_end if pieces else nan,
        slope=slope[0],
        slope_low=slope[1],
        slope_high=slope[2],
        growth=growth,  # type: ignore[arg-type]
        days=len(inside),
        valid=not _why(len(inside)),
        why=_why(len(inside)),
        lasting_loss=nan,
        given_back=nan,
    )


def _why(days: int) -> str:
    if days < LEAST_DAYS:
        return f"{days} days with readings; a level needs {LEAST_DAYS}"
    return f"{days} days with readings; a slope needs {FORECAST_DAYS}" if days < FORECAST_DAYS else ""


def _thinned(inside: pd.Series) -> pd.Series:
    """Medians of so many days that no more than `MOST_POINTS` are left; the day is the middle one."""
    size = -(-len(inside) // MOST_POINTS)
    if size == 1:
        return inside
    places = np.arange(len(inside)) // size
    days = pd.Series(inside.index, index=inside.index).groupby(places).median()
    return pd.Series(inside.groupby(places).median().to_numpy(), index=pd.DatetimeIndex(days))


def _days(points: pd.Series) -> Array:
    days = points.index.to_numpy()
    return np.asarray((days - days[0]) / np.timedelta64(1, "D"), dtype=np.float64)


def _slope(points: pd.Series) -> tuple[float, float, float]:
    found = stats.theilslopes(points.to_numpy(dtype=np.float64), _days(points), alpha=CONFIDENCE)
    return float(found.slope), float(found.low_slope), float(found.high_slope)


def _growth(points: pd.Series) -> Growth:
    """A bent line against a straight one by Akaike's criterion, values that depend on each other counted as fewer."""
    x, y = _days(points), points.to_numpy(dtype=np.float64)
    straight, bent = np.polyfit(x, y, 1), np.polyfit(x, y, 2)
    left, less = (float(np.mean((y - np.polyval(line, x)) ** 2)) for line in (straight, bent))
    residual = y - np.polyval(bent, x)
    spread = float(np.sum(residual**2))
    if spread <= 0 or min(left, less) <= 0:
        return "linear"
    r = float(np.clip(np.sum(residual[1:] * residual[:-1]) / spread, 0.0, 0.9))
    count = len(y) * (1 - r) / (1 + r)
    first, last = bent[1], bent[1] + 2 * bent[0] * x[-1]
    if count * np.log(left / less) < BETTER or straight[0] == 0:
        return "linear"
    return "accelerating" if abs(last) > abs(first) and last * straight[0] > 0 else "levelling off"
