"""What the standard method makes of the model's own train when conditions change and membranes do not."""

from dataclasses import replace

import numpy as np
import pytest

from analytics.assess import assess
from analytics.assessment import Assessment
from analytics.condition.standard_drift import STEPS, Drift, Waters, standard_drift
from tests.analytics.condition.modelled_train import plant, readings

DAYS = 40


@pytest.fixture(scope="module")
def steady() -> Assessment:
    return assess(plant(), readings(DAYS, scatter=5e-4))


@pytest.fixture(scope="module")
def reference(steady: Assessment) -> Waters:
    assert steady.log.reference is not None
    found = Waters.of(steady.log.balance, steady.log.reference.within)
    assert found is not None
    return found


def _drift(steady: Assessment, reference: Waters, today: Waters) -> Drift:
    assert steady.model is not None
    last = np.arange(DAYS) >= DAYS - 5
    return standard_drift(steady.model, steady.plant, reference, today, last, list(steady.log.readings.columns))


def test_the_conditions_are_medians(reference: Waters) -> None:
    assert (reference.temperature_c, reference.permeate_flow_m3h) == pytest.approx((25.0, 30.0), rel=1e-3)
    assert reference.recovery == pytest.approx(0.75, rel=1e-3)


def test_nothing_changed_nothing_drifts(steady: Assessment, reference: Waters) -> None:
    parts = _drift(steady, reference, reference).parts
    assert all(tuple(by_step) == STEPS for by_step in parts.values())
    assert np.abs([list(by_step.values()) for by_step in parts.values()]).max() < 0.004


def test_cold_water_lifts_the_standard_flow_and_its_pressure_drop(steady: Assessment, reference: Waters) -> None:
    """Ten degrees colder at the same flows: 1.02 to 1.05 of flow for a train of this kind (method page, "How far the
    standard method can be trusted"), and viscosity of 1.28 to the power 0.35 in the drop, which is 9 %."""
    parts = _drift(steady, reference, replace(reference, temperature_c=15.0)).parts
    assert 0.01 < parts["train_permeate_flow"]["temperature"] < 0.06
    assert parts["stage1_pressure_drop"]["temperature"] == pytest.approx(1.28**0.35 - 1, abs=0.02)
    assert abs(parts["train_permeate_flow"]["flows"]) < 0.002


def test_another_recovery_is_a_change_of_flows(steady: Assessment, reference: Waters) -> None:
    """75 to 70 %: 1.035 of flow over the whole train (the same page)."""
    today = replace(reference, feed_flow_m3h=reference.permeate_flow_m3h / 0.70)
    parts = _drift(steady, reference, today).parts["train_permeate_flow"]
    assert 0.01 < parts["flows"] < 0.06
    assert parts["temperature"] == 0.0


def test_what_is_not_metered_has_no_conditions(steady: Assessment) -> None:
    balance = replace(steady.log.balance, feed_temperature_c=None)
    assert Waters.of(balance, np.ones(DAYS, dtype=bool)) is None
