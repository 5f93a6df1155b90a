"""The train that is asked for lives and ways has the membranes that lie in it now."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from analytics.assess import assess
from analytics.decisions.train_model import Duty, TrainModel
from analytics.events import Event
from analytics.judgement.new_elements import NewReference
from analytics.physics.train import StageSetup, feed_pressure_for_permeate
from analytics.physics.vessel import Elements, Water
from tests.analytics.condition.modelled_train import plant, readings
from tests.analytics.decisions.small_model import MODEL

DAY = 60
COLUMNS = ("stage1_permeate_flow", "stage2_permeate_flow", "stage2_salt_passage", "train_salt_passage")


def reference(column: str, factor: float) -> NewReference:
    days = (pd.Timestamp("2026-03-04"), pd.Timestamp("2026-03-17"))
    return NewReference(column, pd.Timestamp("2026-03-02"), factor, days)


def test_a_stage_without_days_of_its_own_follows_the_train() -> None:
    """By hand: flow over 0.8, then over 0.9: 0.72 in all; salt over 0.72 x 1.2; stage 1 takes the salt of the train."""
    references = [
        reference("stage2_permeate_flow", 0.8), reference("stage2_permeate_flow", 0.9),
        reference("stage2_salt_passage", 1.2), reference("train_salt_passage", 1.1),
    ]  # fmt: skip
    first, second = MODEL.renewed(references, COLUMNS).stages
    before = MODEL.stages[0]
    assert second.water_permeability_lmh_bar == pytest.approx(before.water_permeability_lmh_bar / 0.72)
    assert second.salt_permeability_lmh == pytest.approx(before.salt_permeability_lmh / (0.72 * 1.2))
    assert first.water_permeability_lmh_bar == before.water_permeability_lmh_bar
    assert first.salt_permeability_lmh == pytest.approx(before.salt_permeability_lmh / 1.1)
    assert second.friction_bar == before.friction_bar
    assert MODEL.renewed((), COLUMNS) == MODEL


def test_new_elements_that_differ_from_the_first_are_those_that_are_asked() -> None:
    """Stage 2 has lost 15 % when it is renewed by elements of 10 % more water and 20 % more salt permeability."""
    days = 120
    past = np.arange(days) >= DAY
    water = np.where(past, 1.10, np.linspace(1.0, 0.75, days))
    frame = readings(days, scatter=0.003, water=(1.0, water), salt=(1.0, np.where(past, 1.2, 1.0)))
    event = Event(datetime(2026, 3, 2, 0, 30, tzinfo=UTC), "element-replacement", 2, "")
    found = assess(plant(), frame, [event])
    assert found.model is not None and {one.column for one in found.references} >= {"stage2_permeate_flow"}
    before = TrainModel.of(found.model.train, plant())
    now = before.renewed(found.references, found.daily.columns)
    for stage, (of_water, of_salt) in enumerate(((1.0, 1.0), (1.10, 1.20))):
        then, after = before.stages[stage], now.stages[stage]
        assert after.water_permeability_lmh_bar / then.water_permeability_lmh_bar == pytest.approx(of_water, abs=0.03)
        assert after.salt_permeability_lmh / then.salt_permeability_lmh == pytest.approx(of_salt, abs=0.05)


def test_parts_of_a_vessel_in_series_are_the_vessel() -> None:
    """The pressure for 30 m3/h at 75 % is that of the undivided stages, found by the root finder of the model."""
    whole = Elements(37.2, 6, np.array([3.2]), np.array([0.19]), np.array([0.0075]), 1.65)
    stages = [StageSetup(n, whole, np.zeros(1)) for n in (4, 2)]
    wanted = (np.array([30.0]), np.array([0.75]), np.array([2000.0]))
    exact = feed_pressure_for_permeate(stages, *wanted, Water(np.full(1, 25.0)))[0]
    same = np.ones((6, 1))
    answer = MODEL.needs(Duty(30.0, 0.75, 25.0), same, same, same)
    assert answer.feed_pressure_bar[0] == pytest.approx(exact, rel=1e-4)
    assert [part.elements for part in MODEL.parts] == [8, 8, 8, 4, 4, 4]


def test_shares_of_stages_are_those_of_the_reference_run() -> None:
    flow, salt = MODEL.shares()
    assert flow.sum() == pytest.approx(1.0) and salt.sum() == pytest.approx(1.0)
    assert flow[0] > 2 / 3 > salt[0]  # stage 1 has two thirds of the area, and the fresher feed
