"""The slope today: a line that may bend slowly, seen through gauges that wander.

The medians of the weeks of a run are taken for the sum of a level whose slope walks at random (the model behind a
smoothing spline), of a wandering of the gauges that has no end, and of scatter. How fast the slope may walk is not
known: some rates are tried, and averaged over by how well each foresees the weeks. Every day moves the answer a little;
no window ends, and no fit is swapped for another one.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.daily import medians_of_runs

Array = npt.NDArray[np.float64]

COURSE_DAYS = 270
"""Days of a run that its slope today rests on; common practice, no source: a season and its way back. [d]"""
WEEK_DAYS = 7
RATES = (0.5e-5, 1.5e-5, 5e-5, 15e-5, 50e-5)
BELIEF = (1.0, 1.0, 0.5, 0.25, 0.125)
"""Rates at which a slope may walk, and how likely each is before the days are looked at. With the first, a slope stays
within 0.2 points in 30 days over three months; with the last it becomes another one within days. Judgement, no source.
[1/d per square root of a day; -]"""
CALM_DAYS = (56.0, 112.0)
OVER = 0.5
"""A slope may have walked faster until so many days ago than it does since, as in a spell that is over: how likely that
is, shared evenly among the pairs of rates, before the days are looked at. Judgement, no source. [d, -]"""
USUAL_SLOPE = 1e-3
FAST_DAYS = 20.0
"""A slope today is about so large at most, 3 points in 30 days, or what its rate makes of so many days times the square
root of a day; judgement, no source. [1/d, d]"""
WANDER = 0.007
WANDER_DAYS = 45.0
"""Gauges, and what a method leaves of season and set-points, wander by so much about the truth, and forget it in so
many days; chosen so that the interval of the slope holds on drawn plants (docs/method.md). [-, d]"""
LEAST_SCATTER = 1e-3
MEDIAN_LOSS = 1.57
"""Variance of a median over that of a mean, of normal values (pi / 2)."""
FAR_OUT = 3.0
"""A week so many standard errors from what the others foresee counts as far less."""
NEAR_DAYS = 7.0
RECENT_DAYS = 35.0
LEAST_OLDER_DAYS = 14
"""The slope of the last five weeks is held against that of the days before, where those are two weeks or more. [d]"""
BENT_FROM, BENT_AT = 0.75, 2.5
"""The two differ by so many standard errors before any of the difference is taken for a change that gets faster, and by
so many before all of it is; chosen so that the range of dates holds on drawn plants (docs/method.md). [-]"""
MOST_GROWTH = float(np.log(2) / 20.0)
"""No growth is taken to double, or halve, faster than in 20 days; common practice, no source. [1/d]"""


@dataclass(frozen=True)
class BendingLine:
    """Slope today with its standard error, and the rate at which it grows: negative where it levels off. [1/d]"""

    slope: float
    error: float
    growth: float


def bending_line(course: pd.Series, *, level: float) -> BendingLine:
    """Slope at the last day of a course.

    Parameters
    ----------
    course : Series
        Ratios by local day, without gaps filled. [-]
    level : float
        Level on the last day. [-]

    Notes
    -----
    A line that bends at random follows what doubles again and again too late. Where the slope of the last weeks clearly
    exceeds that before, it is drawn towards an exponential through the ends of both; where it falls behind the mean
    since the course began, the slope stays and the growth is negative.
    """
    weeks = _without_wild(_weeks(course))
    plain = BendingLine(*_slope_today(weeks), growth=0.0)
    now = level - weeks.last
    faster = _faster(weeks, now)
    if faster is None:
        return replace(plain, growth=min(_growth(weeks, now, plain), 0.0))
    share, apart = faster.share, plain.slope - faster.slope
    variance = (1 - share) * plain.error**2 + share * faster.error**2 + share * (1 - share) * apart**2
    slope = (1 - share) * plain.slope + share * faster.slope
    return BendingLine(slope, float(np.sqrt(variance)), share * faster.growth)


@dataclass(frozen=True)
class _Weeks:
    """Days before the last one (0 or less), medians less the last one, and their variances."""

    day: Array
    value: Array
    variance: Array
    last: float


def _weeks(course: pd.Series) -> _Weeks:
    dates, values = course.index.to_numpy(), course.to_numpy(dtype=np.float64)
    days = np.asarray((dates - dates[-1]) / np.timedelta64(1, "D"), dtype=np.float64)
    starts = np.flatnonzero(np.diff(np.floor(-days / WEEK_DAYS), prepend=np.inf))
    count = np.diff(starts, append=len(days)).astype(np.float64)
    middle, median = np.add.reduceat(days, starts) / count, medians_of_runs({"": values}, starts, len(values))[""]
    steps = np.diff(values)
    scatter = 1.4826 * float(np.median(np.abs(steps - np.median(steps)))) / np.sqrt(2)
    variance = np.where(count > 2, MEDIAN_LOSS, 1.0) * max(scatter, LEAST_SCATTER) ** 2 / count
    return _Weeks(middle, median - median[-1], variance, float(median[-1]))


@dataclass(frozen=True)
class _Pace:
    """A rate at which the slope walks, another one more than `calm` days ago, and how likely that is beforehand."""

    rate: float
    belief: float
    older: float = 0.0
    calm: float = np.inf


def _paces() -> tuple[_Pace, ...]:
    """One rate throughout, or a faster one before."""
    steady = [_Pace(rate, (1 - OVER) * belief / sum(BELIEF)) for rate, belief in zip(RATES, BELIEF, strict=True)]
    pairs = [(now, older, calm) for now in RATES for older in RATES for calm in CALM_DAYS if older > now]
    return (*steady, *(_Pace(now, OVER / len(pairs), older, calm) for now, older, calm in pairs))


def _walk(day: Array, pace: _Pace) -> Array:
    """Covariance of a line that bends, going back from today."""
    back = -day
    walked = pace.rate**2 * _walked(back)
    if np.isfinite(pace.calm):  # what the faster rate adds begins that far back
        walked = walked + (pace.older**2 - pace.rate**2) * _walked(np.maximum(back - pace.calm, 0.0))
    return walked


def _walked(back: Array) -> Array:
    """The same for a rate of one: the integral of (u - s) (v - s) over s, from none to the nearer of the two."""
    near, far = np.minimum.outer(back, back), np.maximum.outer(back, back)
    return np.asarray(near**3 / 3 + near**2 * (far - near) / 2)


def _spread(weeks: _Weeks, pace: _Pace) -> tuple[Array, Array, Array]:
    """Covariance of the weeks, their covariance with level and slope today, and that of the two before any day."""
    before = np.diag([1.0, max(USUAL_SLOPE, FAST_DAYS * pace.rate) ** 2])
    straight = np.column_stack([np.ones_like(weeks.day), weeks.day])
    wander = WANDER**2 * np.exp(-np.abs(np.subtract.outer(weeks.day, weeks.day)) / WANDER_DAYS)
    own = _walk(weeks.day, pace) + wander + np.diag(weeks.variance)
    return own + straight @ before @ straight.T, straight @ before, before


def _without_wild(weeks: _Weeks) -> _Weeks:
    """The weeks, those that the others do not foresee with a variance as large as their miss."""
    inverse = np.linalg.inv(_spread(weeks, _Pace(RATES[len(RATES) // 2], 1.0))[0])
    miss = inverse @ weeks.value / np.diag(inverse)
    wild = np.abs(miss) * np.sqrt(np.diag(inverse)) > FAR_OUT
    return _Weeks(weeks.day, weeks.value, weeks.variance + np.where(wild, miss**2, 0.0), weeks.last)


def _slope_today(weeks: _Weeks) -> tuple[float, float]:
    """Mean and standard error over all paces."""
    chances, slopes, variances = [], [], []
    for pace in _paces():
        spread, with_today, before = _spread(weeks, pace)
        root = np.linalg.cholesky(spread)
        missed, known = np.linalg.solve(root, weeks.value), np.linalg.solve(root, with_today)
        chances.append(np.log(pace.belief) - missed @ missed / 2 - np.log(np.diag(root)).sum())
        slopes.append(known[:, 1] @ missed)
        variances.append(before[1, 1] - known[:, 1] @ known[:, 1])
    weight = np.exp(np.array(chances) - max(chances))
    weight /= weight.sum()
    slope = float(weight @ np.array(slopes))
    return slope, float(np.sqrt(weight @ (np.array(variances) + (np.array(slopes) - slope) ** 2)))


@dataclass(frozen=True)
class _Faster(BendingLine):
    """An exponential, and how much it is believed."""

    share: float


def _faster(weeks: _Weeks, now: float) -> _Faster | None:
    """The exponential through the beginning, five weeks ago, and today; None where nothing gets faster, or where there
    were no readings about five weeks ago."""
    began, before = _around(weeks, float(weeks.day[0])), _around(weeks, -RECENT_DAYS)
    older_days, recent_days = before.day - began.day, -before.day
    if older_days < LEAST_OLDER_DAYS or recent_days < WEEK_DAYS:
        return None
    older, recent = (before.value - began.value) / older_days, (now - before.value) / recent_days
    older_error, error = (float(np.sqrt(2)) * WANDER / days for days in (older_days, recent_days))
    older *= np.sign(recent)
    base = max(older, older_error)  # what hardly moved before is taken to have moved by its error
    if abs(recent) <= base:
        return None
    apart = (abs(recent) - older) / float(np.hypot(older_error, error))
    doubts = (apart - BENT_FROM) / (BENT_AT - BENT_FROM), older_days / LEAST_OLDER_DAYS - 1, older / older_error + 2
    growth = min(float(np.log(abs(recent) / base)) / (-began.day / 2), MOST_GROWTH)
    today = float(np.exp(growth * recent_days / 2))  # a slope over some days is that of their middle
    share = float(np.prod(np.clip(doubts, 0.0, 1.0)))
    return _Faster(recent * today, error * today, growth, share)


@dataclass(frozen=True)
class _Point:
    day: float
    value: float


def _around(weeks: _Weeks, day: float) -> _Point:
    """Mean of the weeks about a day, those near it most."""
    near = np.exp(-(((weeks.day - day) / NEAR_DAYS) ** 2) / 2)
    near /= near.sum()
    return _Point(float(near @ weeks.day), float(near @ weeks.value))


def _growth(weeks: _Weeks, now: float, line: BendingLine) -> float:
    """Slope today against the mean since the course began, whose centre lies half the course back. [1/d]"""
    began = _around(weeks, float(weeks.day[0]))
    if began.day >= 0:
        return 0.0
    mean, error = (now - began.value) / -began.day, np.sqrt(2) * WANDER / -began.day
    if mean * line.slope <= 0:
        return 0.0
    share = min(abs(mean - line.slope) / float(np.hypot(line.error, error)), 1.0)
    return max(float(share * np.log(line.slope / mean) / (-began.day / 2)), -MOST_GROWTH)
