"""What somebody may have meant by a number that does not fit: another unit, a lost decimal point, swapped digits.

A meaning turns the number as written into the canonical unit. The same meanings serve one value of a shift log and
whole columns of a table (`guess_meaning`).
"""

import itertools
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from analytics.plant import Plant
from analytics.quantities import COLUMNS, Quantity
from analytics.units import unit as unit_of

GAUGE_UNITS = {
    "degC": ("degC", "degF"), "bar": ("bar", "psi", "kPa", "MPa"),
    "m3/h": ("m3/h", "gpm", "L/min", "L/s", "m3/d", "gpd"), "uS/cm": ("uS/cm", "mS/cm", "mS/m"),
    "mg/L": ("mg/L", "g/L", "ug/L"), "m3": ("m3", "kgal"), "L": ("L", "gal"), "kW": ("kW", "hp", "W"),
    "kWh": ("kWh", "MWh"), "mV": ("mV", "V"),
}  # fmt: skip
"""Units that instruments of water treatment show, the more common ones first; common practice, no source. Units that
differ by less than instruments do (kgf/cm2 and bar) cannot be told apart by value and are left out."""

POWERS = (-1, 1, -2, 2, -3, 3)
"""Places by which a decimal point is lost, or a thousands mark taken for one."""

MOST_INSIDE_AS_NAMED, LEAST_INSIDE_AS_GUESSED = 0.5, 0.9
"""Shares of a column within what is expected, between which another meaning is offered; common practice, no source."""

FLUX = (6.0, 45.0)
"""Flux of plants for brackish water; from memory of makers' design guides (12 to 34), widened. [L/m2/h]"""
RECOVERY = (0.25, 0.95)
"""Recovery between which plants for brackish water run; common practice, no source. [-]"""


@dataclass(frozen=True)
class Meaning:
    """One way to read a number: canonical = number * factor + offset.

    `unit` is the unit that the number is in; `power` the tenth power by which its point was lost (0 for none).
    """

    kind: Literal["as named", "unit", "decimal"]
    unit: str
    power: int
    factor: float
    offset: float

    def canonical(self, numbers: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """The numbers in the canonical unit of their quantity."""
        with np.errstate(over="ignore"):  # what is too large for a number lies outside of any range
            return np.asarray(numbers, dtype=np.float64) * self.factor + self.offset


@dataclass(frozen=True)
class ColumnGuess:
    """A meaning that fits a whole column better than the one it is named with; shares of values that fit. [-]"""

    meaning: Meaning
    inside_as_named: float
    inside_as_guessed: float


def as_named(unit: str) -> Meaning:
    """The number as it stands, in the unit that it is named with."""
    found = unit_of(unit)
    return Meaning("as named", found.name, 0, found.factor, found.offset)


def meanings(unit: str) -> tuple[Meaning, ...]:
    """Other ways to read a number that is named with a unit, the more common ones first.

    Examples
    --------
    >>> psi = meanings("bar")[0]
    >>> psi.unit, round(float(psi.canonical(174.0)), 1)
    ('psi', 12.0)
    """
    named = as_named(unit)
    canonical = unit_of(unit).canonical
    others = [unit_of(name) for name in GAUGE_UNITS.get(canonical, ()) if name != named.unit]
    found = [Meaning("unit", other.name, 0, other.factor, other.offset) for other in others]
    found += [Meaning("decimal", named.unit, power, named.factor * 10.0**power, named.offset) for power in POWERS]
    return tuple(found)


def swapped(digits: str) -> tuple[str, ...]:
    """A number as written with each pair of neighbouring digits swapped; zeros in front and pairs alike left out.

    Examples
    --------
    >>> swapped("1243")
    ('2143', '1423', '1234')
    """
    places = [place for place, sign in enumerate(digits) if sign.isdigit()]
    found = []
    for first, second in itertools.pairwise(places):
        if digits[first] == digits[second]:
            continue
        signs = list(digits)
        signs[first], signs[second] = signs[second], signs[first]
        if not (first == places[0] and signs[first] == "0" and second == first + 1):
            found.append("".join(signs))
    return tuple(found)


def guess_meaning(
    numbers: npt.ArrayLike, unit: str, expected: tuple[float, float], *, usual: float | None = None
) -> ColumnGuess | None:
    """Another meaning of a whole column, when it does not fit as named and fits otherwise.

    Parameters
    ----------
    numbers : array_like
        As written, NaN where blank.
    unit : str
        The unit that the column is named with.
    expected : tuple of float
        Between which values lie that can be true here, in the canonical unit: of the train's own records where there
        are any, else of `expected_ranges`.
    usual : float, optional
        What is usual here, in the canonical unit; with it the nearest meaning wins, else the most common one.

    Returns
    -------
    ColumnGuess or None
        None when the column fits as named, or nothing fits better.

    Examples
    --------
    >>> found = guess_meaning([172.0, 175.0, 174.0], "bar", (2.0, 41.0), usual=12.0)
    >>> found.meaning.unit
    'psi'
    """
    known = np.asarray(numbers, dtype=np.float64)
    known = known[np.isfinite(known)]
    if not known.size:
        return None
    inside = _share_inside(as_named(unit).canonical(known), expected)
    if inside > MOST_INSIDE_AS_NAMED:
        return None
    fitting = [
        ColumnGuess(meaning, inside, share)
        for meaning in meanings(unit)
        if (share := _share_inside(meaning.canonical(known), expected)) >= LEAST_INSIDE_AS_GUESSED
    ]
    if not fitting or usual is None:
        return fitting[0] if fitting else None
    return min(fitting, key=lambda guess: abs(float(np.median(guess.meaning.canonical(known))) - usual))


def _share_inside(values: npt.NDArray[np.float64], expected: tuple[float, float]) -> float:
    return float(np.mean((values >= expected[0]) & (values <= expected[1])))


def expected_ranges(plant: Plant) -> dict[str, tuple[float, float]]:
    """Between which values each column can be expected at a plant of which there are no records yet.

    Returns
    -------
    dict
        By column, in canonical units: the usual range of the glossary, and for flows what the membrane area allows;
        never beyond what the membranes stand.
    """
    train = plant.train
    made = (train.area_m2 * FLUX[0] / 1000, train.area_m2 * FLUX[1] / 1000)
    flows = {
        "permeate_flow_m3h": made,
        "feed_flow_m3h": (made[0] / RECOVERY[1], made[1] / RECOVERY[0]),
        "concentrate_flow_m3h": (made[0] * (1 / RECOVERY[1] - 1), made[1] * (1 / RECOVERY[0] - 1)),
    }
    for number, stage in enumerate(train.stages, start=1):
        flows[f"stage{number}_permeate_flow_m3h"] = (stage.area_m2 * FLUX[0] / 2000, stage.area_m2 * FLUX[1] / 1000)
    hottest = min(stage.membrane.max_temperature_c for stage in train.stages)
    strongest = max(stage.membrane.max_pressure_bar for stage in train.stages)
    tops = {"degC": hottest, "bar": strongest}
    return {name: flows.get(name) or _below(quantity, tops.get(quantity.unit)) for name, quantity in COLUMNS.items()}


def _below(quantity: Quantity, top: float | None) -> tuple[float, float]:
    low, high = quantity.usual
    return (low, high if top is None else min(high, top))
