"""A first robust trend: the level today and its slope inside the present run, each with an interval.

Later methods replace this module behind the same result (`Trend`).
"""

from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import stats

from analytics.condition.smoother import smooth
from analytics.judgement.runs import Run

Array = npt.NDArray[np.float64]

CONFIDENCE = 0.90
WINDOW_DAYS = 90
"""The level and slope of today rest on this many days of the run at the most; common practice, no source."""
LEAST_DAYS = 7
FORECAST_DAYS = 21
"""Days with readings before a slope is extended: at 2 % scatter a loss of 0.1 % a day shows after about four weeks
(24 days at 1.5 %), so less would be guessing."""
HORIZON_DAYS = 540
TRIMMED = 0.2
TRIMMED_ERROR = 1.07
"""Share of the days left out at either end for the level, and its error over that of a plain mean (for a normal
scatter: 1 / sqrt(0.87), from memory). [-]"""
WIDEST = 4.0
"""A range whose latest date is further away than this many times the likely one says nothing, and is not given."""
LEAST_ERROR = 0.01
"""Gauges on a skid do not carry a level closer than this; common practice, no source. [-]"""
FAN_DAYS = 120
"""How far the forecast is drawn."""
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
class DateRange:
    """When a limit is reached."""

    earliest: date
    likely: date
    latest: date


@dataclass(frozen=True)
class Trend:
    """One indicator's level and slope today, inside its present run.

    Attributes
    ----------
    value, low, high : float
        Level on the last day, with its interval. [-]
    slope, slope_low, slope_high : float
        Per day; NaN when the days are too few for a slope. [1/d]
    days : int
        Days with readings that the level rests on.
    first, last : date
        Of those days.
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


@dataclass(frozen=True)
class _Line:
    """A robust line over days counted from `origin`: value(x) = level + slope (x - center)."""

    center: float
    level: float
    level_error: float
    slope: float
    slope_low: float
    slope_high: float

    def at(self, x: float) -> float:
        return self.level + self.slope * (x - self.center)

    def error_at(self, x: float) -> float:
        half = (self.slope_high - self.slope_low) / 2
        return float(np.hypot(self.level_error, half * (x - self.center)))


def fit_trend(
    series: pd.Series, runs: tuple[Run, ...], *, scope: str, name: str, drift_per_day: float = 0.0
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

    Returns
    -------
    Trend or None
        None when the present run has fewer than `LEAST_DAYS` days with readings.
    """
    known = series[series.notna()]
    present = known[known.index >= runs[-1].start]
    recent = present[present.index > present.index[-1] - pd.Timedelta(days=WINDOW_DAYS)] if len(present) else present
    if len(recent) < LEAST_DAYS:
        return None
    line = _robust_line(recent, recent.index[0])
    steepest, flattest = max(drift_per_day, 0.0), min(drift_per_day, 0.0)
    last = _days(recent.index[-1:], recent.index[0])[0]
    value, error = line.at(last), line.error_at(last)
    enough = len(recent) >= FORECAST_DAYS
    return Trend(
        scope=scope,
        name=name,
        value=value,
        low=value - error,
        high=value + error,
        slope=line.slope if enough else float("nan"),
        slope_low=line.slope_low - steepest if enough else float("nan"),
        slope_high=line.slope_high - flattest if enough else float("nan"),
        days=len(recent),
        first=recent.index[0].date(),
        last=recent.index[-1].date(),
        segments=tuple(_draw(known, runs)),
        forecast=_fan(line, last, recent.index[-1]) if enough else None,
    )


def _fan(line: _Line, last: float, day: pd.Timestamp) -> Segment:
    """The line extended by `FAN_DAYS`, its interval widening with the slope's."""
    ends = [(line.at(x), line.error_at(x)) for x in (last, last + FAN_DAYS)]
    (a, ea), (b, eb) = ends
    return Segment(day.date(), _after(day.date(), FAN_DAYS), a, b, a - ea, b - eb, a + ea, b + eb)


def _days(index: pd.Index, origin: pd.Timestamp) -> Array:
    return ((pd.DatetimeIndex(index) - origin) / pd.Timedelta(days=1)).to_numpy(dtype=np.float64)


def _robust_line(series: pd.Series, origin: pd.Timestamp) -> _Line:
    """Theil-Sen slope through a trimmed mean level; the interval is widened for days that depend on each other.

    Notes
    -----
    The level is a trimmed mean because a median of figures read from a coarse gauge sticks to the gauge's steps. With
    lag-one correlation r of the residuals, n days carry as much as n (1 - r) / (1 + r) independent ones.
    """
    x, y = _days(series.index, origin), series.to_numpy(dtype=np.float64)
    fit = stats.theilslopes(y, x, alpha=CONFIDENCE)
    center = float(np.median(x))
    residuals = y - fit.slope * (x - center)
    level = float(stats.trim_mean(residuals, TRIMMED))
    residuals = residuals - level
    widen = _correlation_widening(residuals)
    sigma = 1.4826 * float(np.median(np.abs(residuals)))
    z = float(stats.norm.ppf((1 + CONFIDENCE) / 2))
    error = z * TRIMMED_ERROR * max(sigma, 1e-6) * widen / np.sqrt(len(y))
    return _Line(
        center,
        level,
        max(error, LEAST_ERROR),
        float(fit.slope),
        float(fit.slope + (fit.low_slope - fit.slope) * widen),
        float(fit.slope + (fit.high_slope - fit.slope) * widen),
    )


def _correlation_widening(residuals: Array) -> float:
    if residuals.size < 8:
        return 1.5
    clipped = np.clip(residuals, *np.quantile(residuals, [0.05, 0.95]))
    spread = float(np.sum(clipped * clipped))
    if spread == 0:
        return 1.0
    r = float(np.clip(np.sum(clipped[1:] * clipped[:-1]) / spread, 0.0, 0.9))
    return float(np.sqrt((1 + r) / (1 - r)))


def _draw(known: pd.Series, runs: tuple[Run, ...]) -> list[Segment]:
    """Straight pieces, about a month long, along the smoothed level of each run."""
    origin = known.index[0]
    numbers = np.rint(_days(known.index, origin)).astype(np.int64)
    smoothed = smooth(
        numbers, known.to_numpy(dtype=np.float64), (), [int((run.start - origin).days) for run in runs[1:]]
    )
    z = float(stats.norm.ppf((1 + CONFIDENCE) / 2))
    segments = []
    for run in runs:
        inside = np.flatnonzero((known.index >= run.start) & (known.index <= run.end))
        if inside.size < LEAST_DAYS:
            continue
        span = numbers[inside[-1]] - numbers[inside[0]]
        wanted = np.linspace(numbers[inside[0]], numbers[inside[-1]], max(2, round(span / KNOT_DAYS) + 1))
        knots = inside[np.searchsorted(numbers[inside], wanted).clip(max=inside.size - 1)]
        points = [
            (known.index[k].date(), float(smoothed.level[k]), z * float(smoothed.error[k]))
            for k in dict.fromkeys(knots)
        ]
        segments += [
            Segment(a, b, va, vb, va - ea, vb - eb, va + ea, vb + eb) for (a, va, ea), (b, vb, eb) in pairwise(points)
        ]
    return segments


def reaches(trend: Trend, limit: float) -> DateRange | None:
    """When the trend reaches a limit: earliest, likely, latest; None where the data do not carry an answer.

    Parameters
    ----------
    trend : Trend
    limit : float
        Ratio; below one for a falling indicator, above one for a rising one. [-]

    Notes
    -----
    Answered only when the slope, with its whole interval, points to the limit, the limit is still ahead, the likely
    date lies within `HORIZON_DAYS`, and the range is not so wide that it says nothing (`WIDEST`). Earliest and latest
    combine the ends of both intervals.
    """
    sign = -1.0 if limit < 1 else 1.0
    ahead = sign * (limit - trend.value)
    slopes = sorted((sign * trend.slope_low, sign * trend.slope_high))
    if np.isnan(trend.slope) or ahead <= 0 or slopes[0] <= 0:
        return None
    error = (trend.high - trend.low) / 2
    likely = ahead / (sign * trend.slope)
    if likely > HORIZON_DAYS:
        return None
    earliest = max(ahead - error, 0.0) / slopes[1]
    latest = (ahead + error) / slopes[0]
    if latest > WIDEST * likely + HORIZON_DAYS / 4:
        return None
    return DateRange(_after(trend.last, earliest), _after(trend.last, likely), _after(trend.last, latest))


def _after(day: date, days: float) -> date:
    return (pd.Timestamp(day) + pd.Timedelta(days=round(days))).date()
