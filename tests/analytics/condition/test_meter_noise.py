"""From what meters may be off by to the least scatter of the parameters."""

import pytest

from analytics.condition.meter_noise import meter_noise
from analytics.plant import Plant
from tests.analytics.condition.modelled_train import TRAIN_ONLY, plant, readings

EXACT = {
    "pressure_accuracy_bar": 0.0,
    "flow_accuracy": 0.0,
    "conductivity_accuracy": 0.0,
    "temperature_accuracy_c": 0.0,
}


def _with(**meters: float) -> Plant:
    return plant(meters=EXACT | meters)


def test_exact_meters_leave_nothing() -> None:
    assert max(meter_noise(readings(10), _with()).values()) == pytest.approx(0.0, abs=1e-6)


def test_a_flow_meter_counts_fully_for_water_and_by_its_power_for_friction() -> None:
    """All flows are off by themselves: a tenth of 2 % in the permeate moves permeability by about that, and friction
    by up to 1.65 times what the mean flow moves."""
    floors = meter_noise(readings(10), _with(flow_accuracy=0.02))
    assert 0.0015 < floors["stage1", "water"] < 0.004
    assert 0.002 < floors["stage1", "friction"] < 0.006


def test_pressure_gauges_count_most_for_the_smaller_drop() -> None:
    """A tenth of 0.2 bar at both ends of stage 1: root 2 x 0.02 over its drop."""
    frame = readings(10)
    floors = meter_noise(frame, _with(pressure_accuracy_bar=0.2))
    drop = float((frame["feed_pressure_bar"] - frame["stage1_concentrate_pressure_bar"]).iloc[0])
    assert floors["stage1", "friction"] == pytest.approx(2**0.5 * 0.02 / drop, rel=0.05)


def test_a_thermometer_moves_the_permeabilities_by_their_slopes() -> None:
    """A tenth of 0.5 degC at 3020 / 298^2 = 3.0 % a degree below 25 degC is 0.15 %, at 2640 above 0.15 % too."""
    floors = meter_noise(readings(10), _with(temperature_accuracy_c=0.5))
    assert floors["stage1", "water"] == pytest.approx(0.0015, rel=0.2)


def test_twice_the_accuracy_is_twice_the_scatter() -> None:
    one, two = (meter_noise(readings(10), _with(conductivity_accuracy=c))["stage1", "salt"] for c in (0.02, 0.04))
    assert two == pytest.approx(2 * one, rel=0.1)


def test_what_is_not_fitted_has_no_floor() -> None:
    floors = meter_noise(readings(10, without=("feed_tds", "permeate_tds", *TRAIN_ONLY)), plant())
    assert ("stage1", "salt") not in floors
    assert ("stage2", "friction") in floors
