"""Readings that stand together: stretches of a day in which a plant runs alike, whose means are fitted as one."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.metered_train import MeteredReadings, each_array, metered_readings
from analytics.condition.streams import Array, Balance
from analytics.plant import Plant

Flags = npt.NDArray[np.bool_]
Places = npt.NDArray[np.int64]

MOST_A_DAY = 12
"""Readings of a day that are each fitted by themselves; of a day with more, means of stretches are. [-]"""
HOURS = 3
"""Length of a stretch, at the most: a median of eight means scatters less than one of 24 readings. [h]"""
JUMP = 0.1
"""Change from one reading to the next of a flow, the pressure or the salinity at which a stretch ends. Within it, the
mean of a curve and the curve at the mean differ by less than a thousandth. [-]"""
ROWS_AT_ONCE = 65_536
"""Readings whose means are taken at a time. [-]"""


@dataclass(frozen=True)
class Stretches:
    """Where stretches lie in a log.

    Attributes
    ----------
    rows : int array
        Readings in use, ascending.
    starts : int array
        Position in `rows` of the first reading of each stretch.
    days : DatetimeIndex
        Local day of each stretch.
    """

    rows: Places
    starts: Places
    days: pd.DatetimeIndex

    @property
    def of_row(self) -> Places:
        """Which stretch each of `rows` belongs to."""
        return np.repeat(np.arange(len(self.starts)), np.diff(self.starts, append=len(self.rows)))

    def means(self, balance: Balance, plant: Plant) -> MeteredReadings:
        """What is metered, each stretch as one reading: means over what is known."""
        if len(self.starts) == len(self.rows):
            return metered_readings(balance, plant, self.rows)
        cuts = np.searchsorted(self.starts, np.arange(0, len(self.rows), ROWS_AT_ONCE))
        cuts = np.unique([*cuts, len(self.starts)])
        ends = np.append(self.starts, len(self.rows))
        parts = []
        for first, last in pairwise(cuts.tolist()):
            rows, starts = self.rows[ends[first] : ends[last]], self.starts[first:last] - ends[first]
            part = metered_readings(balance, plant, rows)
            parts.append(each_array(lambda values, starts=starts: _means(values, starts), part))
        whole: MeteredReadings = each_array(lambda *arrays: np.concatenate(arrays), *parts)
        return whole


def each_by_itself(rows: Places, days: pd.DatetimeIndex) -> Stretches:
    """Every reading in use a stretch of its own."""
    return Stretches(rows, np.arange(len(rows)), days[rows])


def find_stretches(balance: Balance, days: pd.DatetimeIndex, times: pd.DatetimeIndex, used: Flags) -> Stretches:
    """Split the days of a log.

    Parameters
    ----------
    balance : Balance
        From `complete_streams`.
    days, times : DatetimeIndex
        Local day and instant of each reading, ascending.
    used : bool array
        Readings in use.

    Notes
    -----
    A day with no more than `MOST_A_DAY` readings in use keeps each of them. On others a stretch ends with every
    `HOURS` hours of the clock, at each jump of what the plant does, and with the day: what a day is made from never
    hangs on other days.
    """
    rows = np.flatnonzero(used)
    numbers = days.asi8[rows]
    new_day = np.diff(numbers, prepend=numbers[:1] - 1) != 0
    lengths = np.diff(np.flatnonzero(new_day), append=len(rows))
    sparse = np.repeat(lengths <= MOST_A_DAY, lengths)
    if sparse.all():
        return each_by_itself(rows, days)
    hours = times.as_unit("s").asi8[rows] // (3600 * HOURS)
    begins = new_day | sparse | (np.diff(hours, prepend=hours[:1]) != 0) | _jumps(balance, rows)
    starts = np.flatnonzero(begins)
    return Stretches(rows, starts, days[rows[starts]])


def _jumps(balance: Balance, rows: Places) -> Flags:
    """Readings before which the plant did something else."""
    train = balance.train
    result = np.zeros(len(rows), dtype=bool)
    for values in (train.feed_flow_m3h, train.permeate_flow_m3h, train.mean_pressure_bar, train.feed_tds_mg_l):
        if values is not None:
            picked = values[rows]
            result[1:] |= np.abs(np.diff(picked)) > JUMP * np.abs(picked[:-1])
    return result


def _means(values: Array, starts: Places) -> Array:
    """Mean of each stretch over what is not NaN."""
    gone = np.isnan(values)
    lengths = np.diff(starts, append=len(values)).astype(np.float64)
    if not gone.any():
        return np.asarray(np.add.reduceat(values, starts) / lengths)
    known = lengths - np.add.reduceat(gone.astype(np.float64), starts)
    sums = np.add.reduceat(np.where(gone, 0.0, values), starts)
    return np.where(known > 0, sums / np.where(known > 0, known, 1.0), np.nan)
