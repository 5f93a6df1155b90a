"""The interval of a life that is said to hold 8 times in 10 holds 7 to 9 times in 10."""

import pytest

from tests.benchmarks.score_lives import coverage, quick, whole


def test_intervals_of_lives_hold_as_often_as_they_say() -> None:
    """120 plants; a true share of 0.80 would be counted between 0.70 and 0.89 in 99 of 100 such tests (binomial)."""
    assert 0.70 <= coverage(quick(120)) <= 0.90


@pytest.mark.slow
def test_intervals_hold_on_simulated_plants() -> None:
    assert 0.70 <= coverage(whole(40)) <= 0.90
