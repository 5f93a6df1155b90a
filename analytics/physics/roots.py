"""Where a rising function crosses zero, for a whole array of them at once."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

ROUNDS = 100
ACCEPTED = 1e3
"""A root is given when its miss is within so many tolerances: the last steps may be limited by rounding. [-]"""


def rising_root(miss_at: Callable[[Array], Array], least: Array, most: Array, *, tolerance: float) -> Array:
    """Root of functions that rise.

    Parameters
    ----------
    miss_at : callable
        Values of all the functions at an array of places; infinity where a place is too high to have one.
    least, most : array
        Where roots are looked for. [as the places]
    tolerance : float
        Value taken for zero. [as the functions]

    Returns
    -------
    array
        NaN where there is no root between `least` and `most`.

    Notes
    -----
    Regula falsi after the "Illinois" rule: an end of the bracket that stays twice in a row counts half, so that both
    ends move in; where that gives nothing inside the bracket, it is halved.

    Examples
    --------
    >>> cubes = np.array([8.0, 27.0, 1e9])
    >>> rising_root(lambda x: x**3 / cubes - 1.0, np.zeros(3), np.full(3, 100.0), tolerance=1e-12).round(9)
    array([ 2.,  3., nan])
    """
    low, high = least, most
    low_miss, high_miss = miss_at(least), miss_at(most)
    reached = (low_miss <= tolerance) & (high_miss >= -tolerance)
    at_least = np.abs(low_miss) <= tolerance
    place, miss = np.where(at_least, low, high), np.where(at_least, low_miss, high_miss)
    was_above = np.ones(most.shape, dtype=bool)
    for _ in range(ROUNDS):
        if np.all((np.abs(miss) <= tolerance) | ~reached):
            break
        with np.errstate(invalid="ignore", divide="ignore"):
            chord = low - low_miss * (high - low) / (high_miss - low_miss)
        inside = np.isfinite(chord) & (chord > low) & (chord < high)
        place = np.where(np.abs(miss) <= tolerance, place, np.where(inside, chord, 0.5 * (low + high)))
        miss = miss_at(place)
        above = miss > 0
        low_miss = np.where(above, np.where(was_above, 0.5 * low_miss, low_miss), miss)
        high_miss = np.where(above, miss, np.where(was_above, high_miss, 0.5 * high_miss))
        low, high = np.where(above, low, place), np.where(above, place, high)
        was_above = above
    return np.where(reached & (np.abs(miss) <= ACCEPTED * tolerance), place, np.nan)
