"""The spline on series whose level and disturbances are known."""

import numpy as np
import pytest
from scipy.linalg import cholesky_banded

from analytics.condition.smoother import Disturbance, smooth
from analytics.condition.smoother import _inverse_diagonal as inverse_diagonal

DAYS = np.arange(200, dtype=np.int64)
Z90 = 1.645


def noise(scatter: float, seed: int = 1, count: int = len(DAYS)) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, scatter, count)


class TestLevel:
    @pytest.mark.parametrize("slope", [0.0, -0.001, 0.003])
    @pytest.mark.parametrize("kept", [slice(None), slice(None, None, 3), slice(0, 5)])
    def test_a_line_is_its_own_level(self, slope: float, kept: slice) -> None:
        """Second differences of a line are zero, whatever the gaps between its days."""
        days = DAYS[kept]
        level = smooth(days, 1 + slope * days, ()).level
        np.testing.assert_allclose(level, 1 + slope * days, atol=1e-6)

    def test_a_line_across_uneven_gaps(self) -> None:
        days = np.array([0, 1, 2, 10, 11, 40, 41, 42, 90], dtype=np.int64)
        np.testing.assert_allclose(smooth(days, 1 - 0.002 * days, ()).level, 1 - 0.002 * days, atol=1e-6)

    def test_scatter_is_smoothed_away(self) -> None:
        truth = 1 - 0.0005 * DAYS
        level = smooth(DAYS, truth + noise(0.01), ()).level
        assert np.sqrt(np.mean((level - truth) ** 2)) < 0.003

    def test_a_slow_bend_is_followed(self) -> None:
        truth = 1 - 0.08 * (DAYS / 200) ** 3
        level = smooth(DAYS, truth + noise(0.005), ()).level
        assert np.abs(level - truth)[10:-10].max() < 0.006

    def test_one_wild_day_in_twenty_changes_little(self) -> None:
        values = 1 + noise(0.005)
        wild = values.copy()
        wild[::20] += 0.3
        assert np.abs(smooth(DAYS, wild, ()).level - smooth(DAYS, values, ()).level).max() < 0.01

    def test_the_interval_holds_the_truth(self) -> None:
        """At a nominal 90 %: of steady, falling and bending levels, over fifty logs each."""
        for truth in (np.ones(200), 1 - 0.001 * DAYS, 1 - 0.08 * (DAYS / 200) ** 2):
            held = []
            for seed in range(50):
                found = smooth(DAYS, truth + noise(0.008, seed), ())
                held.append(np.abs(found.level - truth) <= Z90 * found.error)
            assert np.mean(held) > 0.78

    def test_the_scatter_is_estimated(self) -> None:
        found = np.median([smooth(DAYS, 1 + noise(0.01, seed), ()).noise for seed in range(20)])
        assert found == pytest.approx(0.01, rel=0.1)


class TestBreaks:
    def test_a_level_may_jump_where_it_is_told_to(self) -> None:
        truth = np.where(DAYS < 100, 0.90, 1.00)
        found = smooth(DAYS, truth + noise(0.004), (), breaks=(100,)).level
        assert np.abs(found - truth).max() < 0.005

    def test_elsewhere_it_bends(self) -> None:
        truth = np.where(DAYS < 100, 0.90, 1.00)
        found = smooth(DAYS, truth + noise(0.004), ()).level
        assert np.abs(found - truth)[95:105].max() > 0.01

    @pytest.mark.parametrize("breaks", [(0,), (1,), (199,), (500,), (-3,), (100, 101), (100, 100)])
    def test_breaks_anywhere(self, breaks: tuple[int, ...]) -> None:
        level = smooth(DAYS, 1 + noise(0.004), (), breaks=breaks).level
        assert np.abs(level - 1).max() < 0.02


class TestDisturbances:
    def course(self) -> np.ndarray:
        return np.cos(2 * np.pi * DAYS / 200)

    def test_a_known_share_is_found_and_taken_off(self) -> None:
        values = 1 - 0.0003 * DAYS + 0.06 * self.course() + noise(0.004)
        found = smooth(DAYS, values, (Disturbance("season", self.course(), 0.1),))
        assert found.coefficients["season"] == pytest.approx(0.06, abs=3 * found.coefficient_errors["season"])
        assert found.coefficient_errors["season"] < 0.03
        np.testing.assert_allclose(found.corrected, values - found.coefficients["season"] * self.course())
        assert np.abs(found.level - (1 - 0.0003 * DAYS)).max() < 0.03

    def test_what_the_log_does_not_show_stays_as_it_was_held(self) -> None:
        """A course that never moved teaches nothing: coefficient zero, error that of the prior."""
        found = smooth(DAYS, 1 + noise(0.004), (Disturbance("still", np.zeros(200), 0.1),))
        assert found.coefficients["still"] == pytest.approx(0.0, abs=1e-9)
        assert found.coefficient_errors["still"] == pytest.approx(0.1)

    def test_a_narrow_prior_holds(self) -> None:
        values = 1 + 0.06 * self.course() + noise(0.004)
        found = smooth(DAYS, values, (Disturbance("season", self.course(), 1e-6),))
        assert abs(found.coefficients["season"]) < 1e-4

    def test_two_courses_are_told_apart(self) -> None:
        rng = np.random.default_rng(3)
        first, second = rng.normal(0, 1, 200), rng.normal(0, 1, 200)
        found = smooth(
            DAYS,
            1 + 0.02 * first - 0.03 * second + noise(0.003),
            (Disturbance("first", first, 0.1), Disturbance("second", second, 0.1)),
        )
        assert found.coefficients["first"] == pytest.approx(0.02, abs=0.002)
        assert found.coefficients["second"] == pytest.approx(-0.03, abs=0.002)


class TestBlanks:
    def test_a_day_without_a_value_has_no_level(self) -> None:
        values = 1 + noise(0.004)
        values[50:60] = np.nan
        found = smooth(DAYS, values, ())
        assert np.isnan(found.level[50:60]).all()
        assert np.isnan(found.corrected[50:60]).all()
        assert np.isfinite(np.delete(found.level, np.arange(50, 60))).all()

    def test_neither_has_one_without_its_disturbance(self) -> None:
        course = np.zeros(200)
        course[70] = np.nan
        assert np.isnan(smooth(DAYS, 1 + noise(0.004), (Disturbance("season", course, 0.1),)).level[70])

    @pytest.mark.parametrize("count", [1, 2, 3, 4])
    def test_a_handful_of_days(self, count: int) -> None:
        level = smooth(DAYS[:count], np.full(count, 0.97), ()).level
        np.testing.assert_allclose(level, 0.97, atol=1e-4)


@pytest.mark.parametrize("seed", range(5))
def test_the_diagonal_of_the_inverse_is_that_of_a_dense_inverse(seed: int) -> None:
    """Of a random positive definite matrix with two bands beside its diagonal."""
    rng = np.random.default_rng(seed)
    dense = np.zeros((30, 30))
    for offset in (1, 2):
        band = rng.normal(0, 1, 30 - offset)
        dense += np.diag(band, offset) + np.diag(band, -offset)
    dense += np.diag(np.abs(dense).sum(axis=1) + rng.uniform(0.1, 1.0, 30))
    bands = np.zeros((3, 30))
    for offset in range(3):
        bands[offset, : 30 - offset] = np.diag(dense, offset)
    found = inverse_diagonal(cholesky_banded(bands, lower=True))
    np.testing.assert_allclose(found, np.diag(np.linalg.inv(dense)), rtol=1e-9)
