"""Single readings that stand apart from both neighbours: slips of the pen, and spikes of a meter."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from analytics.condition.levels import LevelBook, ScreenLevels

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

SLIP_CANDIDATES = ("_flow_m3h", "_pressure_bar", "_conductivity_us_cm", "_tds_mg_l")
"""Meters whose values are looked at one by one."""
SLIP_LEAST = 0.3
"""Share of its level by which a single value must stand apart from its neighbours to be a slip of the pen: swapped
digits, a lost point and another unit mostly do. Common practice, no source. [-]"""


def spikes(values: Array, considered: Flags, *, ratio: float, least_change: float, usual: float | None = None) -> Flags:
    """Single readings that stand apart from both neighbours.

    Parameters
    ----------
    values : array
        A figure that changes slowly in truth, such as the permeability. Any unit.
    considered : bool array
        Readings that broke no rule so far.
    ratio : float
        How far beyond the usual scatter between neighbours (its 90th percentile). [-]
    least_change : float
        Share of the level that a spike must exceed in any case. [-]
    usual : float, optional
        From `scatter`, where the readings are a part of a log; of the readings themselves when not given.

    Notes
    -----
    Compares with the median of the reading and its two neighbours, so a lasting step is no spike. The last reading is
    compared with the two before it, the first with the two after it.
    """
    flags = np.zeros(len(values), dtype=bool)
    at = np.flatnonzero(considered & ~np.isnan(values))
    if at.size < 5:
        return flags
    x = values if at.size == len(values) else values[at]
    middle = _middle_of_three(x)
    away = np.abs(x - middle)
    usual = _usual_departure(away) if usual is None else usual
    flags[at[away > np.maximum(ratio * usual, least_change * np.abs(middle))]] = True
    return flags


def scatter(values: Array, considered: Flags) -> float | None:
    """The usual departure of a reading from its neighbours, as `spikes` takes it; None where there are too few."""
    x = values[considered & ~np.isnan(values)]
    return _usual_departure(np.abs(x - _middle_of_three(x))) if x.size >= 5 else None


def with_scatter(levels: ScreenLevels, columns: Mapping[str, Array], used: Flags) -> ScreenLevels:
    """Levels with the usual scatter of each column, which the screen of a whole log need not look at; `used` readings
    count."""
    found = {f"scatter {name}": scatter(values, used) for name, values in columns.items()}
    return replace(levels, numbers={**levels.numbers, **found})


def _middle_of_three(x: Array) -> Array:
    """Median of each value and its two neighbours."""
    middle = np.empty_like(x)
    lower, higher = np.minimum(x[1:-1], x[:-2]), np.maximum(x[1:-1], x[:-2])
    middle[1:-1] = np.maximum(lower, np.minimum(higher, x[2:]))
    middle[0], middle[-1] = np.median(x[:3]), np.median(x[-3:])
    return middle


def _usual_departure(away: Array) -> float:
    return float(np.quantile(away[:: max(1, away.size // 20_000)], 0.9))


def slip_rows(columns: Mapping[str, Array], considered: Flags, *, ratio: float, book: LevelBook) -> dict[str, Flags]:
    """Readings in which the value of one meter stands apart from both neighbours, by column.

    Parameters
    ----------
    columns : dict of arrays
    considered : bool array
        Readings that broke no rule so far.
    ratio : float
        See `spikes`. [-]
    book : LevelBook
        Gives or learns the usual scatter of each column.

    Returns
    -------
    dict of bool arrays
        Only of columns that have any.
    """
    result = {}
    for name, values in columns.items():
        if _may_have_slips(values if considered.all() else values[considered]):
            usual = None if book.given is None else book.number(f"scatter {name}", lambda: None)
            broken = spikes(values, considered, ratio=ratio, least_change=SLIP_LEAST, usual=usual)
            if broken.any():
                result[name] = broken
    return result


def _may_have_slips(x: Array) -> bool:
    """A quick look, since most logs have none; among blanks it cannot tell."""
    if x.size < 2 or x.max() <= (1 + SLIP_LEAST) * x.min():
        return False
    size = np.abs(x)
    with np.errstate(invalid="ignore"):
        far = np.abs(np.diff(x)) > SLIP_LEAST * np.minimum(size[1:], size[:-1])
    return bool(far.any() or np.isnan(x).any())
