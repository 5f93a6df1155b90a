"""The level today and its slope inside the present run, each with an interval, and the lines of the runs before."""

from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import stats

from analytics.condition.smoother import smooth
from analytics.judgement.bending_line import COURSE_DAYS, BendingLine, bending_line
from analytics.judgement.runs import Run

Array = npt.NDArray[np.float64]

WIDE = float(stats.norm.ppf(0.95))
"""Standard errors to each side of an interval of 90 %. [-]"""
WINDOW_DAYS = 90
"""Days of the present run that count as those the level of today rests on, or as many as hold `FORECAST_DAYS` days with
readings; common practice, no source."""
LEAST_NOW = 3
"""Days with readings after an intervention from which its level is told: common practice, no source (48 to 72 h after
restart)."""
LEAST_DAYS = 7
FORECAST_DAYS = 21
"""Days with readings before a slope is extended: at 2 % scatter a loss of 0.1 % a day shows after about four weeks
(22 days at 1.5 %), so less would be guessing."""
LEAST_ERROR = 0.01
"""Gauges on a skid do not carry a level closer than this; common practice, no source. [-]"""
FAN_DAYS = 120
"""How far the forecast is drawn."""
RECENT_DAYS = 30
KNOT_DAYS = 30
"""Distance of the points between which the trend line is drawn."""


@dataclass(frozen=True)
class Segment:
    """A straight piece of a trend line with its interval at both ends. Ratios. [-]"""

    start: date
    end: date
    value_start: float
    value_end: float
    low_start: float
    low_end: float
    high_start: float
    high_end: float


@dataclass(frozen=True)
class Trend:
    """One indicator's level and slope today, inside its present run.

    Attributes
    ----------
    value, low, high : float
        Level on the last day, with its interval. [-]
    slope, slope_low, slope_high : float
        Per day; NaN when the days are too few for a slope. [1/d]
    growth : float
        Rate at which the slope itself grows; negative where it levels off. [1/d]
    days : int
        Days with readings that the level rests on.
    first, last : date
        Of those days.
    recent : tuple of float
        Levels of the last `RECENT_DAYS` days with readings of the present run, today's last. [-]
    """

    scope: str
    name: str
    value: float
    low: float
    high: float
    slope: float
    slope_low: float
    slope_high: float
    days: int
    first: date
    last: date
    segments: tuple[Segment, ...]
    forecast: Segment | None
    growth: float = 0.0
    recent: tuple[float, ...] = ()


UNKNOWN = BendingLine(float("nan"), float("nan"), 0.0)


def fit_trend(
    series: pd.Series,
    runs: tuple[Run, ...],
    *,
    scope: str,
    name: str,
    drift_per_day: float = 0.0,
    smoothed: pd.DataFrame | None = None,
) -> Trend | None:
    """Fit the present run of one indicator, and draw the runs before it.

    Parameters
    ----------
    series : Series
        One ratio per local day, days out of line left out (NaN). [-]
    runs : tuple of Run
        Of this scope.
    drift_per_day : float
        What the season may do to the indicator by itself; the slope's interval is widened by it. [1/d]
    smoothed : DataFrame, optional
        Columns `level` and `error` by day, where a method brings its own (the membrane model does).

    Returns
    -------
    Trend or None
        None when the present run has fewer than `LEAST_NOW` days with readings.

    Notes
    -----
    The level is that of the smoothing spline (`smoother`): on simulated plants its interval holds the truth more often
    than that of a straight line does (docs, decision 10). The slope is that of a line that may bend (`bending_line`).
    """
    known = series[series.notna()]
    present = known[known.index >= runs[-1].start]
    recent = _last_days(present, WINDOW_DAYS)
    if len(recent) < LEAST_NOW:
        return None
    levels = _smoothed(known, runs) if smoothed is None else smoothed.reindex(known.index).dropna()
    value, error = float(levels["level"].iloc[-1]), max(WIDE * float(levels["error"].iloc[-1]), LEAST_ERROR)
    line = bending_line(_last_days(present, COURSE_DAYS), level=value) if len(recent) >= FORECAST_DAYS else UNKNOWN
    return Trend(
        scope=scope,
        name=name,
        value=value,
        low=value - error,
        high=value + error,
        slope=line.slope,
        slope_low=line.slope - WIDE * line.error - max(drift_per_day, 0.0),
        slope_high=line.slope + WIDE * line.error - min(drift_per_day, 0.0),
        growth=line.growth,
        days=len(recent),
        first=recent.index[0].date(),
        last=recent.index[-1].date(),
        segments=tuple(_draw(levels, runs)),
        recent=tuple(float(level) for level in levels["level"][levels.index >= runs[-1].start].iloc[-RECENT_DAYS:]),
        forecast=None if line is UNKNOWN else _fan(value, error, line, recent.index[-1]),
    )


def _last_days(present: pd.Series, days: int) -> pd.Series:
    """The last days of a run; more of a log with a reading a week."""
    if not len(present):
        return present
    recent = present[present.index > present.index[-1] - pd.Timedelta(days=days)]
    return max(recent, present.iloc[-FORECAST_DAYS:], key=len)


def _fan(value: float, error: float, line: BendingLine, day: pd.Timestamp) -> Segment:
    """Today's level carried on by the slope for `FAN_DAYS`, its interval widening with the slope's."""
    end = value + line.slope * FAN_DAYS
    half = float(np.hypot(error, WIDE * line.error * FAN_DAYS))
    return Segment(
        day.date(),
        (day + pd.Timedelta(days=FAN_DAYS)).date(),
        value,
        end,
        value - error,
        end - half,
        value + error,
        end + half,
    )


def _days(index: pd.Index, origin: pd.Timestamp) -> Array:
    return np.asarray((index.to_numpy() - origin.to_datetime64()) / np.timedelta64(1, "D"), dtype=np.float64)


def _smoothed(known: pd.Series, runs: tuple[Run, ...]) -> pd.DataFrame:
    """Level and error of a spline that may jump where a run begins."""
    origin = known.index[0]
    numbers = np.rint(_days(known.index, origin)).astype(np.int64)
    breaks = [int((run.start - origin).days) for run in runs[1:]]
    spline = smooth(numbers, known.to_numpy(dtype=np.float64), (), breaks)
    return pd.DataFrame({"level": spline.level, "error": spline.error}, index=known.index)


def _draw(levels: pd.DataFrame, runs: tuple[Run, ...]) -> list[Segment]:
    """Straight pieces, about a month long, along the smoothed level of each run."""
    days = pd.DatetimeIndex(levels.index)
    numbers = np.rint(_days(days, days[0])).astype(np.int64)
    level, error = levels["level"].to_numpy(), WIDE * levels["error"].to_numpy()
    segments = []
    for run in runs:
        inside = np.flatnonzero((days >= run.start) & (days <= run.end))
        if inside.size < LEAST_DAYS:
            continue
        span = numbers[inside[-1]] - numbers[inside[0]]
        wanted = np.linspace(numbers[inside[0]], numbers[inside[-1]], max(2, round(span / KNOT_DAYS) + 1))
        knots = np.unique(inside[np.searchsorted(numbers[inside], wanted).clip(max=inside.size - 1)])
        points = zip(days[knots].date, level[knots].tolist(), error[knots].tolist(), strict=True)
        segments += [
            Segment(a, b, va, vb, va - ea, vb - eb, va + ea, vb + eb) for (a, va, ea), (b, vb, eb) in pairwise(points)
        ]
    return segments
