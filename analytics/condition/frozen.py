"""Meters that stand still: stuck, clipped at the end of their range, or copied from the last shift."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from analytics.condition.levels import LevelBook

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

COARSE = 0.6
"""Share of equal neighbours from which a gauge is too coarse, or too well controlled, to be judged. [-]"""

CHANCE = 0.01
"""Runs that are expected this often or less in the whole log, were the meter alive, count as frozen. [-]"""

BLOCKS = 20


def frozen_rows(
    columns: Mapping[str, Array], considered: Flags, *, at_least: int, book: LevelBook | None = None
) -> dict[str, Flags]:
    """Rows in which a meter has shown the very same value for too long.

    Parameters
    ----------
    columns : mapping of arrays
        Values by column name, in any unit.
    considered : bool array
        Readings that broke no rule so far; the others are passed over, so a stop does not look like a stuck meter.
    at_least : int
        Fewest equal readings in a row. [-]
    book : LevelBook, optional
        Knows, or learns, how many equal readings in a row of each column count.

    Returns
    -------
    dict
        Only the columns with a frozen stretch; True in its rows.

    Notes
    -----
    Rounding makes neighbours equal by chance with a probability p, taken as the median over stretches of the log. A run
    of n equal values among N readings is expected N p^(n-1) times; the least n for which that is below `CHANCE` is
    asked for. A gauge with p above `COARSE` is not judged.
    """
    at = np.flatnonzero(considered)
    result: dict[str, Flags] = {}
    book = book or LevelBook()
    if at.size < 2 * at_least and book.given is None:
        return result
    everything = at.size == considered.size
    for name, values in columns.items():
        x = values if everything else values[at]
        needed = book.number(f"frozen {name}", lambda x=x: _needed_run(x, at_least))  # type: ignore[misc]
        frozen = None if needed is None else _long_runs(x, int(needed))
        if frozen is not None and frozen.any():
            result[name] = np.zeros(considered.size, dtype=bool)
            result[name][at] = frozen
    return result


def clipped_rows(
    columns: Mapping[str, Array], considered: Flags, *, at_least: int = 4, book: LevelBook | None = None
) -> dict[str, Flags]:
    """Rows in which a meter stands at the end of its range.

    Parameters
    ----------
    columns : mapping of arrays
    considered : bool array
    at_least : int
        Fewest readings at the highest value. [-]
    book : LevelBook, optional
        Knows, or learns, where the range of each column ends.

    Notes
    -----
    The highest readings of a living meter thin out. A value that none exceeds, met at least `at_least` times and twice
    as often as the next two below it together, is the end of the range; the true value may be anything above.
    """
    book = book or LevelBook()
    result: dict[str, Flags] = {}
    for name, values in columns.items():
        top = book.number(f"clipped {name}", lambda values=values: _end_of_range(values, at_least))  # type: ignore[misc]
        if top is not None:
            result[name] = considered & (values == top)
    return result


def _end_of_range(values: Array, at_least: int) -> float | None:
    top = np.fmax.reduce(values, initial=-np.inf)
    count = np.count_nonzero(values == top)
    if count < at_least or values.size - np.count_nonzero(np.isnan(values)) < 5 * at_least:
        return None
    below = values[values < top]
    if not below.size:
        return None
    second = below.max()
    third = np.max(below, where=below < second, initial=-np.inf)
    return float(top) if count >= 2 * np.count_nonzero(below >= third) else None


def _needed_run(x: Array, at_least: int) -> int | None:
    size = max(1, (x.size - 1) // BLOCKS)
    shares = []
    for start in range(1, x.size - size + 1, size):
        block = x[start : start + size]
        if seen := np.count_nonzero(block == block):
            shares.append(np.count_nonzero(block == x[start - 1 : start - 1 + size]) / seen)
    if not shares:
        return None
    share = float(np.median(shares))
    if share > COARSE:
        return None
    chance = max(share, 1e-3)
    return max(at_least, 1 + int(np.ceil(np.log(CHANCE / x.size) / np.log(chance))))


def _long_runs(x: Array, needed: int) -> Flags:
    """True in runs of at least `needed` equal values.

    A window is such a run when all its values equal its first. Windows are sieved by one place after the other, so that
    only a few are left after the first looks.
    """
    flags = np.zeros(x.size, dtype=bool)
    span = needed - 1
    if x.size < needed:
        return flags
    starts = np.flatnonzero(x[span:] == x[:-span])
    for place in (span // 2, *(place for place in range(1, span) if place != span // 2)):
        if not starts.size:
            return flags
        starts = starts[x[starts + place] == x[starts]]
    for place in range(needed):
        flags[starts + place] = True
    return flags
