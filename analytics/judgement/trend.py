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
"""The level and slope of today rest on this many days of the run at the most, or on as many as hold `FORECAST_DAYS`
days with readings; common practice, no source."""
SHORT_DAYS = 42
FASTEST_DOUBLING_DAYS = 20.0
"""No growth is taken to double faster; common practice, no source."""
LEAST_NOW = 3
"""Days with readings after an intervention from which its level is told: common practice, no source (48 to 72 h after
restart)."""
LEAST_DAYS = 7
FORECAST_DAYS = 21
"""Days with readings before a slope is extended: at 2 % scatter a loss of 0.1 % a day shows after about four weeks
(22 days at 1.5 %), so less would be guessing."""
HORIZON_DAYS = 540
LATER = 1.15
"""What levels off reaches a limit later than its slope says; chosen so that the range holds. [-]"""
WIDEST = 4.0
"""A range whose latest date is further away than this many times the likely one says nothing, and is not given."""
LEAST_ERROR = 0.01
"""Gauges on a skid do not carry a level closer than this; common practice, no source. [-]"""
SOONER_DOUBLING_DAYS = {"pressure_drop": 30.0, "permeate_flow": 60.0}
"""The earliest date supposes that a change may begin to double in so many days, as growth on membranes does before the
slope shows it; chosen so that the range holds (docs/method.md). [d]"""
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
    growth : float
        Rate at which the slope itself grows, zero where it does not. [1/d]
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


@dataclass(frozen=True)
class _Line:
    """A robust slope per day, with its interval."""

    slope: float
    slope_low: float
    slope_high: float
    growth: float = 0.0


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
    The level is that of the smoothing spline (`smoother`), the slope is Theil and Sen's over the last weeks of the run:
    on simulated plants this level's interval holds the truth more often than that of a straight line does (docs,
    decision 10).
    """
    known = series[series.notna()]
    present = known[known.index >= runs[-1].start]
    recent = present[present.index > present.index[-1] - pd.Timedelta(days=WINDOW_DAYS)] if len(present) else present
    recent = max(recent, present.iloc[-FORECAST_DAYS:], key=len)  # a log with a reading a week reaches further back
    if len(recent) < LEAST_NOW:
        return None
    line = _present_line(recent)
    steepest, flattest = max(drift_per_day, 0.0), min(drift_per_day, 0.0)
    levels = _smoothed(known, runs) if smoothed is None else smoothed.reindex(known.index).dropna()
    z = float(stats.norm.ppf((1 + CONFIDENCE) / 2))
    value, error = float(levels["level"].iloc[-1]), max(z * float(levels["error"].iloc[-1]), LEAST_ERROR)
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
        growth=line.growth if enough else 0.0,
        days=len(recent),
        first=recent.index[0].date(),
        last=recent.index[-1].date(),
        segments=tuple(_draw(levels, runs, z)),
        recent=tuple(float(level) for level in levels["level"][levels.index >= runs[-1].start].iloc[-RECENT_DAYS:]),
        forecast=_fan(value, error, line, recent.index[-1]) if enough else None,
    )


def _fan(value: float, error: float, line: _Line, day: pd.Timestamp) -> Segment:
    """Today's level carried on by the slope for `FAN_DAYS`, its interval widening with the slope's."""
    end = value + line.slope * FAN_DAYS
    half = float(np.hypot(error, (line.slope_high - line.slope_low) / 2 * FAN_DAYS))
    return Segment(
        day.date(), _after(day.date(), FAN_DAYS), value, end, value - error, end - half, value + error, end + half
    )


def _days(index: pd.Index, origin: pd.Timestamp) -> Array:
    return ((pd.DatetimeIndex(index) - origin) / pd.Timedelta(days=1)).to_numpy(dtype=np.float64)


def _present_line(recent: pd.Series) -> _Line:
    """Slope of the last weeks, drawn towards that of the very last ones as far as the two clearly differ.

    A change that gets faster, or levels off, is otherwise followed too late.
    """
    long = _robust_line(recent, recent.index[0])
    last = recent[recent.index > recent.index[-1] - pd.Timedelta(days=SHORT_DAYS)]
    if len(last) < FORECAST_DAYS or len(last) == len(recent):
        return long
    short = _robust_line(last, last.index[0])
    error = np.hypot(short.slope_high - short.slope_low, long.slope_high - long.slope_low) / 2 / 1.645
    share = float(np.clip((abs(short.slope - long.slope) / max(error, 1e-12) - 0.5) / 1.5, 0.0, 1.0))
    days, last_days = ((part.index[-1] - part.index[0]).days for part in (recent, last))
    growth = share * _growth(long.slope, short.slope, (days - last_days) / 2)
    today = float(np.exp(growth * last_days / 2))  # a slope over a window is that of its middle
    slope, low, high = (
        (1 - share) * getattr(long, which) + share * getattr(short, which)
        for which in ("slope", "slope_low", "slope_high")
    )
    return _Line(
        slope=float(np.sqrt(today)) * slope,
        slope_low=low * today if low < 0 else low,
        slope_high=high * today if high > 0 else high,
        growth=growth,
    )


def _growth(long: float, short: float, days_apart: float) -> float:
    """Rate at which a slope grows, from its means over a long and a short window with centres so far apart. [1/d]"""
    if long * short <= 0 or abs(short) <= abs(long):
        return 0.0
    return float(min(np.log(short / long) / days_apart, np.log(2) / FASTEST_DOUBLING_DAYS))


def _robust_line(series: pd.Series, origin: pd.Timestamp) -> _Line:
    """Theil and Sen's slope; its interval is widened for days that depend on each other.

    Notes
    -----
    With lag-one correlation r of the residuals, n days carry as much as n (1 - r) / (1 + r) independent ones.
    """
    x, y = _days(series.index, origin), series.to_numpy(dtype=np.float64)
    fit = stats.theilslopes(y, x, alpha=CONFIDENCE)
    residuals = y - fit.slope * (x - float(np.median(x)))
    widen = _correlation_widening(residuals - float(np.median(residuals)))
    return _Line(
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


def _smoothed(known: pd.Series, runs: tuple[Run, ...]) -> pd.DataFrame:
    """Level and error of a spline that may jump where a run begins."""
    origin = known.index[0]
    numbers = np.rint(_days(known.index, origin)).astype(np.int64)
    breaks = [int((run.start - origin).days) for run in runs[1:]]
    spline = smooth(numbers, known.to_numpy(dtype=np.float64), (), breaks)
    return pd.DataFrame({"level": spline.level, "error": spline.error}, index=known.index)


def _draw(levels: pd.DataFrame, runs: tuple[Run, ...], z: float) -> list[Segment]:
    """Straight pieces, about a month long, along the smoothed level of each run."""
    numbers = np.rint(_days(levels.index, levels.index[0])).astype(np.int64)
    level, error = levels["level"].to_numpy(), levels["error"].to_numpy()
    segments = []
    for run in runs:
        inside = np.flatnonzero((levels.index >= run.start) & (levels.index <= run.end))
        if inside.size < LEAST_DAYS:
            continue
        span = numbers[inside[-1]] - numbers[inside[0]]
        wanted = np.linspace(numbers[inside[0]], numbers[inside[-1]], max(2, round(span / KNOT_DAYS) + 1))
        knots = inside[np.searchsorted(numbers[inside], wanted).clip(max=inside.size - 1)]
        points = [(levels.index[k].date(), float(level[k]), z * float(error[k])) for k in dict.fromkeys(knots)]
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
    Answered only when the level, with its whole interval, has left one towards the limit, the slope, with its whole
    interval, points to it, the limit is still ahead, the likely date lies within `HORIZON_DAYS`, and the range is not
    so wide that it says nothing (`WIDEST`). Earliest and latest combine the ends of both intervals.
    """
    sign = -1.0 if limit < 1 else 1.0
    ahead = sign * (limit - trend.value)
    sooner = np.log(2) / SOONER_DOUBLING_DAYS.get(trend.name, np.inf)
    slopes = sorted((sign * trend.slope_low, sign * trend.slope_high))
    error = (trend.high - trend.low) / 2
    if np.isnan(trend.slope) or ahead <= 0 or slopes[0] <= 0 or sign * (trend.value - 1) <= error:
        return None
    likely = _days_ahead(ahead, sign * trend.slope, trend.growth / 2)
    if likely > HORIZON_DAYS:
        return None
    earliest = _days_ahead(max(ahead - error, 0.0), slopes[1], max(trend.growth, sooner))
    latest = LATER * (ahead + error) / slopes[0]
    if latest > WIDEST * likely + HORIZON_DAYS / 4:
        return None
    return DateRange(_after(trend.last, earliest), _after(trend.last, likely), _after(trend.last, latest))


def days_to_a_date(trend: Trend, limit: float) -> int | None:
    """Days with readings still needed until a date can be given, should the trend go on as it does.

    Parameters
    ----------
    trend : Trend
    limit : float
        As for `reaches`. [-]

    Returns
    -------
    int or None
        None where there is a date, where the limit is passed, and where the window of the slope will not do: the change
        is too small, or leads away from the limit.

    Notes
    -----
    Of n evenly spread days the error of a slope goes with n^(-3/2): it must shrink until the latest date is not too far
    away (`WIDEST`); and the level must leave one by its own error.
    """
    sign = -1.0 if limit < 1 else 1.0
    if sign * (limit - trend.value) <= 0 or reaches(trend, limit) is not None:
        return None
    if np.isnan(trend.slope):
        return FORECAST_DAYS - trend.days
    slope, lower = sign * trend.slope, min(sign * trend.slope_low, sign * trend.slope_high)
    ahead, error = sign * (limit - trend.value), (trend.high - trend.low) / 2
    if slope <= 0 or ahead / slope > HORIZON_DAYS:
        return None
    slow_enough = LATER * (ahead + error) / (WIDEST * ahead / slope + HORIZON_DAYS / 4)
    if slow_enough >= slope:
        return None
    more = trend.days * (max((slope - lower) / (slope - slow_enough), 1.0) ** (2 / 3) - 1)
    needed = int(np.ceil(max(more, (error - sign * (trend.value - 1)) / slope, 1.0)))
    return needed if trend.days + more <= WINDOW_DAYS else None


def _days_ahead(ahead: float, slope: float, growth: float) -> float:
    """Days until a change that goes with `slope` today, and ever faster, has gone the way that is left."""
    return float(np.log1p(growth * ahead / slope) / growth) if growth > 0 else ahead / slope


def _after(day: date, days: float) -> date:
    return (pd.Timestamp(day) + pd.Timedelta(days=round(days))).date()
