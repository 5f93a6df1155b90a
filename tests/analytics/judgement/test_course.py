"""The course of a change, from days made by hand with known scatter."""

import numpy as np
import pandas as pd
import pytest

from analytics.judgement.course import LEAST_DAYS, CourseOdds, _independent, course_factor, course_odds, course_of
from analytics.judgement.observed import Layout
from analytics.judgement.signatures import COURSES
from tests.analytics.judgement.judged_values import flow, salt

DAYS = np.arange(300.0)


def noisy(shape: np.ndarray, *, noise: float = 0.01) -> pd.Series:
    """Such a change of the logarithm by a tenth, with independent scatter."""
    scatter = np.random.default_rng(4).normal(0, noise, len(shape))
    return pd.Series(np.exp(-0.1 * shape + scatter), pd.date_range("2026-01-01", periods=len(shape)))


def odds(shape: np.ndarray, *, noise: float = 0.01) -> CourseOdds:
    found = course_odds(noisy(shape, noise=noise))
    assert found is not None
    return found


SHAPES = {
    "steady": np.clip(DAYS - 60, 0, None) / 240,
    "accelerating": np.expm1(np.log(2) * DAYS / 40) / np.expm1(np.log(2) * 300 / 40),
    "levelling off": 1 - np.exp(-DAYS / 30),
    "step": (DAYS >= 140).astype(float),
    "flat": np.zeros(300),
}


@pytest.mark.parametrize("course", SHAPES)
def test_the_course_is_named(course: str) -> None:
    assert odds(SHAPES[course]).likely == course


@pytest.mark.parametrize("course", SHAPES)
def test_odds_add_up_to_one(course: str) -> None:
    assert sum(odds(SHAPES[course]).odds.values()) == pytest.approx(1.0)


def test_a_spell_that_has_ended_levels_off() -> None:
    """Chlorine over forty days, then none."""
    assert odds(np.clip((DAYS - 120) / 40, 0, 1)).likely == "levelling off"


def test_a_change_within_the_scatter_is_not_told_from_none() -> None:
    assert odds(SHAPES["accelerating"], noise=0.2).likely == "flat"


def test_half_of_the_change_is_dated() -> None:
    """By hand: from day 60 to day 300 in a straight line, half is done on day 180; thinned to medians of three days."""
    assert odds(SHAPES["steady"]).half_after_days == pytest.approx(180, abs=8)
    assert odds(SHAPES["step"]).half_after_days == pytest.approx(140, abs=4)


def test_too_few_days_have_no_course() -> None:
    assert course_odds(noisy(SHAPES["steady"])[: LEAST_DAYS - 1]) is None


def test_days_out_of_line_are_left_out() -> None:
    days = noisy(SHAPES["steady"])
    days.iloc[100:110] = np.nan
    found = course_odds(days)
    assert found is not None
    assert found.likely == "steady"


class TestChoice:
    DAILY = pd.DataFrame(
        {"train_permeate_flow": noisy(SHAPES["steady"]), "train_salt_passage": noisy(SHAPES["step"])},
    )
    LAYOUT = Layout(stages=1, first_share=1.0)

    def test_the_indicator_that_moved_most_decides(self) -> None:
        found = course_of([flow(0.97), salt(1.4)], self.LAYOUT, self.DAILY)
        assert found is not None
        assert found.likely == "step"
        other = course_of([flow(0.80), salt(1.02)], self.LAYOUT, self.DAILY)
        assert other is not None
        assert other.likely == "steady"

    def test_what_has_not_moved_has_no_course(self) -> None:
        assert course_of([flow(0.999), salt(1.002)], self.LAYOUT, self.DAILY) is None
        assert course_of([flow(0.8)], self.LAYOUT, None) is None


def test_growth_begins_anew_after_a_cleaning() -> None:
    """It doubles for 180 days, is cleaned, and doubles again: neither a step nor a straight line."""
    grown = np.expm1(np.log(2) * (DAYS % 180) / 30) / np.expm1(np.log(2) * 6)
    days = noisy(2 * grown)
    daily = pd.DataFrame({"train_permeate_flow": days})
    layout = Layout(stages=1, first_share=1.0)
    cleaned = course_of([flow(0.9)], layout, daily, [days.index[180]])
    assert cleaned is not None
    assert cleaned.likely == "accelerating"
    whole = course_of([flow(0.9)], layout, daily)
    assert whole is not None
    assert whole.likely != "accelerating"


def test_half_is_dated_from_the_first_day_of_all() -> None:
    """The second run is the longer one: 100 days, then a step 100 days later."""
    days = noisy((DAYS >= 200).astype(float))
    layout = Layout(stages=1, first_share=1.0)
    found = course_of([flow(0.9)], layout, pd.DataFrame({"train_permeate_flow": days}), [days.index[100]])
    assert found is not None
    assert found.half_after_days == pytest.approx(200, abs=4)


def test_a_course_weighs_by_its_odds() -> None:
    """By hand: sure of one course, nine tenths of its weight and a tenth of the mean."""
    sure = CourseOdds({course: float(course == "step") for course in COURSES}, 10.0)
    weights = (0.0, 0.0, 0.0, 3.0, 2.0)
    assert course_factor(sure, weights) == pytest.approx(np.log(0.9 * 3 + 0.1 * 1))
    assert course_factor(None, weights) == 0.0


class TestWhatSettlesTheCourse:
    LAYOUT = Layout(stages=1, first_share=1.0)
    WORSE = pd.DataFrame({"train_salt_passage": 1 / noisy(2 * SHAPES["step"])})

    def of_salt(self, daily: pd.DataFrame, **more: object) -> CourseOdds:
        found = course_of([salt(1.22)], self.LAYOUT, daily, **more)  # type: ignore[arg-type]
        assert found is not None
        return found

    def test_damage_that_came_with_a_cleaning_is_a_step(self) -> None:
        """Salt passage rose on the day of the cleaning: nothing began anew then."""
        day = self.WORSE.index[140]
        assert self.of_salt(self.WORSE, cuts=[day]).likely == "step"

    def test_a_cut_where_all_got_better_stays_one(self) -> None:
        grown = noisy(-2 * (DAYS % 180) / 180)
        found = self.of_salt(pd.DataFrame({"train_salt_passage": grown}), cuts=[grown.index[180]])
        assert found.likely == "steady"

    @pytest.mark.parametrize(("share", "least"), [(0.0, 0.0), (0.3, 0.0), (0.7, 0.6), (1.0, 0.9)])
    def test_a_step_that_was_found_is_so_much_of_the_odds(self, share: float, least: float) -> None:
        """Such a share of the change in a day, the rest within forty days; a slope is no step though one was found."""
        shape = share * (DAYS >= 140) + (1 - share) * np.clip((DAYS - 140) / 40, 0, 1)
        daily = pd.DataFrame({"train_salt_passage": 1 / noisy(2 * shape)})
        found = self.of_salt(daily, steps=[daily.index[140]])
        assert found.odds["step"] >= least
        assert least > 0 or found == self.of_salt(daily)
        assert sum(found.odds.values()) == pytest.approx(1.0)

    def test_a_step_the_other_way_is_none_of_the_change(self) -> None:
        found = course_of([salt(0.82)], self.LAYOUT, self.WORSE, steps=[self.WORSE.index[140]])
        assert found == course_of([salt(0.82)], self.LAYOUT, self.WORSE)


def test_the_beginning_is_dated() -> None:
    """By hand: a twentieth of the way from day 60 to day 300 is done on day 72."""
    assert odds(SHAPES["steady"]).begun_after_days == pytest.approx(72, abs=8)
    assert odds(SHAPES["levelling off"]).begun_after_days < 10


def test_days_that_remember_the_day_before_count_for_fewer() -> None:
    """A lag-one correlation of 0.5 leaves n (1 - 0.5) / (1 + 0.5) of n days: 50 of 150, in the mean of 100 series."""
    rng, counts = np.random.default_rng(0), []
    for _ in range(100):
        left = np.zeros(150)
        for day in range(1, 150):
            left[day] = 0.5 * left[day - 1] + rng.normal()
        counts.append(_independent(left - left.mean()))
    assert np.mean(counts) == pytest.approx(50.0, abs=4.0)
