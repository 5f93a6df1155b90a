"""Probing along the permeate tube of one vessel: a step that stays is a leak, a lone odd sample is taken again."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from analytics.errors import InvalidSettings
from analytics.judgement.vessels import LEAST_EXCESS, MAD_TO_SIGMA, ROBUST_SIGMAS

Array = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]

LEAST_SAMPLES = 4
STAYS = 0.5
"""Share of a step, thinned by the permeate that joins, that the samples behind it must keep; common practice, no
source. [-]"""
MOST_ODD = 1 / 3
"""With more samples than this share standing alone, none is believed; common practice, no source. [-]"""
SCATTER = "The samples scatter too much to tell: take them all again, and wait some minutes at each place."
CLOSE = 0.5
"""Two samples this close on both sides of a connector tell its seals from the elements beside it. [elements]"""


@dataclass(frozen=True)
class ProbeStep:
    """Where conductivity steps along a vessel.

    Attributes
    ----------
    kind : {"connector", "element", "between", "odd", "scatter", "none"}
        "between" where the samples are too far apart to say which, "odd" where a sample stands alone and no step stays,
        "scatter" where no sample can be believed.
    place : int
        The connector, numbered by the element before it, or the element; else 0.
    step_us_cm : float
        The largest rise or fall beyond the usual one from sample to sample. [uS/cm]
    odd : tuple of float
        Places of samples that stand alone. [elements]
    said : str
    before : float or None
        The last sample before the step. [elements]
    """

    kind: Literal["connector", "element", "between", "odd", "scatter", "none"]
    place: int
    step_us_cm: float
    odd: tuple[float, ...]
    said: str
    before: float | None = None


@dataclass(frozen=True)
class _Jump:
    """The largest change between neighbours, and which of the two it is where it does not stay."""

    before: int
    size: float
    stays: bool
    odd: int


def probe_step(places: Sequence[float], conductivities_us_cm: Sequence[float]) -> ProbeStep:
    """Find the step in a probing along the permeate tube of one vessel.

    Parameters
    ----------
    places : sequence of float
        In elements from the feed end: 0 is the feed end, 1 the connector behind the first element; each element has at
        least one sample before and one behind. Rising.
    conductivities_us_cm : sequence of float
        [uS/cm]

    Raises
    ------
    InvalidSettings
        With fewer than four samples, or places that do not rise.

    Notes
    -----
    Conductivity changes smoothly from sample to sample. The largest change counts when it exceeds the median change by
    `ROBUST_SIGMAS` robust deviations and by `LEAST_EXCESS` of the middle value. It is a step when at least two samples
    on either side agree with it: those downstream must keep, at their median, `STAYS` of what mixing leaves of it: with
    the step :math:`d` at :math:`x` elements, :math:`d x / x_i` at :math:`x_i`, as the permeate of the elements behind
    joins. Permeate may leave at either end, so a fall along the vessel is looked at from the other end. What does not
    stay is one odd sample; it is left out, and the others are looked at again. A step around a connector is a seal, one
    within an element its membrane or glue line (common practice, no source).

    Examples
    --------
    >>> probe_step([0.1, 0.9, 1.1, 1.9, 2.1, 2.9], [40, 70, 42, 43, 44, 45]).odd
    (0.9,)
    """
    at, values = np.asarray(places, dtype=np.float64), np.asarray(conductivities_us_cm, dtype=np.float64)
    if len(at) < LEAST_SAMPLES or len(at) != len(values):
        raise InvalidSettings("at least four samples along the vessel are needed, one conductivity for each place")
    if not (np.diff(at) > 0).all() or not (values > 0).all():
        raise InvalidSettings("places must rise from the feed end, and conductivities be above zero")
    found = _look(at, values)
    odd = tuple(sorted(at[found.odd].tolist()))
    if found.step is not None:
        return _step(at[found.kept], found.step, odd)
    if len(odd) > MOST_ODD * len(at) or _scatter(values[found.kept]) > LEAST_EXCESS * float(np.median(values)):
        return ProbeStep("scatter", 0, found.largest, (), SCATTER)
    if not odd:
        return ProbeStep("none", 0, 0.0, (), "Conductivity changes smoothly: no leak shows along this vessel.")
    return ProbeStep("odd", 0, found.largest, odd, _said_of_odd(odd, at))


@dataclass(frozen=True)
class _Found:
    """The first step that stays, as a jump between `kept` samples; those that stand alone; the largest jump."""

    step: _Jump | None
    kept: Places
    odd: list[int]
    largest: float


def _look(at: Array, values: Array) -> _Found:
    """Leave odd samples out one by one, until a step stays; then once more with the step taken out of those behind it.

    A second step is not looked for: what mixing leaves of the first looks like one.
    """
    kept, odd, largest = np.arange(len(at)), list[int](), 0.0
    step, step_kept = None, kept
    level = values.copy()
    while len(kept) >= LEAST_SAMPLES:
        jump = _largest_jump(at[kept], level[kept])
        if jump is None or (jump.stays and step is not None):
            break
        largest = largest or jump.size
        if jump.stays:
            step, step_kept = jump, kept
            level[kept[jump.before + 1] :] -= jump.size
            if not (level > 0).all():
                break
            continue
        odd.append(int(kept[jump.odd]))
        kept = np.delete(kept, jump.odd)
    return _Found(step, step_kept, odd, largest)


def _largest_jump(at: Array, values: Array) -> _Jump | None:
    """The largest change beyond the usual one, None where it is within what samples scatter."""
    rises = np.diff(values)
    middle = float(np.median(rises))
    sigma = _scatter(values)
    before = int(np.argmax(np.abs(rises - middle)))
    size = float(rises[before] - middle)
    if abs(size) <= max(ROBUST_SIGMAS * sigma, LEAST_EXCESS * float(np.median(values))):
        return None
    level = values - middle * np.arange(len(values))
    if size > 0:
        stays = _stays(at, level, before)
    else:
        end = float(np.ceil(at[-1]))
        stays = _stays(end - at[::-1], level[::-1], len(at) - 2 - before)
    return _Jump(before, size, stays, _odd_one(level, before))


def _scatter(values: Array) -> float:
    """Robust standard deviation of the changes from sample to sample. [uS/cm]"""
    rises = np.diff(values)
    return MAD_TO_SIGMA * float(np.median(np.abs(rises - np.median(rises))))


def _stays(way: Array, level: Array, before: int) -> bool:
    """Whether a rise along the way of the permeate stays, with two samples on either side at least."""
    first = before + 1
    if before < 1 or first > len(level) - 2:
        return False
    rise = float(level[first] - level[before])
    left = max(float(way[first]), 1.0) / np.maximum(way[first + 1 :], 1.0)
    kept = (level[first + 1 :] - np.median(level[:first])) / (rise * left)
    return float(np.median(kept)) >= STAYS


def _odd_one(level: Array, before: int) -> int:
    """Which of two neighbours stands alone: the one without which its own neighbours agree best."""
    half = abs(float(level[before + 1] - level[before])) / 2
    without_first = abs(float(level[before + 1] - level[before - 1])) if before else half
    without_second = abs(float(level[before + 2] - level[before])) if before + 2 < len(level) else half
    if min(without_first, without_second) > half:  # both do, as where two samples are odd
        far = np.abs(level[before : before + 2] - np.median(level))
        return before + int(np.argmax(far))
    return before if without_first < without_second else before + 1


def _step(at: Array, jump: _Jump, odd: tuple[float, ...]) -> ProbeStep:
    start, end = float(at[jump.before]), float(at[jump.before + 1])
    connector = round((start + end) / 2)
    size = f"{abs(jump.size):.0f} µS/cm"
    also = f" {_named(odd)} {'stand' if len(odd) > 1 else 'stands'} alone: take it again." if odd else ""
    if end - start <= CLOSE and start <= connector <= end:
        where = f"between element {connector} and {connector + 1}" if connector else "at the feed end"
        said = f"A step of {size} {where} that stays: look at the seals of this connector."
        return ProbeStep("connector", connector, jump.size, odd, said + also, start)
    element = int(np.floor((start + end) / 2)) + 1
    if element - 1 <= start and end <= element:
        said = f"A step of {size} within element {element} that stays: its membrane or glue line is damaged."
        return ProbeStep("element", element, jump.size, odd, said + also, start)
    said = (
        f"A step of {size} between {start:g} and {end:g} that stays: take samples close before and behind each"
        " connector there, to tell a seal from an element."
    )
    return ProbeStep("between", 0, jump.size, odd, said + also, start)


def _said_of_odd(odd: tuple[float, ...], at: Array) -> str:
    it, more = ("it", "stands") if len(odd) == 1 else ("them", "stand")
    said = f"{_named(odd)} {more} alone: take {it} again."
    if {odd[0], odd[-1]} & {float(at[0]), float(at[-1])}:
        return f"{said} If the reading at the end of the vessel stays so, look at the seals of that end."
    return f"{said} A leak would show in the samples behind {it}, too."


def _named(odd: tuple[float, ...]) -> str:
    places = " and ".join(f"{place:g}" for place in odd)
    return f"The sample{'s' if len(odd) > 1 else ''} at {places}"
