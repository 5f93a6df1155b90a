"""Multipliers on data sheet values: which stages share one, what meter decides it, and the search for all of them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Self

import numpy as np
import numpy.typing as npt

from analytics.condition.streams import Array

Rows = npt.NDArray[np.int64]

LARGEST_STEP = 1.5
NUDGE = 0.01
"""Change of a logarithm in a step of the search, at the most; and by which slopes are taken. [-]"""
EXACT = 1e-6
"""Where the medians of all neighbours are missed by less than this their search ends. [-]"""
LEAST_DETERMINANT = 1e-6
"""Of slopes that can tell the multipliers apart. [-]"""


@dataclass(frozen=True)
class Multiplier:
    """One multiplier that some stages share.

    Attributes
    ----------
    what : str
        "water", "salt" or "friction".
    stages : tuple of int
        Those that share it, counted from zero.
    counted : tuple of int
        Those whose permeate or pressure drop the meter shows together.
    measured : array or None
        Permeate flow [m3/h], permeate salinity [mg/L] or pressure drop [bar]; None where nothing is metered, and the
        multiplier is held at one.
    """

    what: str
    stages: tuple[int, ...]
    counted: tuple[int, ...]
    measured: Array | None

    @property
    def shared(self) -> bool:
        return len(self.stages) > 1


def share_out(what: str, own: Sequence[Array | None], rest: Array | None) -> list[Multiplier]:
    """A multiplier for each stage with a meter of its own, and one for all others together.

    Parameters
    ----------
    what : str
    own : sequence of array or None
        What is metered of each stage.
    rest : array or None
        What is metered of all others together.
    """
    result = [Multiplier(what, (n,), (n,), values) for n, values in enumerate(own) if values is not None]
    others = tuple(n for n, values in enumerate(own) if values is None)
    return [*result, Multiplier(what, others, others, rest)] if others else result


def what_is_left(whole: Array | None, parts: Sequence[Array | None]) -> Array | None:
    """The whole less those parts that are known; NaN where nothing is left."""
    known = [part for part in parts if part is not None]
    return whole if whole is None or not known else positive(whole - np.sum(known, axis=0))


def positive(values: Array | None) -> Array | None:
    """NaN where a value is not above zero."""
    return None if values is None else np.where(values > 0, values, np.nan)


@dataclass(frozen=True)
class Local:
    """Where the multipliers of some readings lie, and how the misses go with them there.

    Attributes
    ----------
    logarithms : array
        Of shape (multipliers, readings). [-]
    inverse : array
        Of the slopes of the misses with the multipliers, of shape (readings, multipliers, multipliers).
    """

    logarithms: Array
    inverse: Array

    def at(self, places: Rows) -> Self:
        """The same, place by place."""
        return replace(self, logarithms=self.logarithms[:, places], inverse=self.inverse[places])


def newton_at_places(misses_at: Callable[[Array], Array], count: int, places: int, *, rounds: int) -> Local:
    """Search the multipliers of a few readings with slopes of their own.

    Parameters
    ----------
    misses_at : callable
        From logarithms of shape (multipliers, copies x places), copy by copy, to the logarithms of model over meter;
        there is a copy for each multiplier, and one more.
    count, places : int
        How many multipliers, and how many readings.
    rounds : int

    Returns
    -------
    Local
        A reading without an answer has the middle of the others' in its place, zeros and ones where no reading has any.
    """
    nudges = NUDGE * np.repeat(np.eye(count, count + 1), places, axis=1)
    found = np.zeros((count, places))
    inverse = np.tile(np.eye(count), (places, 1, 1))
    sound: npt.NDArray[np.bool_] = np.zeros(places, dtype=bool)
    for _ in range(rounds):
        misses = misses_at(np.tile(found, count + 1) + nudges).reshape(count, count + 1, places)
        here = misses[:, count]
        with np.errstate(invalid="ignore"):  # a meter at zero is infinitely far from every answer
            slopes = np.moveaxis((misses[:, :count] - misses[:, count:]) / NUDGE, 2, 0)
        sound = np.asarray(np.isfinite(slopes).all(axis=(1, 2)) & np.isfinite(here).all(axis=0))
        slopes[~sound] = np.eye(count)
        sound = np.asarray(sound & (np.abs(np.linalg.det(slopes)) > LEAST_DETERMINANT))
        slopes[~sound] = np.eye(count)
        inverse = np.asarray(np.linalg.inv(slopes), dtype=np.float64)
        step = np.einsum("pij,jp->ip", inverse, np.nan_to_num(here))
        found = found - np.clip(step, -LARGEST_STEP, LARGEST_STEP)
        if sound.any() and np.abs(here[:, sound]).max() < EXACT:
            break
    if sound.any():
        found[:, ~sound] = np.median(found[:, sound], axis=1)[:, None]
        inverse[~sound] = np.median(inverse[sound], axis=0)
    return Local(found, inverse)


@dataclass(frozen=True)
class Found(Local):
    """Outcome of a search; `misses` are those that the last step of each reading started from."""

    misses: Array


def newton(misses_of: Callable[[Rows], Callable[[Array], Array]], start: Local, *, rounds: int, near: float) -> Found:
    """Search the multipliers of all readings at once, each with given slopes.

    Parameters
    ----------
    misses_of : callable
        From the numbers of some readings to the search for those: from logarithms of shape (multipliers, readings) to
        the logarithms of model over meter, of the same shape.
    start : Local
        Of each reading.
    rounds : int
        At the most.
    near : float
        A reading missed by no more than this takes one more step and no other. [-]

    Notes
    -----
    A reading without one of the values keeps the first guess of that multiplier as far as the others allow.
    """
    logarithms = start.logarithms.copy()
    misses = np.full_like(logarithms, np.nan)
    rows = np.arange(logarithms.shape[1])
    for _ in range(rounds):
        found = misses_of(rows)(logarithms[:, rows])
        known = np.nan_to_num(found)
        step = np.einsum("nij,jn->in", start.inverse[rows], known)
        misses[:, rows] = found
        logarithms[:, rows] -= np.clip(step, -LARGEST_STEP, LARGEST_STEP)
        rows = rows[(np.abs(known) > near).any(axis=0)]
        if not rows.size:
            break
    return Found(logarithms, start.inverse, misses)
