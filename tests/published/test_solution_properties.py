"""Osmotic pressure, dissolved solids, conductivity and viscosity against published and computed values."""

from pathlib import Path

import gsw
import numpy as np
import pandas as pd
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from analytics.physics.water import (
    conductivity_at_25,
    osmotic_pressure_bar,
    tds_from_conductivity,
    viscosity_mpa_s,
)

HERE = Path(__file__).parent


def table(name: str) -> pd.DataFrame:
    return pd.read_csv(HERE / name)


# --- published ------------------------------------------------------------------------------------------------------


def test_conductivity_factor_of_iso_7888() -> None:
    """Factor f25 as printed in a conductivity meter's manual (Chauvin Arnoux C.A 10141, page 35)."""
    temperature = [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0]
    factor = [1.918, 1.643, 1.428, 1.256, 1.116, 1.000, 0.903, 0.822]
    np.testing.assert_allclose(conductivity_at_25(1.0, temperature), factor, atol=1e-12)


def test_natural_waters_keep_to_the_published_bounds() -> None:
    """0.50 to 0.75, rising with salinity: Walton, Desalination (1989) 275-292."""
    conductivity = np.geomspace(1.0, 100_000.0, 1000)
    factor = tds_from_conductivity(conductivity) / conductivity
    assert (factor.min(), factor.max()) == (pytest.approx(0.50), pytest.approx(0.75))
    assert (np.diff(factor) >= -1e-15).all()


def test_seawater_of_practical_salinity_35() -> None:
    """53.07 mS/cm at 25 degC by PSS-78 (gsw 3.6.23), 35.986 g/L; the factor's fit claims 0.7 %."""
    assert tds_from_conductivity(53_071.0, water="seawater") == pytest.approx(35_986.0, rel=0.007)


# --- computed with reference libraries ------------------------------------------------------------------------------


def test_sodium_chloride_against_the_pitzer_equation() -> None:
    """PHREEQC, database pitzer.dat, through phreeqpython 1.6.2. The docstring claims 0.23 %."""
    values = table("sodium_chloride_osmotic.csv")
    result = osmotic_pressure_bar(values.nacl_mg_l, values.temperature_c, water="sodium-chloride")
    assert (result / values.osmotic_pressure_bar - 1).abs().max() < 0.0025


@pytest.mark.parametrize(
    ("tds", "at_15", "at_25", "at_35"),
    [
        # pyEQL 1.7.0 (Pitzer), bar. Rows 10 and 11 of our check values are 2000 and 32000 mg/L at 25 degC.
        (500.0, 0.398, 0.4115, 0.425),
        (1500.0, 1.175, 1.215, 1.254),
        (2000.0, 1.560, 1.612, 1.664),
        (5000.0, 3.843, 3.970, 4.097),
        (10000.0, 7.623, 7.872, 8.119),
        (32000.0, 24.53, 25.31, 26.09),
        (35000.0, 26.89, 27.75, 28.60),
        (70000.0, 55.76, 57.53, 59.27),
    ],
)
def test_sodium_chloride_against_a_second_program(tds: float, at_15: float, at_25: float, at_35: float) -> None:
    result = osmotic_pressure_bar(tds, [15.0, 25.0, 35.0], water="sodium-chloride")
    # At 70 g/L and away from 25 degC the two programs themselves differ by 1.2 %.
    np.testing.assert_allclose(result, [at_15, at_25, at_35], rtol=0.01 if tds < 50_000 else 0.013)


def test_sodium_chloride_against_measured_osmotic_coefficients() -> None:
    """Robinson and Stokes, Electrolyte Solutions, 1959 (coefficients from memory), 25 degC, 0.1 to 1.2 mol/kg.

    Pressure from the coefficient: 2 phi m R T rho, R = 8.31446 J/(mol K), water 997.05 kg/m3.
    """
    values = table("sodium_chloride_osmotic_coefficient.csv")
    expected = 2e-5 * values.osmotic_coefficient * values.molality * 8.31446 * 298.15 * 997.05
    result = osmotic_pressure_bar(values.nacl_mg_l, 25.0, water="sodium-chloride")
    assert (result / expected - 1).abs().max() < 0.004  # our fit 0.23 %, Pitzer against the measurements 0.15 %


def test_seawater_against_teos_10() -> None:
    """gsw 3.6, from the chemical potential of water. The docstring claims 0.40 %."""
    values = table("seawater_osmotic.csv")
    tds = values.salinity_g_kg * values.density_kg_m3
    result = osmotic_pressure_bar(tds, values.temperature_c, water="seawater")
    assert (result / values.osmotic_pressure_bar - 1).abs().max() < 0.0042


@settings(max_examples=40)
@given(salinity=st.floats(0.1, 70.0), temperature=st.floats(0.0, 50.0))
def test_seawater_against_teos_10_anywhere(salinity: float, temperature: float) -> None:
    """The pressure (dbar) at which sea water's chemical potential is that of pure water at atmospheric pressure."""
    pure = gsw.chem_potential_water_t_exact(0.0, temperature, 0.0)
    pressure = brentq(lambda p: gsw.chem_potential_water_t_exact(salinity, temperature, p) - pure, 0.0, 3000.0)
    tds = salinity * gsw.rho_t_exact(salinity, temperature, 0.0)
    result = osmotic_pressure_bar(tds, temperature, water="seawater")
    assert result == pytest.approx(pressure / 10.0, rel=0.0045)


def test_standard_seawater() -> None:
    """Row 12: S_P 35 (35.16504 g/kg, 35986 mg/L) at 25 degC, 25.92 bar by gsw 3.6.23; 35000 mg/L at 15/25/35 degC."""
    assert osmotic_pressure_bar(35_986.0, 25.0, water="seawater") == pytest.approx(25.92, rel=0.005)
    result = osmotic_pressure_bar(35_000.0, [15.0, 25.0, 35.0], water="seawater")
    np.testing.assert_allclose(result, [24.27, 25.19, 26.07], rtol=0.005)


def test_seawater_against_a_published_correlation() -> None:
    """Sharqawy, Lienhard and Zubair, Desal. Water Treat. 16 (2010) 354-380 (coefficients from memory): 25.89 bar.

    At 35 g/kg and 25 degC, where TEOS-10 gives 25.79 bar and a density of 1023.22 kg/m3.
    """
    assert osmotic_pressure_bar(35.0 * 1023.22, 25.0, water="seawater") == pytest.approx(25.89, rel=0.006)


def test_conductivity_of_sodium_chloride() -> None:
    """PHREEQC, pitzer.dat, 25 degC. The docstring claims 0.1 %."""
    values = table("sodium_chloride_conductivity.csv")
    result = tds_from_conductivity(values.conductivity_25_us_cm, water="sodium-chloride")
    assert (result / values.nacl_mg_l - 1).abs().max() < 0.001


@pytest.mark.parametrize(
    ("tds", "lowest", "highest"),
    [
        # Row 28: PHREEQC (phreeqc.dat) and pyEQL 1.7.0 agree within these.
        (500.0, 1011.0, 1015.0),
        (2000.0, 3841.0, 3865.0),
    ],
)
def test_conductivity_of_sodium_chloride_by_two_programs(tds: float, lowest: float, highest: float) -> None:
    result = tds_from_conductivity([lowest, highest], water="sodium-chloride")
    np.testing.assert_allclose(result, tds, rtol=0.01)


def test_conductivity_of_seawater() -> None:
    """PSS-78 by gsw; absolute salinity and density by TEOS-10. The docstring claims 0.7 % from 0.1 to 42."""
    practical = np.array([0.1, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 35.0, 42.0])
    absolute = practical * 35.16504 / 35.0
    tds = absolute * gsw.rho_t_exact(absolute, 25.0, 0.0)
    conductivity = gsw.C_from_SP(practical, 25.0, 0.0) * 1000.0
    np.testing.assert_allclose(tds_from_conductivity(conductivity, water="seawater"), tds, rtol=0.007)


def test_natural_brackish_water_and_the_same_concentrated() -> None:
    """A calcium-bicarbonate-sulfate water of 1217.5 mg/L and the same with a quarter of its water: PHREEQC 3."""
    np.testing.assert_allclose(tds_from_conductivity([1890.6, 6640.0]), [1217.5, 4870.0], rtol=1e-6)
    # Permeate of brackish water, factor 0.49 to 0.51, same program.
    permeate = tds_from_conductivity(np.array([5.0, 20.0, 100.0, 250.0]))
    np.testing.assert_allclose(permeate / [5.0, 20.0, 100.0, 250.0], 0.50, atol=0.0101)


def test_viscosity_against_iapws() -> None:
    """IAPWS 2008 formulation at atmospheric pressure. The docstring claims 0.1 %."""
    values = table("water_viscosity.csv")
    assert (viscosity_mpa_s(values.temperature_c) / values.viscosity_mpa_s - 1).abs().max() < 0.001


def test_viscosity_against_coolprop() -> None:
    temperature = np.linspace(0.5, 50.0, 100)
    expected = [1000.0 * PropsSI("V", "T", t + 273.15, "P", 101_325.0, "Water") for t in temperature]
    np.testing.assert_allclose(viscosity_mpa_s(temperature), expected, rtol=0.001)


# --- from memory ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tds", "temperature", "expected", "tolerance"),
    [
        # Rows 7 to 9: the handbook's two branches, formula from memory, values computed by hand from it.
        (2000.0, 25.0, 1.4053, 0.001),
        (35000.0, 25.0, 26.388, 0.005),
        (20000.0, 25.0, 14.053, 0.0005),
        (20000.0001, 25.0, 14.0548, 0.0005),
        (20000.0, 5.0, 13.240, 0.002),
        (20000.0001, 5.0, 13.240, 0.002),
    ],
)
def test_handbook_osmotic_pressure(tds: float, temperature: float, expected: float, tolerance: float) -> None:
    assert osmotic_pressure_bar(tds, temperature) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(
    ("tds", "error"),
    [(500.0, -0.15), (2000.0, -0.13), (10000.0, -0.11)],  # handbook against pyEQL, as computed for the method page
)
def test_the_handbook_form_is_low_for_pure_sodium_chloride(tds: float, error: float) -> None:
    handbook, salt = osmotic_pressure_bar(tds, 25.0), osmotic_pressure_bar(tds, 25.0, water="sodium-chloride")
    assert handbook / salt - 1 == pytest.approx(error, abs=0.01)


@pytest.mark.parametrize(
    ("tds", "kilopascal", "error"),
    [
        # Row 13 and its neighbours: the form 0.2654 C (T + 273.15) / (1000 - C/1000), from memory of ASTM D4516 and
        # D4194, and how far it is from the Pitzer equation.
        (500.0, 39.58, -0.038),
        (2000.0, 158.58, -0.016),
        (10000.0, 799.3, 0.015),
        (35000.0, 2870.0, 0.034),
    ],
)
def test_the_old_form_for_sodium_chloride_stands_as_far_off_as_known(
    tds: float, kilopascal: float, error: float
) -> None:
    salt = osmotic_pressure_bar(tds, 25.0, water="sodium-chloride")
    assert kilopascal / 100.0 / salt - 1 == pytest.approx(error, abs=0.004)
