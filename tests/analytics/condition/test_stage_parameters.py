"""Parameters by day with known levels and known disturbances: what is found, told, and how sure it is."""

import numpy as np
import pytest

from analytics.condition.closure_courses import OSMOTIC
from analytics.condition.parameter_days import TEMPERATURE, ParameterDays, course_name, parameter_name
from analytics.condition.stage_parameters import LEAST_DAYS, Parameter, Source, TrainParameters, train_parameters
from analytics.plant import Membrane
from tests.analytics.condition.made_days import DAYS, INVERSE, NUMBERS, days_of, fit, scatter

MEMBRANE = Membrane(area_m2=37.0)
FALL = -0.12 * np.clip(NUMBERS - 14, 0, None) / DAYS
SIZE = 0.004
WATER, HEAT = parameter_name(0, "water"), course_name(0, "water", TEMPERATURE)


def _found(
    days: ParameterDays, *, cuts: tuple[int, ...] = (), floors: dict[str, float] | None = None, stages: int = 1
) -> TrainParameters:
    fits = [fit(shared=stages > 1, scope=f"stage{number + 1}") for number in range(stages)]
    return train_parameters([Source(one, MEMBRANE, cuts, floors or {}) for one in fits], days, 18.0)


def _water(found: TrainParameters) -> Parameter:
    parameter = found.stages[0].water
    assert parameter is not None
    return parameter


def test_a_fall_and_a_season_are_told_apart() -> None:
    """300 K more than the data sheet has (3020 K below 25 degC), under a fall of 11 %."""
    season = 300.0 * INVERSE
    found = _found(days_of({WATER: 1.0 + FALL + season + scatter(SIZE), HEAT: INVERSE}))
    water = _water(found)
    assert water.level == pytest.approx(FALL - FALL[:14].mean(), abs=0.006)
    (told,) = found.learned
    assert (told.what, told.scope, told.unit) == ("water temperature slope", "stage1", "K")
    assert told.before == pytest.approx(3020, abs=1)
    assert told.after == pytest.approx(3320, abs=60)
    assert water.moved[TEMPERATURE] == pytest.approx(season - season[:14].mean(), abs=0.006)
    assert found.stages[0].salt is None


def test_the_error_holds_the_truth() -> None:
    """On 40 draws of the scatter, nine in ten of the last levels lie within 1.645 errors: 28 at the least."""
    inside = 0
    for seed in range(40):
        water = _water(_found(days_of({WATER: FALL + 100.0 * INVERSE + scatter(SIZE, seed), HEAT: INVERSE})))
        inside += abs(water.level[-1] - FALL[-1]) < 1.645 * water.error[-1]
    assert inside >= 28


def test_a_level_may_break_at_a_cleaning_and_nowhere_else() -> None:
    step = 0.08 * (NUMBERS >= 120)
    days = days_of({WATER: step + scatter(SIZE)})
    broken, bent = _water(_found(days, cuts=(120,))), _water(_found(days))
    assert broken.level[120] - broken.level[119] == pytest.approx(0.08, abs=0.006)
    assert bent.level[120] - bent.level[119] < 0.04


def test_quiet_gauges_are_not_surer_than_their_accuracy_allows() -> None:
    days = days_of({WATER: FALL + scatter(1e-4)})
    quiet, floored = _water(_found(days)), _water(_found(days, floors={"water": 0.01}))
    assert floored.noise == pytest.approx(0.01)
    assert 0.0025 < floored.error[100] < 0.01
    np.testing.assert_array_equal(floored.level, quiet.level)


def test_what_is_not_known_of_a_slope_does_not_grow_with_the_gauges() -> None:
    """Away from the reference the error is that of the slope, whatever the meters are."""
    drift = np.where(NUMBERS < 14, INVERSE[:14].mean(), INVERSE[:14].mean() + 4e-5 * (NUMBERS - 14) / DAYS)
    days = days_of({WATER: scatter(1e-4), HEAT: drift})
    quiet, floored = _water(_found(days)), _water(_found(days, floors={"water": 2e-4}))
    assert quiet.error[-1] == pytest.approx(floored.error[-1], rel=0.3)


def test_days_without_a_value_are_not_made_up() -> None:
    values = FALL + scatter(SIZE)
    values[50:60] = np.nan
    water = _water(_found(days_of({WATER: values})))
    assert np.isnan(water.level[50:60]).all()
    assert np.isnan(water.error[50:60]).all()
    assert np.isfinite(water.level[60:]).all()


def test_too_few_days_no_parameter() -> None:
    values = np.full(DAYS, np.nan)
    values[: LEAST_DAYS - 1] = 0.0
    assert _found(days_of({WATER: values})).stages[0].water is None


def test_no_reference_day_with_a_value_no_parameter() -> None:
    values = FALL + scatter(SIZE)
    values[:14] = np.nan
    assert _found(days_of({WATER: values})).stages[0].water is None


def test_stages_that_share_have_one_parameter_and_teach_once() -> None:
    osmotic = 0.5 + 0.2 * np.sin(NUMBERS / 9)
    columns = {WATER: FALL + 0.08 * osmotic + scatter(SIZE), course_name(0, "water", OSMOTIC): osmotic}
    both = _found(days_of(columns), stages=2)
    assert both.stages[0].water is both.stages[1].water
    assert both.beliefs.closures().osmotic == pytest.approx(np.exp(0.08), abs=0.03)
    alone = _found(days_of(columns))
    assert both.beliefs == alone.beliefs
    assert (
        both.moved[0]["water"]
        == both.moved[1]["water"]
        == pytest.approx(-osmotic[:14].mean() * both.beliefs.mean(OSMOTIC))
    )
