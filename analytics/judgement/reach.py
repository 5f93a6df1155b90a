"""When a trend reaches a limit: earliest, likely, latest, or how many more days it takes to tell."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.judgement.trend import FORECAST_DAYS, WIDE, WINDOW_DAYS, Trend

Array = npt.NDArray[np.float64]

HORIZON_DAYS = 540
"""No likely date further ahead is given. [d]"""
WIDEST = 4.0
"""A range whose latest date is further away than this many times the likely one, and a quarter of the horizon, says
nothing, and is not given. [-]"""
SURELY = 1.2816
"""A slope points to the limit where it lies so many standard errors from none: 90 times in 100. [-]"""
SLOPE_ERRORS = 1.0
"""Standard errors of the slope that earliest and latest date add to the end of the level's interval; chosen so that the
range holds (docs/method.md). [-]"""
LATER = 1.3
"""What levels off reaches a limit later than its slope says; chosen so that the range holds. [-]"""
SOONER_DOUBLING_DAYS = {"pressure_drop": 30.0, "permeate_flow": 60.0}
"""The earliest date supposes that a change may begin to double in so many days, as growth on membranes does before the
slope shows it; chosen so that the range holds (docs/method.md). [d]"""
_AHEAD: Array = np.arange(WIDEST * HORIZON_DAYS + HORIZON_DAYS / 4 + 1)


@dataclass(frozen=True)
class DateRange:
    """When a limit is reached."""

    earliest: date
    likely: date
    latest: date


def reaches(trend: Trend, limit: float) -> DateRange | None:
    """When the trend reaches a limit: earliest, likely, latest; None where the data do not carry an answer.

    Parameters
    ----------
    trend : Trend
    limit : float
        Ratio; below one for a falling indicator, above one for a rising one. [-]

    Notes
    -----
    Answered only when the level, with its whole interval, has left one towards the limit, the slope surely points to it
    (`SURELY`), the limit is still ahead, the likely date lies within `HORIZON_DAYS`, and the range is not so wide that
    it says nothing (`WIDEST`). The change goes on with today's slope, which grows, or levels off, by half of what it
    did so far. Earliest is when the change, growing as it did or may, from the near end of the level's interval and
    with `SLOPE_ERRORS` more slope, is there; latest when it is from the far end, with so much less slope and levelling
    off as it did, and `LATER`.
    """
    sign = -1.0 if limit < 1 else 1.0
    ahead, slope = sign * (limit - trend.value), sign * trend.slope
    level_error, slope_error = (trend.high - trend.low) / 2, (trend.slope_high - trend.slope_low) / 2 / WIDE
    if np.isnan(slope) or ahead <= 0 or slope <= SURELY * slope_error or sign * (trend.value - 1) <= level_error:
        return None
    sooner = np.log(2) / SOONER_DOUBLING_DAYS.get(trend.name, np.inf)
    error = level_error + SLOPE_ERRORS * slope_error * _AHEAD
    likely = _days_until(_way(slope, trend.growth / 2), ahead)
    earliest = _days_until(_way(slope, max(trend.growth, sooner)) + error, ahead)
    latest = _days_until(_way(slope, min(trend.growth, 0.0)) - error, ahead)
    if likely is None or earliest is None or latest is None:
        return None
    if likely > HORIZON_DAYS or latest > WIDEST * likely + HORIZON_DAYS / 4:
        return None
    return DateRange(*(_after(trend.last, round(days)) for days in (earliest, likely, LATER * latest)))


def _way(slope: float, growth: float) -> Array:
    """What a change goes in each number of days, with `slope` today that grows, or levels off."""
    with np.errstate(over="ignore"):
        return slope * (np.expm1(growth * _AHEAD) / growth if growth else _AHEAD)


def _days_until(way: Array, ahead: float) -> float | None:
    """When a way is first so far ahead, straight from day to day; None where it never is."""
    there = way >= ahead
    if not there.any():
        return None
    first = int(np.argmax(there))
    return first - (way[first] - ahead) / (way[first] - way[first - 1]) if first else 0.0


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
        None where there is a date, where the limit is passed, and where `WINDOW_DAYS` more would not do: the change is
        too small, or leads away from the limit.

    Notes
    -----
    The level goes on with the slope; of n days that wander, the error of a slope goes with 1 / n.
    """
    sign = -1.0 if limit < 1 else 1.0
    if sign * (limit - trend.value) <= 0 or reaches(trend, limit) is not None:
        return None
    if np.isnan(trend.slope):
        return FORECAST_DAYS - trend.days
    if sign * trend.slope <= 0:
        return None
    later = (more for more in range(1, WINDOW_DAYS + 1) if reaches(_after_days(trend, more), limit) is not None)
    return next(later, None)


def _after_days(trend: Trend, more: int) -> Trend:
    """The trend as it would be known after some more days."""
    less, moved = trend.days / (trend.days + more), trend.slope * more
    return replace(
        trend,
        value=trend.value + moved,
        low=trend.low + moved,
        high=trend.high + moved,
        slope_low=trend.slope + less * (trend.slope_low - trend.slope),
        slope_high=trend.slope + less * (trend.slope_high - trend.slope),
    )


def _after(day: date, days: int) -> date:
    return (pd.Timestamp(day) + pd.Timedelta(days=days)).date()
