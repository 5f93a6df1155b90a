"""Water: limits, ranges, and shapes. Values from outside are checked in tests/published."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.errors import InvalidSettings
from analytics.physics.water import (
    conductivity_at_25,
    osmotic_pressure_bar,
    tds_from_conductivity,
    viscosity_mpa_s,
)

WATERS = ("natural-brackish", "sodium-chloride", "seawater")
TOP_MG_L = {"natural-brackish": 100_000.0, "sodium-chloride": 80_000.0, "seawater": 80_000.0}
every_water = pytest.mark.parametrize("water", WATERS)


@every_water
def test_pure_water_has_no_osmotic_pressure(water: str) -> None:
    assert osmotic_pressure_bar(0.0, 25.0, water=water) == 0.0


@every_water
def test_osmotic_pressure_answers_up_to_its_ends_and_not_beyond(water: str) -> None:
    top = TOP_MG_L[water]
    assert np.isfinite(osmotic_pressure_bar([0.0, top, 1000.0, 1000.0], [25.0, 25.0, 0.0, 50.0], water=water)).all()
    outside = osmotic_pressure_bar([-1.0, top + 1.0, 1000.0, 1000.0], [25.0, 25.0, -0.1, 50.1], water=water)
    assert np.isnan(outside).all()


@every_water
@given(temperature=st.floats(0.0, 50.0))
def test_osmotic_pressure_rises_with_salt(water: str, temperature: float) -> None:
    pressure = osmotic_pressure_bar(np.linspace(0.0, TOP_MG_L[water], 2001), temperature, water=water)
    # Where the two branches of the handbook form meet it steps down by less than 0.02 bar in the cold.
    assert (np.diff(pressure) > -0.02).all()
    assert (np.diff(pressure)[:390] > 0).all()


@every_water
@given(tds=st.floats(1.0, 80_000.0), temperature=st.floats(0.0, 49.0))
def test_osmotic_pressure_rises_with_temperature(water: str, tds: float, temperature: float) -> None:
    colder, warmer = osmotic_pressure_bar(tds, np.array([temperature, temperature + 1.0]), water=water)
    # Van 't Hoff: in proportion to absolute temperature, 0.30 to 0.37 % per degree, and up to as much
    # again from the activity of strong brine in the cold.
    assert 1.0005 < warmer / colder < 1.0065


@given(tds=st.floats(1.0, 10.0), temperature=st.floats(5.0, 35.0))
def test_sodium_chloride_approaches_the_ideal_law(tds: float, temperature: float) -> None:
    # Van 't Hoff for two ions: 2 c R T / M, R = 0.0831446 L bar/(mol K) (CODATA 2018), M = 58.443 g/mol.
    ideal = 2.0 * tds / 1000.0 / 58.443 * 0.0831446 * (temperature + 273.15)
    # Debye-Hueckel's osmotic coefficient is 0.995 to 0.99 at 1 to 10 mg/L; the fit starts at 100 mg/L.
    assert osmotic_pressure_bar(tds, temperature, water="sodium-chloride") == pytest.approx(ideal, rel=0.015)


def test_a_water_that_is_not_known_is_refused() -> None:
    with pytest.raises(InvalidSettings, match='"brackish" is not one of natural-brackish, sodium-chloride, seawater'):
        osmotic_pressure_bar(1000.0, 25.0, water="brackish")
    with pytest.raises(InvalidSettings, match='"tap" is not one of'):
        tds_from_conductivity(1000.0, water="tap")


@every_water
def test_solids_rise_with_conductivity_by_a_factor_that_rises_too(water: str) -> None:
    conductivity = np.concatenate([[0.0], np.geomspace(0.1, 100_000.0, 20_000)])
    tds = tds_from_conductivity(conductivity, water=water)
    assert tds[0] == 0.0
    assert (np.diff(tds) > 0).all()
    factor = tds[1:] / conductivity[1:]
    assert (np.diff(factor) > -1e-12).all()
    # Smooth: from one value to the next, 0.07 % away, the factor never moves by more than 0.03 %.
    assert (np.diff(factor) / factor[1:]).max() < 3e-4
    assert factor.min() > 0.45
    assert factor.max() < 0.80


def test_solids_answer_up_to_their_end_and_not_beyond() -> None:
    assert np.isnan(tds_from_conductivity([-0.1, 100_000.1])).all()
    assert np.isnan(tds_from_conductivity(-0.1, factor=0.6))
    assert tds_from_conductivity(200_000.0, factor=0.6) == pytest.approx(120_000.0)


def test_a_given_factor_replaces_the_one_of_the_water() -> None:
    np.testing.assert_allclose(tds_from_conductivity([0.0, 1000.0], water="seawater", factor=0.64), [0.0, 640.0])


def test_viscosity_falls_with_temperature_and_ends_at_its_range() -> None:
    assert (np.diff(viscosity_mpa_s(np.linspace(0.0, 50.0, 501))) < 0).all()
    assert np.isnan(viscosity_mpa_s([-0.01, 50.01])).all()


@given(conductivity=st.floats(1.0, 1e5), temperature=st.floats(0.0, 35.0))
def test_conductivity_at_25_is_nearly_two_percent_per_degree(conductivity: float, temperature: float) -> None:
    result = conductivity_at_25(conductivity, temperature)
    # Linear compensation with 1.9 to 2.2 % per degree, as meters offer it, brackets the standard's factor.
    linear = sorted(conductivity / (1.0 + alpha * (temperature - 25.0)) for alpha in (0.019, 0.022))
    assert linear[0] * (1 - 1e-9) <= result <= linear[1] * (1 + 1e-9)


def test_conductivity_at_25_ends_at_its_table() -> None:
    assert np.isnan(conductivity_at_25([100.0, 100.0, -1.0], [-0.1, 35.1, 20.0])).all()
    assert conductivity_at_25(500.0, 25.0) == 500.0
