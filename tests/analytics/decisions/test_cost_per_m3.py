"""Cost of water and power of pumps; expected values by hand."""

import pytest

from analytics.decisions.cost_per_m3 import cost_per_m3, motor_power_kw, pump_power_kw, yearly_volume_m3


def test_power_of_a_pump() -> None:
    """20 m3/h at 12 bar with 0.70 and 0.93: 240/36/0.651 = 10.24 kW; 15 m3/h of permeate: 0.683 kWh/m3."""
    power = pump_power_kw(20.0, 12.0, 0.70 * 0.93)
    assert power == pytest.approx(10.24, abs=0.005)
    assert power / 15.0 == pytest.approx(0.683, abs=0.005)


def test_power_that_a_motor_takes_and_what_of_it_reaches_the_water() -> None:
    """400 V, 20 A, 0.86: 1.732 x 400 x 20 x 0.86 = 11.92 kW; 20 m3/h lifted by 10 bar are 5.56 kW of it: 46.6 %."""
    power = motor_power_kw(400.0, 20.0, 0.86)
    assert power == pytest.approx(11.92, abs=0.01)
    assert pump_power_kw(20.0, 10.0, 1.0) / power == pytest.approx(0.466, abs=0.001)


def test_elements_per_m3_by_the_flat_method() -> None:
    """36 x 600 / 5 over 15 m3/h x 8760 h x 0.9 = 118 260 m3."""
    volume = yearly_volume_m3(15.0, 0.9)
    assert volume == 118260.0
    assert cost_per_m3({"elements": 4320.0}, volume).total == pytest.approx(0.0365, abs=0.00005)


def test_cleanings_per_m3() -> None:
    """900 every 120 days at 324 m3 a day."""
    assert cost_per_m3({"cleaning": 900.0 * 365 / 120}, 324.0 * 365).total == pytest.approx(0.0231, abs=0.0001)


def test_components_add_up_and_the_largest_comes_first() -> None:
    cost = cost_per_m3({"energy": 300.0, "elements": 500.0, "seals": 0.0}, 1000.0)
    assert [part.name for part in cost.components] == ["elements", "energy", "seals"]
    assert sum(part.per_m3 for part in cost.components) == pytest.approx(cost.total)
    assert sum(part.share for part in cost.components) == pytest.approx(1.0)
    assert cost_per_m3({"energy": 0.0}, 10.0).components[0].share == 0.0
