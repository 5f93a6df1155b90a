"""Units: exact factors, the ways people write them, and refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.errors import InvalidSettings
from analytics.quantities import SUFFIXES
from analytics.units import (
    DISPLAY_UNITS,
    UNITS,
    display_unit,
    from_canonical,
    kelvin,
    to_canonical,
    unit,
    units_of,
)


@pytest.mark.parametrize(
    ("value", "written", "canonical", "expected"),
    [
        # NIST Special Publication 811 (2008), Appendix B.8: psi 6.894757 kPa, atmosphere 101.325 kPa (exact),
        # kilogram-force per square centimetre 98.0665 kPa (exact), US gallon 3.785412 L, grain per gallon
        # 17.11806 mg/L, horsepower (550 foot pound-force per second) 745.6999 W.
        (1.0, "psi", "bar", 0.06894757),
        (100.0, "kPa", "bar", 1.0),
        (1.0, "MPa", "bar", 10.0),
        (1.0, "atm", "bar", 1.01325),
        (1.0, "kgf/cm2", "bar", 0.980665),
        (1000.0, "gal", "L", 3785.412),
        (1.0, "kgal", "m3", 3.785412),
        (1.0, "gpm", "m3/h", 0.2271247),
        (1.0, "gpd", "m3/h", 1.577255e-4),
        (1.0, "MGD", "m3/h", 157.7255),
        (24.0, "m3/d", "m3/h", 1.0),
        (10.0, "L/s", "m3/h", 36.0),
        (1000.0, "L/min", "m3/h", 60.0),
        (1.0, "grains/gal", "mg/L", 17.11806),
        (1.0, "hp", "kW", 0.7456999),
        (1.0, "mS/cm", "uS/cm", 1000.0),
        (1.0, "S/m", "uS/cm", 10_000.0),
        (32.0, "degF", "degC", 0.0),
        (212.0, "degF", "degC", 100.0),
        (298.15, "K", "degC", 25.0),
        (1.0, "MWh", "kWh", 1000.0),
    ],
)
def test_factors(value: float, written: str, canonical: str, expected: float) -> None:
    assert to_canonical(value, written, canonical) == pytest.approx(expected, rel=1e-7, abs=1e-12)


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("m³/h", "m3/h"),
        ("M3/H", "m3/h"),
        ("cmh", "m3/h"),
        ("PSIG", "psi"),
        ("bar(g)", "bar"),
        ("°F", "degF"),
        ("Celsius", "degC"),
        ("µS/cm", "uS/cm"),  # micro sign
        ("μS/cm", "uS/cm"),  # Greek mu
        ("mS/cm", "mS/cm"),
        ("MS/CM", "mS/cm"),
        (" gal/min ", "gpm"),
        ("ppm", "ppm"),
        ("", "-"),
        ("pH", "-"),
    ],
)
def test_the_ways_people_write_units(written: str, name: str) -> None:
    assert unit(written).name == name


@pytest.mark.parametrize("written", ["furlong", "mw/s", "m3", "psia?"])
def test_an_unknown_or_unfitting_unit_is_refused_by_name(written: str) -> None:
    with pytest.raises(InvalidSettings, match=f'"{written.rstrip("?")}'):
        to_canonical(1.0, written, "bar")


def test_a_unit_of_another_quantity_is_refused_with_those_that_fit() -> None:
    with pytest.raises(InvalidSettings, match=r'"gpm" does not fit here: expected one of bar, mbar, psi'):
        to_canonical(1.0, "gpm", "bar")


@given(name=st.sampled_from(sorted(UNITS)), value=st.floats(-1e6, 1e6))
def test_there_and_back_is_the_same(name: str, value: float) -> None:
    canonical = UNITS[name].canonical
    back = from_canonical(to_canonical(value, name, canonical), canonical, name)
    # Rounding of the offset of degF and K: relative to the largest number on the way.
    assert back == pytest.approx(value, rel=1e-12, abs=1e-9)


def test_every_canonical_unit_is_a_unit_of_itself_and_has_a_column_suffix() -> None:
    canonical = {u.canonical for u in UNITS.values()}
    assert canonical == set(SUFFIXES)
    for name in canonical:
        assert (UNITS[name].factor, UNITS[name].offset) == (1, 0)
        assert units_of(name)[0] == name


def test_arrays_keep_shape_and_nan() -> None:
    result = to_canonical([[32.0, np.nan], [77.0, 212.0]], "degF", "degC")
    np.testing.assert_allclose(result, [[0.0, np.nan], [25.0, 100.0]], atol=1e-12)


def test_kelvin() -> None:
    assert kelvin(25.0) == pytest.approx(298.15)


def test_display_units_measure_the_same_and_default_to_the_canonical_one() -> None:
    for system, shown in DISPLAY_UNITS.items():
        for canonical, name in shown.items():
            assert UNITS[name].canonical == canonical, system
    assert display_unit("bar", "US") == "psi"
    assert display_unit("uS/cm", "US") == "uS/cm"
    assert display_unit("bar", "SI") == "bar"
