"""Truth: ratios of what the membranes are now to what they were in the reference period."""

import numpy as np
import pandas as pd
import pytest

from demo_data.simulator.ageing import Change, Linear, Profile, ages
from demo_data.simulator.design import Design, Stage
from demo_data.simulator.train import Inlet, run_at_permeate_flow, run_at_pressure
from demo_data.simulator.truth import truth_frame

DESIGN = Design((Stage(4, 6), Stage(2, 6)))
DAYS = np.arange(0.0, 101.0)
INDEX = pd.date_range("2026-01-01", periods=101, freq="1D", tz="UTC", name="taken_at")
INLET = Inlet(np.full(101, 40.0), np.full(101, 1200.0), np.full(101, 18.0), np.full(101, 0.4))
REFERENCE = DAYS < 1


def truth(*changes: Change) -> pd.DataFrame:
    membranes = ages(DESIGN, changes, DAYS)
    run = run_at_permeate_flow(DESIGN, membranes, INLET, np.full(101, 30.0))
    return truth_frame(DESIGN, membranes, run, REFERENCE, INDEX)


def change(stage: int | None, profile: Profile = "even") -> Change:
    return Change(Linear(0.01), stage, water=-0.1, salt=0.2, friction=0.3, profile=profile)


def test_an_even_change_of_all_stages_is_the_change_of_the_train() -> None:
    last = truth(change(None)).iloc[-1]
    for scope in ("stage1", "stage2", "train"):
        assert last[f"{scope}_permeate_flow"] == pytest.approx(0.9)
        assert last[f"{scope}_salt_passage"] == pytest.approx(1.2)
        assert last[f"{scope}_pressure_drop"] == pytest.approx(1.3)
    assert last["stage1_water_permeability_lmh_bar"] == pytest.approx(0.9 * 3.6)
    assert last["stage2_friction"] == pytest.approx(1.3)


def test_reference_is_one() -> None:
    first = truth(change(1)).iloc[0]
    ratios = first[[name for name in first.index if name.endswith(("_flow", "_passage", "_drop"))]]
    np.testing.assert_allclose(ratios.to_numpy(), 1.0)


def test_a_stage_weighs_in_the_train_by_what_it_makes() -> None:
    of_first, of_second = truth(change(1)).iloc[-1], truth(change(2)).iloc[-1]
    lost = (1 - of_first["train_permeate_flow"], 1 - of_second["train_permeate_flow"])
    assert sum(lost) == pytest.approx(0.1)
    assert lost[0] > 2 * lost[1]  # stage 1 has twice the area and more driving pressure


def test_the_ratio_is_what_the_train_does_at_unchanged_conditions() -> None:
    """Run the aged train at the feed pressure and feed flow of the new one, and look at stage 1."""
    membranes = ages(DESIGN, [Change(Linear(0.01), 1, water=-0.1, profile="lead")], DAYS)
    run = run_at_permeate_flow(DESIGN, membranes, INLET, np.full(101, 30.0))
    found = truth_frame(DESIGN, membranes, run, REFERENCE, INDEX)["stage1_permeate_flow"].iloc[-1]
    held = run_at_pressure(DESIGN, membranes, INLET, np.full(101, run.feed_pressure_bar[0])).stages[0]
    # Not the same to the digit: less recovery raises the channel flow with its friction and lowers osmotic pressure.
    assert held.permeate_flow_m3h[-1] / held.permeate_flow_m3h[0] == pytest.approx(found, abs=0.015)
