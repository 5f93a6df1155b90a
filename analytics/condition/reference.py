"""The reference period: the days whose medians everything is compared with."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.errors import NoReference
from analytics.plant import Reference

Flags = npt.NDArray[np.bool_]

SETTLING_DAYS = 2
"""New elements are wetted and compacted for a day or two before they are compared; common practice, no source."""
DAYS = 14
LEAST_DAYS = 5
"""Usual length of a reference and the fewest days with usable readings; common practice, no source."""
STATED, FOUND = "plant file", "first days of the log"
"""Who chose the reference."""


@dataclass(frozen=True)
class ReferencePeriod:
    """Days (both included), how many of them and of their readings are usable, and who chose them."""

    start: date
    end: date
    days: int
    readings: int
    chosen: str
    within: Flags


def reference_period(days: pd.DatetimeIndex, usable: Flags, stated: Reference | None) -> ReferencePeriod:
    """Find the reference period: as the plant file states it, else the first settled fortnight of the log.

    Parameters
    ----------
    days : DatetimeIndex
        Local day of each reading, ascending.
    usable : bool array
        Readings that may be compared.
    stated : Reference or None

    Raises
    ------
    NoReference
        When the period has no usable reading, or too few days to choose one.
    """
    if stated is not None:
        within = usable & ((days >= pd.Timestamp(stated.start)) & (days <= pd.Timestamp(stated.end)))
        count = int(np.count_nonzero(within))
        if not count:
            raise NoReference(f"the reference period {stated.start} to {stated.end} has no usable reading")
        found = len(_distinct(days[within]))
        return ReferencePeriod(stated.start, stated.end, found, count, STATED, within)
    present = _distinct(days[usable])
    settled = present[present >= present[0] + pd.Timedelta(days=SETTLING_DAYS)] if len(present) else present
    first = settled[:DAYS]
    if len(first) < LEAST_DAYS:
        raise NoReference(f"{LEAST_DAYS} days with usable readings are needed for a reference, {len(first)} were found")
    within = usable & ((days >= first[0]) & (days <= first[-1]))
    count = int(np.count_nonzero(within))
    return ReferencePeriod(first[0].date(), first[-1].date(), len(first), count, FOUND, within)


def _distinct(days: pd.DatetimeIndex) -> pd.DatetimeIndex:
    """Each day once; the days are in order."""
    numbers = days.asi8
    return days[np.r_[True, numbers[1:] != numbers[:-1]]] if len(days) else days
