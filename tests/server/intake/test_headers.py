"""Headers `quantity [unit]`."""

import pytest

from analytics.quantities import COLUMNS, QUANTITIES
from server.intake.headers import UnknownQuantity, WrongUnit, parse_header


@pytest.mark.parametrize(
    ("text", "column", "unit"),
    [
        ("feed_pressure [psi]", "feed_pressure_bar", "psi"),
        ("Feed pressure [PSI]", "feed_pressure_bar", "PSI"),
        (" feed-pressure[bar] ", "feed_pressure_bar", "bar"),
        ("feed_pressure", "feed_pressure_bar", ""),
        ("feed_pressure_bar", "feed_pressure_bar", ""),
        ("feed_ph [-]", "feed_ph", "-"),
        ("stage2_feed_pressure [kPa]", "stage2_feed_pressure_bar", "kPa"),
    ],
)
def test_a_header_names_a_quantity_and_its_unit(text: str, column: str, unit: str) -> None:
    found = parse_header(text)
    assert (found.quantity.column, found.unit) == (column, unit)


@pytest.mark.parametrize("name", [*QUANTITIES, *COLUMNS])
def test_every_name_of_the_glossary_is_a_header(name: str) -> None:
    assert name in (parse_header(name).quantity.name, parse_header(name).quantity.column)


def test_a_near_name_is_suggested() -> None:
    with pytest.raises(UnknownQuantity, match="did you mean feed_pressure"):
        parse_header("feed_presure [bar]")


@pytest.mark.parametrize("text", ["colour", "", "[bar]", "feed_pressure [bar] [psi]", "feed_pressure_bar [psi]"])
def test_what_names_no_quantity(text: str) -> None:
    with pytest.raises(UnknownQuantity):
        parse_header(text)


@pytest.mark.parametrize("unit", ["gpm", "furlong", "degC"])
def test_a_unit_that_does_not_fit_names_those_that_do(unit: str) -> None:
    with pytest.raises(WrongUnit, match="one of bar, mbar, psi"):
        parse_header(f"feed_pressure [{unit}]")
