"""From readings to days: medians, spreads and counts per local day, and the days that stand out of line."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

WINDOW_DAYS = 15
LEAST_IN_WINDOW = 5
OUT_OF_LINE_SIGMAS = 5.0
OUT_OF_LINE_LEAST = 0.06
"""A day is out of line beyond both: common practice, no source."""

MAD_TO_SIGMA = 1.4826
"""Standard deviation over median absolute deviation of a normal distribution. [-]"""


def local_days(index: pd.DatetimeIndex, timezone: str) -> pd.DatetimeIndex:
    """Local calendar day of each instant, without time zone.

    Examples
    --------
    >>> local_days(pd.DatetimeIndex(["2026-03-01T23:30Z"]), "Europe/Athens")[0].date().isoformat()
    '2026-03-02'
    """
    return index.tz_convert(timezone).tz_localize(None).floor("D")


def daily_medians(values: Mapping[str, Array], days: pd.DatetimeIndex, used: Flags) -> pd.DataFrame:
    """Median, spread and count of each indicator per day, over the used readings.

    Parameters
    ----------
    values : mapping
        `<scope>_<indicator>` -> ratio per reading; NaN where it could not be worked out. [-]
    days : DatetimeIndex
        Local day of each reading.
    used : bool array

    Returns
    -------
    DataFrame
        Index `day`, every day with a used reading; columns `<name>`, `<name>_spread` (median absolute deviation) and
        `<name>_count`.
    """
    frame = pd.DataFrame(dict(values), index=days)[used]
    grouped = frame.groupby(level=0, sort=True)
    medians = grouped.median()
    away = (frame - medians.reindex(frame.index)).abs()
    spreads = away.groupby(level=0, sort=True).median().add_suffix("_spread")
    counts = grouped.count().add_suffix("_count")
    result = pd.concat([medians, spreads, counts], axis=1)
    result.index.name = "day"
    return result


def days_out_of_line(series: pd.Series) -> Flags:
    """Days whose median stands apart from the fortnight around them.

    Parameters
    ----------
    series : Series
        One indicator by day. [-]

    Returns
    -------
    bool array
        True for a day beyond both thresholds of this module; a lasting step is not out of line.
    """
    known = series[series.notna()]
    window = known.rolling(WINDOW_DAYS, center=True, min_periods=LEAST_IN_WINDOW)
    away = (known - window.median()).abs()
    usual = away.rolling(4 * WINDOW_DAYS + 1, center=True, min_periods=LEAST_IN_WINDOW).median() * MAD_TO_SIGMA
    beyond = (away > OUT_OF_LINE_SIGMAS * usual) & (away > OUT_OF_LINE_LEAST * known.abs())
    return beyond.reindex(series.index, fill_value=False).to_numpy(dtype=bool)
