"""What is held of the closures beforehand, what is learned, and which disturbances there are."""

import numpy as np
import pytest

from analytics.condition.closure_courses import FILM, FILM_EXPONENT, FRICTION_EXPONENT, OSMOTIC, PERMEATE_PRESSURE
from analytics.condition.disturbances import (
    ALIKE,
    LEAST_ERROR,
    MODESTY,
    MOST_SLOPE,
    OSMOTIC_PRIOR,
    USUAL_PERMEATE_PRESSURE_BAR,
    WATER_SLOPE_PRIOR_K,
    Beliefs,
    disturbances_of,
    makes_water,
)
from analytics.condition.metered_train import USUAL
from analytics.condition.parameter_days import TEMPERATURE, course_name, parameter_name
from analytics.condition.smoother import Smoothed
from tests.analytics.condition.made_days import DAYS, INVERSE, NUMBERS, days_of

NONE = np.zeros(DAYS)
WAVE = np.sin(NUMBERS / 9)


def _smoothed(**coefficients: tuple[float, float]) -> Smoothed:
    values = {name: value for name, (value, _) in coefficients.items()}
    errors = {name: error for name, (_, error) in coefficients.items()}
    return Smoothed(NONE, NONE, NONE, NONE, values, errors, 0.01)


class TestBeliefs:
    def test_beforehand_the_usual_closures_are_held(self) -> None:
        beliefs = Beliefs.beforehand()
        assert beliefs.closures() == USUAL
        assert beliefs.held[OSMOTIC].deviation == OSMOTIC_PRIOR
        assert beliefs.mean(TEMPERATURE) == 0.0

    def test_water_teaches_with_twice_its_error(self) -> None:
        after = Beliefs.beforehand().after("water", _smoothed(osmotic=(0.08, 0.02), film=(0.1, 0.5)))
        assert (after.mean(OSMOTIC), after.held[OSMOTIC].deviation) == (pytest.approx(0.08), MODESTY * 0.02)
        assert after.held[FILM].deviation == Beliefs.beforehand().held[FILM].deviation  # never less sure than before
        assert after.closures().osmotic == pytest.approx(np.exp(0.08))
        assert after.closures().film_exponent == USUAL.film_exponent

    def test_nothing_becomes_surer_than_closures_can_be(self) -> None:
        after = Beliefs.beforehand().after("water", _smoothed(osmotic=(0.08, 1e-4)))
        assert after.held[OSMOTIC].deviation == LEAST_ERROR

    def test_what_is_learned_adds_up(self) -> None:
        once = Beliefs.beforehand().after("water", _smoothed(osmotic=(0.08, 0.02)))
        assert once.after("water", _smoothed(osmotic=(-0.03, 0.02))).mean(OSMOTIC) == pytest.approx(0.05)

    def test_friction_teaches_none_of_them_and_salt_not_the_osmotic_pressure(self) -> None:
        found = _smoothed(osmotic=(0.08, 0.02), film=(0.1, 0.02))
        assert Beliefs.beforehand().after("friction", found) == Beliefs.beforehand()
        assert Beliefs.beforehand().after("salt", found).mean(OSMOTIC) == 0.0
        assert Beliefs.beforehand().after("salt", found).mean(FILM) == pytest.approx(0.1)


class TestStagesAlike:
    def test_two_clean_stages_of_one_membrane_tell_the_osmotic_pressure(self) -> None:
        """By the law the second looks 5 % less permeable, where each % of osmotic pressure would make it look 0.8 %
        more so than the first: 6 % less, were membranes surely alike; with 10 % between them, what a regression makes
        of it."""
        after = Beliefs.beforehand().alike(0.0, -0.05, {OSMOTIC: (0.2, 1.0)})
        lever = 0.8
        gain = OSMOTIC_PRIOR**2 * lever / (OSMOTIC_PRIOR**2 * lever**2 + ALIKE**2)
        assert after.mean(OSMOTIC) == pytest.approx(-gain * 0.05)
        assert after.held[OSMOTIC].deviation == pytest.approx(OSMOTIC_PRIOR * np.sqrt(1 - gain * lever))

    def test_a_permeate_pressure_that_is_not_metered_takes_its_share(self) -> None:
        """The later stage has less pressure left, and feels permeate pressure more: what it has beside the first is
        shared between that and the osmotic pressure."""
        before = Beliefs.beforehand(permeate_pressure_known=False)
        slopes = {OSMOTIC: (0.2, 1.0), PERMEATE_PRESSURE: (0.1, 0.2)}
        after = before.alike(0.0, 0.01, slopes)
        explained = sum((b - a) * after.mean(name) for name, (a, b) in slopes.items())
        assert after.mean(PERMEATE_PRESSURE) < before.mean(PERMEATE_PRESSURE) and after.mean(OSMOTIC) < 0
        assert 0.01 < explained < 0.1 * USUAL_PERMEATE_PRESSURE_BAR
        assert before.closures().permeate_pressure_bar == USUAL_PERMEATE_PRESSURE_BAR
        assert Beliefs.beforehand().closures().permeate_pressure_bar == 0.0

    @pytest.mark.parametrize("slopes", [(0.2, MOST_SLOPE + 0.1), (np.nan, 0.5)])
    def test_a_stage_that_hardly_makes_water_tells_nothing(self, slopes: tuple[float, float]) -> None:
        assert Beliefs.beforehand().alike(0.0, -0.05, {OSMOTIC: slopes}) == Beliefs.beforehand()

    def test_nor_does_one_that_was_not_found(self) -> None:
        assert Beliefs.beforehand().alike(np.nan, -0.05, {OSMOTIC: (0.2, 1.0)}) == Beliefs.beforehand()

    def test_a_stage_makes_water_while_its_osmotic_pressure_leaves_enough(self) -> None:
        name = course_name(0, "water", OSMOTIC)
        assert makes_water(0, days_of({name: np.full(DAYS, 0.4)}))
        assert not makes_water(0, days_of({name: np.full(DAYS, MOST_SLOPE + 0.1)}))
        assert makes_water(0, days_of({}))


class TestMovedAtTheReference:
    def test_by_slope_times_what_is_held(self) -> None:
        days = days_of({course_name(0, "water", OSMOTIC): np.full(DAYS, 0.4)})
        held = Beliefs.beforehand().after("water", _smoothed(osmotic=(0.08, 0.02)))
        assert held.moves("water", 0, days) == pytest.approx(-0.4 * 0.08)
        assert held.moves("salt", 0, days) == 0.0
        assert Beliefs.beforehand().moves("water", 0, days) == 0.0


class TestDisturbances:
    def test_those_whose_course_is_known_and_moves(self) -> None:
        columns = {
            course_name(0, "water", TEMPERATURE): INVERSE,
            course_name(0, "water", OSMOTIC): 0.4 + 0.05 * WAVE,
            course_name(0, "water", FILM): np.full(DAYS, 0.1),
            course_name(0, "water", FILM_EXPONENT): np.full(DAYS, np.nan),
            course_name(0, "salt", FRICTION_EXPONENT): WAVE,
        }
        found = disturbances_of("water", 0, days_of(columns), Beliefs.beforehand())
        assert {one.name: one.prior for one in found} == {TEMPERATURE: WATER_SLOPE_PRIOR_K, OSMOTIC: OSMOTIC_PRIOR}
        assert all(abs(one.course[:14].mean()) < 0.1 * np.abs(one.course).max() for one in found)

    def test_the_prior_is_what_the_parameter_before_has_left(self) -> None:
        columns = {course_name(0, "salt", OSMOTIC): 0.4 + 0.05 * WAVE, parameter_name(0, "salt"): NONE}
        held = Beliefs.beforehand().after("water", _smoothed(osmotic=(0.08, 0.02)))
        (one,) = disturbances_of("salt", 0, days_of(columns), held)
        assert one.prior == pytest.approx(0.04)
