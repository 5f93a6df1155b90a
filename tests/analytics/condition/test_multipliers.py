"""Which stages share a multiplier, what is left for the others, and a search whose answer is known."""

from collections.abc import Callable

import numpy as np
import pytest

from analytics.condition.multipliers import (
    LARGEST_STEP,
    Local,
    newton,
    newton_at_places,
    positive,
    share_out,
    what_is_left,
)

ONE, TWO = np.array([4.0, 5.0]), np.array([1.0, np.nan])


class TestSharing:
    def test_each_stage_with_a_meter_has_its_own(self) -> None:
        one, two = share_out("water", [ONE, TWO], None)
        assert (one.stages, one.counted, two.stages, one.shared, two.shared) == ((0,), (0,), (1,), False, False)
        assert one.measured is ONE

    def test_the_others_share_what_is_left(self) -> None:
        own, rest = share_out("friction", [None, ONE, None], TWO)
        assert own.stages == (1,)
        assert (rest.stages, rest.counted, rest.shared) == ((0, 2), (0, 2), True)
        assert rest.measured is TWO

    def test_without_any_meter_it_is_held(self) -> None:
        (held,) = share_out("salt", [None, None], None)
        assert held.measured is None
        assert held.shared

    def test_what_is_left(self) -> None:
        whole = np.array([6.0, 6.0])
        np.testing.assert_array_equal(what_is_left(whole, [ONE, None]), [2.0, 1.0])
        np.testing.assert_array_equal(what_is_left(whole, [ONE, TWO]), [1.0, np.nan])
        np.testing.assert_array_equal(what_is_left(whole, [2 * ONE]), [np.nan, np.nan])
        assert what_is_left(whole, [None]) is whole
        assert what_is_left(None, [ONE]) is None

    def test_only_what_is_above_zero_counts(self) -> None:
        np.testing.assert_array_equal(positive(np.array([1.0, 0.0, -1.0, np.nan])), [1.0, np.nan, np.nan, np.nan])
        assert positive(None) is None


TRUE = np.log(np.array([[1.2, 0.8, 1.0], [0.5, 2.0, 1.0]]))
"""Logarithms of two multipliers at three readings."""


def _misses(logarithms: np.ndarray) -> np.ndarray:
    """Two meters that both multipliers move, neither in proportion; zero at `TRUE`."""
    one, two = np.exp(logarithms)
    true_one, true_two = np.exp(np.tile(TRUE, logarithms.shape[1] // TRUE.shape[1]))
    first = np.log(one + 0.2 * two) - np.log(true_one + 0.2 * true_two)
    second = np.log(0.1 * one + two**1.3) - np.log(0.1 * true_one + true_two**1.3)
    return np.array([first, second])


def _of_rows(rows: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
    """The same for some of the readings."""

    def misses(logarithms: np.ndarray) -> np.ndarray:
        every = TRUE.copy()
        every[:, rows] = logarithms
        return _misses(every)[:, rows]

    return misses


class TestSearch:
    def test_finds_what_the_meters_were_made_of(self) -> None:
        found = newton_at_places(_misses, 2, 3, rounds=8)
        np.testing.assert_allclose(found.logarithms, TRUE, atol=1e-6)
        assert found.inverse.shape == (3, 2, 2)

    def test_all_readings_with_the_slopes_of_one_of_them(self) -> None:
        start = newton_at_places(_misses, 2, 3, rounds=8).at(np.array([2, 2, 2]))
        found = newton(_of_rows, start, rounds=12, near=1e-9)
        np.testing.assert_allclose(found.logarithms, TRUE, atol=1e-3)
        assert np.abs(found.misses).max() < 0.01

    def test_a_reading_without_an_answer_gets_the_middle_of_the_others(self) -> None:
        def broken(logarithms: np.ndarray) -> np.ndarray:
            misses = _misses(logarithms)
            misses[:, 1::3] = np.nan
            return misses

        found = newton_at_places(broken, 2, 3, rounds=8)
        np.testing.assert_allclose(found.logarithms[:, 1], np.median(TRUE[:, [0, 2]], axis=1), atol=1e-6)
        assert np.isfinite(found.inverse).all()

    def test_where_no_reading_has_any_nothing_is_said(self) -> None:
        found = newton_at_places(lambda logarithms: np.full_like(logarithms, np.nan), 2, 3, rounds=2)
        np.testing.assert_array_equal(found.logarithms, np.zeros((2, 3)))
        np.testing.assert_array_equal(found.inverse, np.tile(np.eye(2), (3, 1, 1)))

    def test_meters_that_cannot_tell_the_two_apart_move_nothing(self) -> None:
        """Both show the sum: no slopes, no answer, and no wild one."""

        def blind(logarithms: np.ndarray) -> np.ndarray:
            return np.tile(logarithms.sum(axis=0) - 3.0, (2, 1))

        found = newton_at_places(blind, 2, 3, rounds=4)
        assert np.isfinite(found.logarithms).all()

    def test_no_step_is_longer_than_allowed_and_a_missing_value_moves_nothing(self) -> None:
        def far(rows: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
            return lambda logarithms: np.array([logarithms[0] - 50.0, np.full(len(rows), np.nan)])

        found = newton(far, Local(np.zeros((2, 1)), np.eye(2)[None]), rounds=1, near=1e-9)
        assert found.logarithms[0, 0] == pytest.approx(LARGEST_STEP)
        assert found.logarithms[1, 0] == 0.0
        assert np.isnan(found.misses[1, 0])

    def test_a_reading_that_is_met_is_left_alone(self) -> None:
        asked: list[int] = []

        def counted(rows: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
            asked.append(len(rows))
            return _of_rows(rows)

        start = newton_at_places(_misses, 2, 3, rounds=8)
        moved = Local(start.logarithms + np.array([0.3, 0.0, 0.0]), start.inverse)
        np.testing.assert_allclose(newton(counted, moved, rounds=8, near=1e-4).logarithms, TRUE, atol=1e-4)
        assert asked[:2] == [3, 1]
