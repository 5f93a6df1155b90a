"""Choices and costs in the reader's units: flows, pressures, shares in percent, and money per volume of water.

What is kept is canonical: m3/h, bar, fractions, money per m3.
"""

from analytics.quantities import QUANTITIES
from analytics.units import display_unit, from_canonical, to_canonical
from server.budget.choices import Choice, Kind
from server.display import unit_symbol

QUANTITY_OF = {"flow": QUANTITIES["permeate_flow"], "pressure": QUANTITIES["feed_pressure"]}


def to_reader(value: float, kind: Kind, units: str) -> float:
    """A kept value as the reader sees it.

    Examples
    --------
    >>> to_reader(0.065, "percent", "SI"), round(to_reader(1.0, "per volume", "US"), 2)
    (6.5, 3.79)
    """
    if quantity := QUANTITY_OF.get(kind):
        return float(from_canonical(value, quantity.unit, display_unit(quantity.unit, units)))
    if kind == "per volume":
        return per_volume(value, units)
    return 100 * value if kind == "percent" else value


def from_reader(value: float, kind: Kind, units: str) -> float:
    """What the reader entered as it is kept."""
    if quantity := QUANTITY_OF.get(kind):
        return float(to_canonical(value, display_unit(quantity.unit, units), quantity.unit))
    if kind == "per volume":
        return value / per_volume(1.0, units)
    return value / 100 if kind == "percent" else value


def unit_of(kind: Kind, units: str) -> str:
    """Symbol of the unit of a choice; nothing where its label says it."""
    if quantity := QUANTITY_OF.get(kind):
        return unit_symbol(display_unit(quantity.unit, units))
    return "%" if kind == "percent" else ""


def volume_symbol(units: str) -> str:
    """Symbol of the unit in which water is bought: m³, or thousands of gallons."""
    return unit_symbol(display_unit("m3", units))


def per_volume(per_m3: float, units: str) -> float:
    """Money, or anything else, per m3 as it is per unit of volume of the reader.

    Examples
    --------
    >>> per_volume(0.5, "SI"), round(per_volume(0.5, "US"), 3)
    (0.5, 1.893)
    """
    return float(to_canonical(per_m3, display_unit("m3", units), "m3"))


def label_of(choice: Choice, units: str) -> str:
    """What a choice is called, with the reader's unit of volume where it names one."""
    return choice.label.format(volume=volume_symbol(units))


def hint_of(choice: Choice, units: str) -> str:
    """What is said beside a choice, with what is usual in the reader's units."""
    low, high = (f"{to_reader(value, choice.kind, units):.2g}" for value in choice.usual)
    return choice.hint.format(low=low, high=high)
