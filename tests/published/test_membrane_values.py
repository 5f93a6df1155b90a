"""Permeabilities, polarization, means, pressure drop of an element, and the units they are quoted in."""

import numpy as np
import pytest

from analytics.physics.hydraulics import (
    arithmetic_mean_concentration_factor,
    element_pressure_drop_bar,
    log_mean_concentration_factor,
    true_log_mean,
)
from analytics.physics.membrane import (
    flux_lmh,
    mean_element_recovery,
    net_driving_pressure_bar,
    polarization_factor,
    salt_permeability_lmh,
    water_permeability_lmh_bar,
)
from analytics.physics.water import osmotic_pressure_bar
from analytics.units import to_canonical

SQUARE_METRES_PER_SQUARE_FOOT = 0.09290304  # NIST SP 811, Appendix B.8, exact


def test_the_three_means() -> None:
    """Row 6 and its table, times the feed: computed. Recovery 15, 40, 50, 75 and 85 %."""
    recovery = np.array([0.15, 0.40, 0.50, 0.75, 0.85])
    end = 1.0 / (1.0 - recovery)
    integrated = [1.08346, 1.27706, 1.38629, 1.84839, 2.23191]
    np.testing.assert_allclose(log_mean_concentration_factor(recovery), integrated, atol=1e-5)
    np.testing.assert_allclose(true_log_mean(1.0, end), [1.08585, 1.30508, 1.44270, 2.16404, 2.98698], atol=1e-5)
    arithmetic = [1.08824, 1.33333, 1.5, 2.5, 3.83333]
    np.testing.assert_allclose(arithmetic_mean_concentration_factor(recovery), arithmetic, atol=1e-5)


@pytest.mark.parametrize(
    ("recovery", "elements", "each", "beta"),
    [
        # Row 32 and its neighbours: exp(0.7 Y) from memory of a maker's design equations, values computed.
        (0.75, 12, 0.1091, 1.0794),
        (0.75, 6, 0.2063, 1.1554),
        (0.45, 7, 0.0819, 1.0590),
        (0.15, 1, 0.1500, 1.1107),
    ],
)
def test_polarization(recovery: float, elements: int, each: float, beta: float) -> None:
    share = mean_element_recovery(recovery, elements)
    assert share == pytest.approx(each, abs=1e-4)
    assert polarization_factor(share) == pytest.approx(beta, abs=1e-4)


def test_the_usual_bound_of_polarization() -> None:
    """At most 1.2 is 26 % per element; 18 %, which is often quoted, is 1.134."""
    assert polarization_factor(0.26) == pytest.approx(1.2, abs=0.001)
    assert polarization_factor(0.18) == pytest.approx(1.134, abs=0.001)


@pytest.mark.parametrize(
    ("psi", "tds", "recovery", "gpd", "rejection", "flux", "water", "water_beta", "salt", "salt_beta"),
    [
        # Usual test conditions of new 8-inch elements of 400 ft2 (from memory, no maker's in particular), drop
        # neglected; A and B computed with the osmotic pressure of pyEQL 1.7.0. Rows 33 and 34 are the first and last.
        (225, 2000, 0.15, 10_500, 0.995, 44.57, 3.235, 3.280, 0.2066, 0.1859),
        (150, 2000, 0.15, 10_500, 0.995, 44.57, 5.178, 5.295, 0.2066, 0.1859),
        (100, 500, 0.15, 10_500, 0.990, 44.57, 6.906, 6.958, 0.415, 0.373),
        (800, 32_000, 0.08, 7_500, 0.9975, 31.83, 1.105, 1.168, 0.0765, 0.0724),
    ],
    ids=["brackish", "low energy", "extra low energy", "seawater"],
)
def test_permeabilities_of_new_elements(
    psi: float,
    tds: float,
    recovery: float,
    gpd: float,
    rejection: float,
    flux: float,
    water: float,
    water_beta: float,
    salt: float,
    salt_beta: float,
) -> None:
    measured = flux_lmh(to_canonical(gpd, "gpd", "m3/h"), 400 * SQUARE_METRES_PER_SQUARE_FOOT)
    assert measured == pytest.approx(flux, abs=0.01)
    permeate = tds * (1.0 - rejection)
    permeate_osmotic = osmotic_pressure_bar(permeate, 25.0, water="sodium-chloride")
    side = tds * log_mean_concentration_factor(recovery)
    for beta, expected_water, expected_salt in (
        (1.0, water, salt),
        (polarization_factor(recovery), water_beta, salt_beta),
    ):
        wall_osmotic = osmotic_pressure_bar(beta * side, 25.0, water="sodium-chloride")
        ndp = net_driving_pressure_bar(to_canonical(psi, "psi", "bar"), 0.0, 0.0, wall_osmotic, permeate_osmotic)
        assert water_permeability_lmh_bar(measured, ndp, 1.0) == pytest.approx(expected_water, rel=0.01)
        assert salt_permeability_lmh(measured, permeate, side, 1.0, beta) == pytest.approx(expected_salt, rel=0.01)


def test_units_in_which_permeability_is_quoted() -> None:
    """Row 35: 1 US gallon per square foot and day is 1.69774 L/m2/h; 1 L/m2/h/bar is 0.04061 gfd/psi."""
    gfd = flux_lmh(to_canonical(1.0, "gpd", "m3/h"), SQUARE_METRES_PER_SQUARE_FOOT)
    assert gfd == pytest.approx(1.69774, abs=1e-5)
    assert to_canonical(1.0, "psi", "bar") / gfd == pytest.approx(0.04061, abs=1e-5)


def test_pressure_drop_of_an_element() -> None:
    """Row 26 and its neighbours: 0.01 q^1.7 psi with q in gpm, from memory of a maker's design equations."""
    gpm = [20.0, 30.0, 40.0, 50.0, 60.0, 70.0]
    psi = [1.63, 3.24, 5.29, 7.73, 10.54, 13.70]
    drop = element_pressure_drop_bar(to_canonical(gpm, "gpm", "m3/h"))
    np.testing.assert_allclose(drop, to_canonical(psi, "psi", "bar"), atol=0.01 * to_canonical(1.0, "psi", "bar"))
