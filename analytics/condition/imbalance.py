"""How far the flows and the salt of a reading miss their balance, and when that is more than is usual at its time."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from analytics.condition.levels import LevelBook, Usual
from analytics.physics.water import tds_from_conductivity
from analytics.plant import Train

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

STRETCH, MOST_STRETCHES = 30, 200
"""Fewest readings whose median is the usual imbalance of their time, and most stretches of a log: a meter that drifts
or was exchanged moves what is usual, and a slip of the pen does not. Common practice, no source."""


def flow_imbalance(columns: Mapping[str, Array]) -> Array | None:
    """(Feed - permeate - concentrate) / feed, where all three are metered. [-]"""
    names = ("feed_flow_m3h", "permeate_flow_m3h", "concentrate_flow_m3h")
    if not all(name in columns for name in names):
        return None
    feed, permeate, concentrate = (columns[name] for name in names)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(feed > 0, (feed - permeate - concentrate) / feed, np.nan)


def salt_imbalance(columns: Mapping[str, Array], train: Train) -> Array | None:
    """(Salt fed - salt in the concentrate) / salt fed, where both are metered; permeate carries next to none. [-]"""
    names = ("feed_flow_m3h", "concentrate_flow_m3h", "feed_conductivity_us_cm", "concentrate_conductivity_us_cm")
    if not all(name in columns for name in names):
        return None
    feed, concentrate = columns["feed_flow_m3h"], columns["concentrate_flow_m3h"]
    factor = train.assumed.tds_per_conductivity
    into, out = (
        np.asarray(tds_from_conductivity(columns[name], water=train.water, factor=factor)) for name in names[2:]
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where((feed > 0) & (into > 0), 1 - concentrate * out / (feed * into), np.nan)


def out_of_balance(
    imbalance: Array | None,
    considered: Flags,
    tolerance: float,
    rule: str,
    times: npt.NDArray[np.int64],
    book: LevelBook,
) -> Flags:
    """Apart from the usual imbalance of their time: a lasting one accuses a meter (see `meters`), not the reading.

    Parameters
    ----------
    imbalance : array or None
        By reading; None where it is not metered. [-]
    considered : bool array
        Readings that broke no rule so far; the usual imbalance is theirs.
    tolerance : float
        Beyond the usual range. [-]
    rule : str
        Under which the usual imbalance is kept.
    times : array of int
        Instants of the readings.
    book : LevelBook
        Gives or learns the usual imbalance.

    Returns
    -------
    bool array
        As long as `considered`.
    """
    flags = np.zeros(len(considered), dtype=bool)
    if imbalance is None:
        return flags
    known = np.flatnonzero(considered & ~np.isnan(imbalance))
    if not known.size:
        return flags
    x = imbalance if known.size == len(imbalance) else imbalance[known]
    if book.given is None:
        usual = _usual_range(x)
        book.usual[rule] = Usual(times[known[usual.since]], usual.low, usual.high)
        lengths = np.diff(np.r_[usual.since, x.size])
        low, high = np.repeat(usual.low, lengths), np.repeat(usual.high, lengths)
    elif rule in book.given.usual:
        here = book.given.usual[rule].at(times[known])
        low, high = here.low, here.high
    else:
        return flags
    flags[known] = (x < low - tolerance) | (x > high + tolerance)
    return flags


def _usual_range(x: Array) -> Usual:
    """Least and greatest median of each stretch and of the two beside it, by the place where the stretch begins."""
    size = max(STRETCH, -(-x.size // MOST_STRETCHES))
    starts = np.arange(0, max(x.size - size // 2, 1), size)
    whole, last = x[: starts[-1]].reshape(-1, size), x[starts[-1] : starts[-1] + size]
    medians = np.r_[np.median(_thinned(whole), axis=1), np.median(_thinned(last))]
    beside = np.stack([np.r_[medians[:1], medians[:-1]], medians, np.r_[medians[1:], medians[-1:]]])
    return Usual(starts, beside.min(axis=0), beside.max(axis=0))


def _thinned(values: Array) -> Array:
    """About two thousand of the last axis: enough for a median."""
    return values[..., :: max(1, values.shape[-1] // 2_000)]
