"""How the train is asked to run, and what a lying flow meter does to it."""

from datetime import date

import numpy as np
import pytest

from demo_data.simulator.meters import Drift, Meter
from demo_data.simulator.operation import Operation, SetPoint, Wanted, wanted

START = date(2026, 1, 1)
DAYS = np.arange(0.0, 300.0)


def want(operation: Operation, meters: dict[str, Meter] | None = None) -> Wanted:
    return wanted(operation, START, DAYS, meters or {}, np.random.default_rng(6))


def test_steady_set_points_give_steady_flows() -> None:
    flows = want(Operation(30.0, 0.75, flow_wander=0.0, recovery_wander=0.0))
    np.testing.assert_allclose(flows.permeate_flow_m3h, 30.0)
    np.testing.assert_allclose(flows.feed_flow_m3h, 40.0)
    np.testing.assert_allclose(flows.permeate_pressure_bar, 0.4)


def test_changes_hold_from_their_day_on() -> None:
    changes = (SetPoint(100.0, permeate_flow_m3h=24.0), SetPoint(200.0, recovery=0.8))
    flows = want(Operation(30.0, 0.75, changes=changes, flow_wander=0.0, recovery_wander=0.0))
    assert flows.permeate_flow_m3h[[99, 100, 200]] == pytest.approx([30.0, 24.0, 24.0])
    assert flows.feed_flow_m3h[[99, 100, 200]] == pytest.approx([40.0, 32.0, 30.0])


def test_wander_has_its_size() -> None:
    flows = want(Operation(30.0, 0.75, flow_wander=0.02, recovery_wander=0.0, memory_days=2.0))
    assert flows.permeate_flow_m3h.std() / 30.0 == pytest.approx(0.02, rel=0.25)


def test_operators_hold_what_the_meter_shows() -> None:
    meters = {
        "permeate_flow_m3h": Meter("m3/h", 0.1, drift=Drift(0.0, 200.0, -0.08)),
        "concentrate_flow_m3h": Meter("m3/h", 0.1, offset_share=0.05),
    }
    flows = want(Operation(30.0, 0.75, flow_wander=0.0, recovery_wander=0.0), meters)
    shown = flows.permeate_flow_m3h * meters["permeate_flow_m3h"].gain(DAYS)
    np.testing.assert_allclose(shown, 30.0)
    assert flows.permeate_flow_m3h[-1] == pytest.approx(30.0 / 0.92)
    concentrate = flows.feed_flow_m3h - flows.permeate_flow_m3h
    np.testing.assert_allclose(concentrate, 10.0 / 1.05)
