"""Which stage has changed, where only the permeate of the whole train is metered."""

import numpy as np
import pytest

from analytics.assess import assess
from analytics.assessment import Assessment
from analytics.condition.membrane_model import ModelDays
from tests.analytics.condition.modelled_train import TRAIN_ONLY, plant, readings

DAYS = 90
SCATTER = 5e-4
AGE = np.clip((np.arange(DAYS) - 14) / (DAYS - 14), 0.0, 1.0)


def _model(**more: object) -> ModelDays:
    frame = readings(DAYS, scatter=SCATTER, without=TRAIN_ONLY, **more)  # type: ignore[arg-type]
    found: Assessment = assess(plant(), frame)
    assert found.model is not None
    return found.model


@pytest.fixture(scope="module")
def fouled() -> ModelDays:
    """A fifth less water and half more friction, all of it in stage 1."""
    return _model(water=(1 - 0.2 * AGE, 1.0), friction=(1 + 0.5 * AGE, 1.0))


def test_fouling_is_placed_where_friction_rises(fouled: ModelDays) -> None:
    """An even change would read stage 2 as 5 to 8 % more resistant, which it is not."""
    last = fouled.level.iloc[-1]
    assert last["stage1_pressure_drop"] == pytest.approx(1.5, abs=0.03)
    assert last["stage2_pressure_drop"] == pytest.approx(1.0, abs=0.02)


def test_it_is_only_likelier_and_the_error_says_so(fouled: ModelDays) -> None:
    assert fouled.error["stage2_pressure_drop"].iloc[-1] > 3 * fouled.error["stage2_pressure_drop"].iloc[5]


def test_channels_that_clear_are_believed_last() -> None:
    """Stage 2 loses a fifth and gains 5 % of friction: an even change would read stage 1 as 4 % cleared."""
    last = _model(water=(1.0, 1 - 0.2 * AGE), friction=(1.0, 1 + 0.05 * AGE)).level.iloc[-1]
    assert last["stage1_pressure_drop"] == pytest.approx(1.0, abs=0.02)
    assert last["stage2_pressure_drop"] > 1.0


def test_an_even_change_stays_even() -> None:
    """No friction anywhere: nothing speaks for one stage."""
    last = _model(water=(1 - 0.1 * AGE, 1 - 0.1 * AGE)).level.iloc[-1]
    assert last["stage1_pressure_drop"] == pytest.approx(1.0, abs=0.012)
    assert last["stage2_pressure_drop"] == pytest.approx(1.0, abs=0.02)


def test_the_whole_train_is_untouched_by_how_it_is_shared_out(fouled: ModelDays) -> None:
    own = assess(
        plant(), readings(DAYS, scatter=SCATTER, water=(1 - 0.2 * AGE, 1.0), friction=(1 + 0.5 * AGE, 1.0))
    ).model
    assert own is not None
    for name in ("train_permeate_flow", "train_salt_passage"):
        assert fouled.level[name].iloc[-1] == pytest.approx(own.level[name].iloc[-1], abs=0.015)


def test_stages_with_meters_of_their_own_are_left_alone() -> None:
    """Stage 2 loses water without any friction: nothing is shared out, because it is metered."""
    found = assess(plant(), readings(DAYS, scatter=SCATTER, water=(1.0, 1 - 0.2 * AGE))).model
    assert found is not None
    assert found.parameters[1].water is not None
    assert np.exp(found.parameters[1].water.level[-1]) == pytest.approx(0.8, abs=0.01)
    assert found.level["stage1_permeate_flow"].iloc[-1] == pytest.approx(1.0, abs=0.01)
