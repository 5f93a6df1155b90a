"""Ageing as pure functions of time: growth, cleanings, places, and the order in which signs appear."""

import numpy as np
import pytest

from demo_data.simulator.ageing import (
    LEAST_FACTOR,
    Change,
    Cleaning,
    Doubling,
    Linear,
    Settling,
    Spell,
    ages,
    biofouling,
    cleaned,
    compaction,
    oxidation,
    profile_weights,
    replaced,
    scaling,
    slow_fouling,
)
from demo_data.simulator.design import Design, Stage

DESIGN = Design((Stage(4, 6), Stage(2, 7)))
DAYS = np.arange(0.0, 400.0)


def test_linear_grows_between_its_days_only() -> None:
    severity = Change(Linear(0.01, begins=50.0, ends=150.0)).severity(DAYS)
    assert severity[50] == 0
    assert severity[100] == pytest.approx(0.5)
    assert severity[-1] == pytest.approx(1.0)


def test_doubling_doubles_while_it_is_small_and_levels_out() -> None:
    severity = Change(Doubling(20.0, seed=0.001, most=2.0)).severity(np.array([0.0, 20.0, 40.0, 4000.0]))
    assert severity[0] == 0
    assert severity[2] / severity[1] == pytest.approx(3.0, rel=0.01)  # (4 - 1) seeds over (2 - 1) seed
    assert severity[3] == pytest.approx(2.0 - 0.001)


def test_settling_and_spell_end_at_one() -> None:
    assert Change(Settling(10.0)).severity(np.array([0.0, 10.0, 500.0])) == pytest.approx([0.0, 1 - np.exp(-1), 1.0])
    assert Change(Spell(100.0, 120.0)).severity(np.array([99.0, 110.0, 121.0])) == pytest.approx([0.0, 0.5, 1.0])


@pytest.mark.parametrize("growth", [Linear(0.01), Doubling(40.0), Spell(50.0, 250.0)])
@pytest.mark.parametrize("share", [0.0, 0.45, 0.9, 1.0])
def test_a_cleaning_gives_back_its_share_and_growth_goes_on(growth: Linear | Doubling | Spell, share: float) -> None:
    change = Change(growth)
    before = float(change.severity(np.array([200.0]))[0])
    treated = cleaned(change, Cleaning(200.0, share))
    np.testing.assert_array_equal(treated.severity(DAYS[:200]), change.severity(DAYS[:200]))
    assert float(treated.severity(np.array([200.0]))[0]) == pytest.approx(before * (1 - share))
    assert np.all(np.diff(treated.severity(DAYS[200:250])) > 0)


def test_cleanings_are_taken_in_the_order_of_their_days() -> None:
    one, two = Cleaning(100.0, 0.5), Cleaning(200.0, 0.5)
    forward, backward = (cleaned(Change(Linear(0.01)), *pair) for pair in ((one, two), (two, one)))
    np.testing.assert_array_equal(forward.severity(DAYS), backward.severity(DAYS))
    assert float(forward.severity(np.array([200.0]))[0]) == pytest.approx((1.0 * 0.5 + 1.0) * 0.5)


@pytest.mark.parametrize("profile", ["even", "lead", "tail"])
@pytest.mark.parametrize("elements", [1, 6, 7])
def test_profiles_have_a_mean_of_one(profile: str, elements: int) -> None:
    weights = profile_weights(profile, elements)  # type: ignore[arg-type]
    assert weights.mean() == pytest.approx(1.0)
    if elements > 1:
        assert np.sign(weights[0] - weights[-1]) == {"even": 0, "lead": 1, "tail": -1}[profile]


def test_a_change_touches_only_its_stage() -> None:
    first, second = ages(DESIGN, [scaling(2, flow_loss=0.1, over_days=100.0)], DAYS)
    np.testing.assert_array_equal(first.water, 1.0)
    assert second.water.shape == (7, len(DAYS))
    assert second.water[:, 100].mean() == pytest.approx(0.9)


def test_changes_of_one_stage_multiply() -> None:
    both = [Change(Linear(0.01), 1, water=-0.1), Change(Linear(0.01), None, water=-0.2)]
    first, second = ages(DESIGN, both, np.array([100.0]))
    assert first.water[0, 0] == pytest.approx(0.9 * 0.8)
    assert second.water[0, 0] == pytest.approx(0.8)


def test_new_elements_start_again() -> None:
    changes = (slow_fouling(1, flow_loss_per_year=0.1), slow_fouling(2, flow_loss_per_year=0.1))
    first, second = ages(DESIGN, replaced(changes, stage=2, day=365.0), np.array([364.9, 365.0]))
    assert first.water[0] == pytest.approx([0.9, 0.9], abs=1e-4)
    assert second.water[0] == pytest.approx([0.9, 1.0], abs=1e-4)


def test_biofouling_shows_in_friction_first_and_in_the_lead() -> None:
    first = ages(DESIGN, [biofouling(1, doubling_days=30.0)], np.array([100.0]))[0]
    friction, water, salt = first.friction.mean() - 1, 1 - first.water.mean(), first.salt.mean() - 1
    assert friction > 3 * water > 3 * salt > 0
    assert first.friction[0, 0] > first.friction[-1, 0]


def test_biofouling_accelerates() -> None:
    friction = ages(DESIGN, [biofouling(1, doubling_days=30.0)], np.array([60.0, 90.0, 120.0]))[0].friction.mean(axis=0)
    assert friction[2] - friction[1] > 1.5 * (friction[1] - friction[0])


def test_scaling_shows_in_friction_last_and_in_the_tail() -> None:
    second = ages(DESIGN, [scaling(2, flow_loss=0.12, over_days=200.0)], np.array([100.0]))[1]
    friction, water, salt = second.friction.mean() - 1, 1 - second.water.mean(), second.salt.mean() - 1
    assert salt > water > 5 * friction > 0
    assert second.water[-1, 0] < second.water[0, 0]


def test_oxidation_never_touches_friction_and_compaction_ends() -> None:
    damage = ages(DESIGN, [oxidation(1, begins=10.0, ends=20.0, flow_gain=0.1, salt_gain=1.0)], DAYS)[0]
    np.testing.assert_array_equal(damage.friction, 1.0)
    assert damage.water[:, -1].mean() == pytest.approx(1.1)
    assert damage.salt[:, -1].mean() == pytest.approx(2.0)
    settled = ages(DESIGN, [compaction(0.03)], np.array([0.0, 28.0, 300.0]))[1].water[0]
    assert settled == pytest.approx([1.0, 0.97, 0.97], abs=0.002)


def test_no_story_turns_a_membrane_inside_out() -> None:
    first = ages(DESIGN, [Change(Linear(1.0), 1, water=-0.1, profile="lead")], DAYS)[0]
    assert first.water.min() == LEAST_FACTOR
