"""Headers of the canonical layout: `quantity [unit]`."""

import re
from dataclasses import dataclass

from analytics.errors import InvalidSettings
from analytics.quantities import COLUMNS, QUANTITIES, Quantity, nearest_names
from analytics.units import unit, units_of

TIME = "time"
WORDS = ("state", "remark")
_HEADER = re.compile(r"^(?P<name>[^\[\]]*?)\s*(?:\[(?P<unit>[^\[\]]*)\])?$")


@dataclass(frozen=True)
class Header:
    """One header: the quantity that it names, and the unit it is typed in ("" when it gives none)."""

    text: str
    quantity: Quantity
    unit: str


class UnknownQuantity(Exception):
    """A header that names no quantity known here; its text says which are near."""


class WrongUnit(Exception):
    """A unit that is not known, or measures something else; its text says what is expected."""


def parse_header(text: str) -> Header:
    """Read a header such as `feed_pressure [psi]`.

    Raises
    ------
    UnknownQuantity, WrongUnit

    Examples
    --------
    >>> parse_header("Feed pressure [psi]").quantity.column
    'feed_pressure_bar'
    """
    match = _HEADER.match(text.strip())
    name = plain_name(match["name"]) if match else plain_name(text)
    quantity = QUANTITIES.get(name)
    typed = (match["unit"] or "").strip() if match else ""
    if quantity is None and not typed:
        quantity = COLUMNS.get(name)
    if quantity is None or match is None:
        raise UnknownQuantity(nearest_names(name).removeprefix("; ").removesuffix("?"))
    if typed:
        _check_unit(typed, quantity)
    return Header(text, quantity, typed)


def plain_name(text: str) -> str:
    """A name in lower case with underscores: "Feed pressure" is `feed_pressure`."""
    return re.sub(r"[\s_\-]+", "_", text.strip().lower())


def _check_unit(typed: str, quantity: Quantity) -> None:
    expected = f"one of {', '.join(units_of(quantity.unit))}"
    try:
        found = unit(typed)
    except InvalidSettings:
        raise WrongUnit(expected) from None
    if found.name not in units_of(quantity.unit):
        raise WrongUnit(expected)
