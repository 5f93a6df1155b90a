"""Driving pressure, permeabilities and polarization: limits, identities and refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.physics.membrane import (
    flux_lmh,
    mean_element_recovery,
    net_driving_pressure_bar,
    polarization_factor,
    salt_passage,
    salt_permeability_lmh,
    water_permeability_lmh_bar,
)


def test_driving_pressure_counts_half_the_drop_and_may_be_negative() -> None:
    # By hand: 12.0 - 0.9 - 0.5 - 3.8 + 0.1.
    assert net_driving_pressure_bar(12.0, 1.8, 0.5, 3.8, 0.1) == pytest.approx(6.9)
    assert net_driving_pressure_bar(2.0, 0.0, 0.0, 3.8, 0.0) == pytest.approx(-1.8)


def test_no_flow_is_no_flux_but_no_area_is_no_answer() -> None:
    assert flux_lmh(0.0, 600.0) == 0.0
    assert np.isnan(flux_lmh([-1.0, 1.0, 1.0], [600.0, 0.0, -600.0])).all()


def test_pure_permeate_is_no_passage_but_pure_feed_is_no_answer() -> None:
    assert salt_passage(0.0, 3000.0) == 0.0
    assert np.isnan(salt_passage([-1.0, 1.0, -60.0], [3000.0, 0.0, -3000.0])).all()


@given(
    water=st.floats(0.5, 10.0),
    salt=st.floats(0.01, 2.0),
    pressure=st.floats(0.5, 60.0),
    factor=st.floats(0.4, 1.8),
    feed_side=st.floats(100.0, 60_000.0),
    beta=st.floats(1.0, 1.3),
)
def test_a_membrane_of_known_permeabilities_is_found_again(
    water: float, salt: float, pressure: float, factor: float, feed_side: float, beta: float
) -> None:
    """The permeate of solution-diffusion: J = A f NDP, and J c_p = B f (beta c - c_p)."""
    flux = water * factor * pressure
    permeate = salt * factor * beta * feed_side / (flux + salt * factor)
    assert water_permeability_lmh_bar(flux, pressure, factor) == pytest.approx(water, rel=1e-12)
    assert salt_permeability_lmh(flux, permeate, feed_side, factor, beta) == pytest.approx(salt, rel=1e-9)


def test_permeabilities_need_a_pressure_and_a_difference() -> None:
    assert np.isnan(water_permeability_lmh_bar([25.0, 25.0, -1.0], [0.0, -2.0, 8.0], 1.0)).all()
    assert np.isnan(water_permeability_lmh_bar(25.0, 8.0, 0.0))
    assert np.isnan(
        salt_permeability_lmh([25.0, 25.0, -1.0], [4000.0, -1.0, 20.0], [3000.0, 4000.0, 4000.0], 1.0)
    ).all()


def test_polarization_starts_at_one_and_ends_with_the_feed() -> None:
    assert polarization_factor(0.0) == 1.0
    assert np.isnan(polarization_factor([-0.1, 1.0])).all()


@given(share=st.floats(0.0, 0.98), elements=st.integers(1, 30))
def test_elements_in_series_add_up_to_the_recovery_of_all(share: float, elements: int) -> None:
    each = mean_element_recovery(share, elements)
    assert 1.0 - (1.0 - each) ** elements == pytest.approx(share, abs=1e-12)


def test_one_element_has_the_recovery_of_all_and_less_than_one_none() -> None:
    assert mean_element_recovery(0.15, 1) == pytest.approx(0.15, rel=1e-12)
    assert np.isnan(mean_element_recovery([0.15, 1.0, -0.1], [0.5, 6.0, 6.0])).all()
