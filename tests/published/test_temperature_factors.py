"""Temperature factors against published tables and formulas."""

import numpy as np
import pytest

from analytics.physics.temperature import water_temperature_factor
from analytics.physics.water import viscosity_mpa_s
from analytics.units import to_canonical


def exponential(temperature: list[float], slope_k: float) -> np.ndarray:
    return np.asarray(water_temperature_factor(temperature, correction="exponential", slope_k=slope_k))


def percent(temperature: list[float], percent_per_degc: float) -> np.ndarray:
    return np.asarray(water_temperature_factor(temperature, correction="percent", percent_per_degc=percent_per_degc))


# --- published ------------------------------------------------------------------------------------------------------


def test_a_printed_table_that_one_slope_reproduces() -> None:
    """Row 2: table of a point-of-use unit's manual (scribd.com/doc/81009342, and a second manual's page 13).

    The table is printed; that U = 2700 K lies behind it is our fit.
    """
    result = exponential([5.0, 15.0, 20.0, 30.0, 34.0], 2700.0)
    np.testing.assert_allclose(result, [0.521, 0.730, 0.857, 1.161, 1.304], atol=0.002)


def test_a_printed_table_that_a_percentage_reproduces() -> None:
    """Row 3: US Army TM 10-4610-309-14, WP 0083, table 3, in degF; that 2.8 % per degree lies behind it is our fit."""
    celsius = to_canonical([32, 50, 59, 68, 77, 86, 95, 104], "degF", "degC")
    result = percent(celsius, 2.8)
    np.testing.assert_allclose(result, [0.50, 0.66, 0.76, 0.87, 1.00, 1.15, 1.32, 1.51], atol=0.01)


def test_four_degrees_colder_is_about_a_tenth_of_the_flow() -> None:
    """B11 row 10: a maker's normalization chapter says about 10 % for 4 degC; -11.3 % and -12.9 % by the two slopes."""
    assert exponential([21.0], 2640.0)[0] - 1 == pytest.approx(-0.113, abs=0.003)
    assert exponential([21.0], 3020.0)[0] - 1 == pytest.approx(-0.129, abs=0.003)


# --- computed -------------------------------------------------------------------------------------------------------


def test_three_percent_per_degree() -> None:
    """Row 4: the rule named in ASTM D4516 and textbooks (from memory)."""
    result = percent([5.0, 10.0, 15.0, 20.0, 30.0, 35.0, 40.0], 3.0)
    expected = [0.5537, 0.6419, 0.7441, 0.8626, 1.1593, 1.3439, 1.5580]
    np.testing.assert_allclose(result, expected, atol=0.0005)


def test_other_percentages() -> None:
    """1.028 and 1.024 to the power T - 25, from our table of check values."""
    temperature = [5.0, 10.0, 15.0, 20.0, 30.0, 35.0, 40.0]
    np.testing.assert_allclose(
        percent(temperature, 2.8), [0.5756, 0.6609, 0.7587, 0.8710, 1.1481, 1.3180, 1.5132], atol=0.0001
    )
    np.testing.assert_allclose(
        percent(temperature, 2.4), [0.6223, 0.7006, 0.7889, 0.8882, 1.1259, 1.2677, 1.4272], atol=0.0001
    )


@pytest.mark.parametrize(
    ("slope_k", "expected"),
    [
        # 5, 10, 15, 20, 25, 30, 35, 40 degC, with 273.15 and 298.15. B11 rows 4 and 5 are 15, 20 and 35 degC.
        (2640.0, [0.5290, 0.6256, 0.7354, 0.8598, 1.0, 1.1572, 1.3329, 1.5283]),
        (2700.0, [0.5214, 0.6189, 0.7303, 0.8569, 1.0, 1.1611, 1.3416, 1.5431]),
        (3020.0, [0.4827, 0.5847, 0.7036, 0.8413, 1.0, 1.1818, 1.3892, 1.6245]),
    ],
)
def test_one_slope(slope_k: float, expected: list[float]) -> None:
    np.testing.assert_allclose(
        exponential([5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0], slope_k), expected, atol=6e-5
    )


def test_membranes_open_faster_than_water_thins() -> None:
    """Water's fluidity alone (IAPWS: 0.5862 at 5, 0.7824 at 15, 1.2376 at 35 degC) explains part of the factor."""
    fluidity = viscosity_mpa_s(25.0) / viscosity_mpa_s([5.0, 15.0, 35.0])
    np.testing.assert_allclose(fluidity, [0.5862, 0.7824, 1.2376], rtol=0.001)
    factor = water_temperature_factor([5.0, 15.0, 35.0], correction="two-slope")
    assert (np.abs(np.log(factor)) > np.abs(np.log(fluidity))).all()


# --- from memory ----------------------------------------------------------------------------------------------------


def test_two_slopes() -> None:
    """Row 1: a membrane maker's manual (FilmTec), formula from memory, with 273 and 298 as it prints them.

    Our 273.15 and 298.15 may differ by 0.07 %.
    """
    result = water_temperature_factor([5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0], correction="two-slope")
    np.testing.assert_allclose(result, [0.4824, 0.5844, 0.7034, 0.8412, 1.0, 1.1574, 1.3333, 1.5289], rtol=0.0008)
