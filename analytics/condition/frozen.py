"""Meters that stand still: stuck, at an end of their scale, or copied from the last shift."""

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
"""Parts of a log whose shares of equal neighbours are taken one by one: by their median, a gauge that stood still in
some of them does not count as coarse. Judgement. [-]"""


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
    columns: Mapping[str, Array],
    considered: Flags,
    *,
    at_least: int = 4,
    most_equal: float = 0.3,
    book: LevelBook | None = None,
) -> dict[str, Flags]:
    """Rows in which a meter stands at the top or at the bottom of its scale.

    Parameters
    ----------
    columns : mapping of arrays
        Values by column name, in any unit.
    considered : bool array
        Readings that broke no rule so far: a cell of a plant that stands still shows nothing.
    at_least : int
        Fewest readings at the end of the scale. [-]
    most_equal : float
        Share of the other readings that may have one value: a meter whose values repeat more often is read in coarse
        steps or controlled, and its commonest value is no end of a scale. Common practice, no source. [-]
    book : LevelBook, optional
        Knows, or learns, where the scale of each column ends.

    Returns
    -------
    dict
        Only the columns with such readings; True in their rows.

    Notes
    -----
    The outermost readings of a living meter thin out. A value that none passes, met at least `at_least` times and twice
    as often as the next two together, is the end of the scale; the true value may be anything beyond.
    """
    book = book or LevelBook()
    result: dict[str, Flags] = {}
    everything = bool(considered.all())
    for name, values in columns.items():
        running = values if everything or book.given is not None else values[considered]
        for way, end in (("clipped", 1.0), ("clipped low", -1.0)):
            top = book.number(f"{way} {name}", lambda x=running, e=end: _end_of_scale(e * x, at_least, most_equal))  # type: ignore[misc]
            rows = considered & (values == end * top) if top is not None else None
            if rows is not None and rows.any():
                result[name] = result[name] | rows if name in result else rows
    return result


def _end_of_scale(values: Array, at_least: int, most_equal: float) -> float | None:
    top = np.fmax.reduce(values, initial=-np.inf)
    count = np.count_nonzero(values == top)
    if count < at_least or values.size - np.count_nonzero(np.isnan(values)) < 5 * at_least:
        return None
    below = values[values < top]
    if not below.size:
        return None
    second = below.max()
    third = np.max(below, where=below < second, initial=-np.inf)
    if count < 2 * np.count_nonzero(below >= third):
        return None
    commonest = np.unique(below, return_counts=True)[1].max()
    return float(top) if commonest <= max(most_equal * below.size, 1) else None


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
