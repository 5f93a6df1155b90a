"""Properties of the simulator's water against computed reference tables."""

import numpy as np
import pytest

from demo_data.simulator.water import NATURAL_BRACKISH, SODIUM_CHLORIDE, arrhenius, viscosity_ratio


@pytest.mark.parametrize(
    ("tds", "temperature", "bar"),
    [
        # Sodium chloride by the Pitzer equations, computed with pyEQL 1.7.0.
        (500.0, 25.0, 0.4115),
        (2000.0, 25.0, 1.612),
        (2000.0, 15.0, 1.560),
        (2000.0, 35.0, 1.664),
        (10_000.0, 25.0, 7.872),
        (32_000.0, 25.0, 25.31),
    ],
)
def test_osmotic_pressure_of_sodium_chloride(tds: float, temperature: float, bar: float) -> None:
    found = SODIUM_CHLORIDE.osmotic_pressure_bar(np.array(tds), np.array(temperature))
    assert found == pytest.approx(bar, rel=0.011)  # the constants were set by hand to 1 %


@pytest.mark.parametrize(
    ("tds", "us_cm"),
    # Sodium chloride, computed with PHREEQC (phreeqc.dat) through phreeqpython.
    [(100.0, 209.0), (500.0, 1011.0), (2000.0, 3841.0), (10_000.0, 17_421.0)],
)
def test_conductivity_of_sodium_chloride(tds: float, us_cm: float) -> None:
    assert SODIUM_CHLORIDE.conductivity_us_cm(np.array(tds)) == pytest.approx(us_cm, rel=0.05)  # one power law


def test_conductivity_and_tds_are_inverse() -> None:
    tds = np.array([5.0, 50.0, 1200.0, 15_000.0])
    there = NATURAL_BRACKISH.conductivity_us_cm(tds)
    np.testing.assert_allclose(NATURAL_BRACKISH.tds_mg_l(there), tds, rtol=1e-12)


def test_tds_per_conductivity_of_natural_water_lies_in_the_usual_span() -> None:
    # Walton, Desalination (1989) 275-292: 0.50 to 0.75, rising with salinity; permeate lies a little below.
    tds = np.array([20.0, 200.0, 2000.0, 10_000.0])
    factor = tds / NATURAL_BRACKISH.conductivity_us_cm(tds)
    assert np.all(np.diff(factor) > 0)
    assert 0.48 < factor[0] < factor[-1] < 0.75


@pytest.mark.parametrize(("temperature", "mpa_s"), [(5.0, 1.5182), (15.0, 1.1376), (25.0, 0.8900), (35.0, 0.7191)])
def test_viscosity_against_iapws(temperature: float, mpa_s: float) -> None:
    # IAPWS formulation, computed; 0.8900 mPa s at 25 degC.
    assert viscosity_ratio(np.array(temperature)) == pytest.approx(mpa_s / 0.8900, rel=0.015)


def test_arrhenius_is_one_at_25_and_follows_its_slope() -> None:
    assert arrhenius(3000.0, np.array(25.0)) == pytest.approx(1.0, abs=1e-15)
    assert arrhenius(2640.0, np.array(15.0)) == pytest.approx(0.7354, abs=1e-4)  # by hand, with 273.15
