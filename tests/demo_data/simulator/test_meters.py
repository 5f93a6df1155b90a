"""Gauges: gain, rounding in their own unit, noise, and freezing."""

import numpy as np
import pytest

from demo_data.simulator.meters import Drift, Meter, decimals, round_to, shown
from demo_data.simulator.shifts import Span

DAYS = np.arange(200.0)


def show(meter: Meter, values: np.ndarray, *, noise: bool = True, canonical: str = "bar") -> np.ndarray:
    return shown(meter, canonical, values, DAYS, noise=noise, rng=np.random.default_rng(4))


def test_drift_is_a_straight_line_between_its_days() -> None:
    gain = Meter("m3/h", 0.1, drift=Drift(50.0, 150.0, -0.08)).gain(DAYS)
    assert gain[[0, 50, 100, 150, 199]] == pytest.approx([1.0, 1.0, 0.96, 0.92, 0.92])


def test_a_gauge_rounds_in_its_own_unit() -> None:
    psi = show(Meter("psi", 1.0, noise=0.5), np.full(200, 10.0))
    np.testing.assert_array_equal(psi, np.round(psi))
    assert psi.mean() == pytest.approx(145.04, abs=0.15)  # 10 bar / 0.0689476


def test_noise_has_the_size_that_was_asked_for() -> None:
    assert show(Meter("bar", 0.001, noise=0.05), np.full(200, 10.0)).std() == pytest.approx(0.05, rel=0.15)
    assert show(Meter("bar", 0.001, noise_share=0.02), np.full(200, 10.0)).std() == pytest.approx(0.2, rel=0.15)


def test_without_noise_only_the_gain_is_left() -> None:
    meter = Meter("kPa", 10.0, noise=5.0, offset_share=0.01, frozen=Span(0.0, 100.0))
    np.testing.assert_allclose(show(meter, np.linspace(5.0, 15.0, 200), noise=False), np.linspace(505, 1515, 200))


def test_a_frozen_gauge_shows_its_first_value_of_the_span() -> None:
    values = show(Meter("bar", 0.1, noise=0.3, frozen=Span(20.0, 40.0)), np.linspace(5.0, 15.0, 200))
    free = show(Meter("bar", 0.1, noise=0.3), np.linspace(5.0, 15.0, 200))
    assert set(values[20:40]) == {free[20]}
    np.testing.assert_array_equal(values[40:], free[40:])
    assert len(set(values[40:60])) > 1


def test_zero_stays_zero_and_nan_stays_nan() -> None:
    values = np.full(200, 0.01)
    values[0], values[1] = 0.0, np.nan
    result = show(Meter("bar", 0.1, noise=0.5), values)
    assert result[0] == 0.0
    assert np.isnan(result[1])
    assert np.nanmin(result) >= 0.0


@pytest.mark.parametrize(("step", "digits"), [(10.0, 0), (1.0, 0), (0.5, 1), (0.1, 1), (0.05, 2), (0.01, 2)])
def test_decimals_of_a_step(step: float, digits: int) -> None:
    assert decimals(step) == digits
    assert round_to(np.array([3 * step + 0.4 * step]), step) == pytest.approx(3 * step)
