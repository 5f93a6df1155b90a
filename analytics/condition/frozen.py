"""Meters that stand still: stuck, clipped at the end of their range, or copied from the last shift."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

COARSE = 0.6
"""Share of equal neighbours from which a gauge is too coarse, or too well controlled, to be judged. [-]"""

CHANCE = 0.01
"""Runs that are expected this often or less in the whole log, were the meter alive, count as frozen. [-]"""

BLOCKS = 20


def frozen_rows(columns: Mapping[str, Array], considered: Flags, *, at_least: int) -> dict[str, Flags]:
    """Rows in which a meter has shown the very same value for too long.

    Parameters
    ----------
    columns : mapping of arrays
        Values by column name, in any unit.
    considered : bool array
        Readings that broke no rule so far; the others are passed over, so a stop does not look like a stuck meter.
    at_least : int
        Fewest equal readings in a row. [-]

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
    if at.size < 2 * at_least:
        return result
    everything = at.size == considered.size
    for name, values in columns.items():
        x = values if everything else values[at]
        needed = _needed_run(x, at_least)
        if needed is None or not _may_be_frozen(x, needed):
            continue
        flags = np.zeros(considered.size, dtype=bool)
        flags[at] = _long_runs(x, needed)
        if flags.any():
            result[name] = flags
    return result


def clipped_rows(columns: Mapping[str, Array], considered: Flags, *, at_least: int = 4) -> dict[str, Flags]:
    """Rows in which a meter stands at the end of its range.

    Parameters
    ----------
    columns : mapping of arrays
    considered : bool array
    at_least : int
        Fewest readings at the highest value. [-]

    Notes
    -----
    The highest readings of a living meter thin out. A value that none exceeds, met at least `at_least` times and twice
    as often as the next two below it together, is the end of the range; the true value may be anything above.
    """
    result: dict[str, Flags] = {}
    for name, values in columns.items():
        x = values[~np.isnan(values)]
        if x.size < 5 * at_least:
            continue
        top = x.max()
        count = np.count_nonzero(x == top)
        below = x[x < top]
        if count < at_least or not below.size:
            continue
        second = below.max()
        third = np.max(below, where=below < second, initial=-np.inf)
        if count >= 2 * np.count_nonzero(below >= third):
            result[name] = considered & (values == top)
    return result


def _needed_run(x: Array, at_least: int) -> int | None:
    equal = x[1:] == x[:-1]
    known = ~np.isnan(x[1:])
    size = max(1, equal.size // BLOCKS)
    used = equal.size // size * size
    alike = equal[:used].reshape(-1, size).sum(axis=1)
    seen = known[:used].reshape(-1, size).sum(axis=1)
    shares = alike[seen > 0] / seen[seen > 0]
    if not shares.size:
        return None
    share = float(np.median(shares))
    if share > COARSE:
        return None
    chance = max(share, 1e-3)
    return max(at_least, 1 + int(np.ceil(np.log(CHANCE / x.size) / np.log(chance))))


def _may_be_frozen(x: Array, needed: int) -> bool:
    """A quick look at the ends and the middle of every window, before runs are counted."""
    span = needed - 1
    ends = x[span:] == x[:-span]
    return bool((ends & (x[span // 2 : x.size - span + span // 2] == x[:-span])).any())


def _long_runs(x: Array, needed: int) -> Flags:
    """True in runs of at least `needed` equal values."""
    starts = np.flatnonzero(np.r_[True, x[1:] != x[:-1]])
    lengths = np.diff(np.r_[starts, x.size])
    return np.asarray(np.repeat(lengths >= needed, lengths), dtype=bool)
