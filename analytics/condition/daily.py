"""From readings to days: medians, spreads and counts per local day, and the days that stand out of line."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

MOST_ROOM = 4
"""Times the values that laying them out by day may take."""
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
    picked = {name: column[used] for name, column in values.items()}
    keys = days[used]
    medians = medians_by_day(picked, keys)
    place = (
        np.searchsorted(pd.DatetimeIndex(medians.index).asi8, keys.asi8) if len(keys) else np.zeros(0, dtype=np.int64)
    )
    away = {name: np.abs(column - medians[name].to_numpy()[place]) for name, column in picked.items()}
    spreads = medians_by_day(away, keys).add_suffix("_spread")
    days_count = len(medians)
    counts = {f"{n}_count": np.bincount(place[~np.isnan(c)], minlength=days_count) for n, c in picked.items()}
    result = pd.concat([medians, spreads, pd.DataFrame(counts, index=medians.index)], axis=1)
    result.index.name = "day"
    return result


def medians_by_day(values: Mapping[str, Array], days: pd.DatetimeIndex, rows: Flags | None = None) -> pd.DataFrame:
    """Median of each day, over what is not NaN.

    Parameters
    ----------
    values : mapping of arrays
    days : DatetimeIndex
        Of each value that counts, ascending.
    rows : bool array, optional
        Values that count, picked one column at a time; all of them when not given.

    Notes
    -----
    Days are laid out in rows as long as the longest, and each row is sorted. Where days differ so much in length that
    most of that would be empty, pandas groups them instead, which takes two to three times as long.
    """
    starts = np.flatnonzero(np.diff(days.asi8, prepend=days.asi8[:1] - 1))
    return pd.DataFrame(medians_of_runs(values, starts, len(days), rows), index=days[starts])


def medians_of_runs(
    values: Mapping[str, Array], starts: npt.NDArray[np.int64], length: int, rows: Flags | None = None
) -> dict[str, Array]:
    """Median of each run of values that follow each other, over what is not NaN.

    Parameters
    ----------
    values : mapping of arrays
    starts : int array
        Where each run begins.
    length : int
        Of each array, or how many of `rows` are True.
    rows : bool array, optional
        Values that count, picked one column at a time; all of them when not given.
    """
    lengths = np.diff(starts, append=length)
    width = int(lengths.max()) if len(lengths) else 0
    if width * len(starts) > MOST_ROOM * length or not length:
        picked = values if rows is None else {name: column[rows] for name, column in values.items()}
        keys = np.repeat(np.arange(len(starts)), lengths)
        grouped = pd.DataFrame(dict(picked), index=keys).groupby(level=0).median()
        return {str(name): grouped[name].to_numpy() for name in grouped.columns}
    row = np.arange(len(starts))
    at = np.arange(length) + np.repeat(row * width - starts, lengths)
    laid = np.empty((len(starts), width))
    result = {}
    for name, column in values.items():
        laid.fill(np.nan)
        laid.ravel()[at] = column if rows is None else column[rows]
        laid.sort(axis=1)
        known = width - np.count_nonzero(np.isnan(laid), axis=1)
        low, high = laid[row, np.maximum(known - 1, 0) // 2], laid[row, np.minimum(known // 2, width - 1)]
        result[name] = np.where(known > 0, (low + high) / 2, np.nan)
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
