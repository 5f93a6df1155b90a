"""Flows, means and pressure: limits, identities and refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.physics.hydraulics import (
    arithmetic_mean_concentration_factor,
    concentrate_concentration,
    element_pressure_drop_bar,
    log_mean_concentration_factor,
    recovery,
    true_log_mean,
)

recoveries = st.floats(0.0, 0.98)


@pytest.mark.parametrize(
    ("permeate", "feed", "expected"),
    [
        (0.0, 20.0, 0.0),
        (15.0, 20.0, 0.75),
        (20.0, 20.0, np.nan),  # nothing would be left as concentrate
        (21.0, 20.0, np.nan),
        (-1.0, 20.0, np.nan),
        (-15.0, -20.0, np.nan),
        (0.0, 0.0, np.nan),  # a stopped plant has no recovery; it is not zero
    ],
)
def test_recovery(permeate: float, feed: float, expected: float) -> None:
    np.testing.assert_equal(recovery(permeate, feed), expected)


def test_means_tend_to_the_feed_without_recovery_and_have_none_beyond() -> None:
    for factor in (log_mean_concentration_factor, arithmetic_mean_concentration_factor):
        assert factor(0.0) == 1.0
        assert np.isnan(factor([-0.01, 1.0, 1.2])).all()


@given(share=st.floats(0.0, 1e-3))
def test_the_log_mean_keeps_its_digits_near_zero(share: float) -> None:
    # Series of -ln(1-Y)/Y to the fourth power.
    series = 1.0 + share / 2.0 + share**2 / 3.0 + share**3 / 4.0 + share**4 / 5.0
    assert log_mean_concentration_factor(share) == pytest.approx(series, rel=2e-12)


@given(share=recoveries)
def test_the_log_mean_is_the_mean_over_the_recovered_water(share: float) -> None:
    # Midpoint rule over the channel, where the water that is left carries all the salt: c = 1 / (1 - y).
    steps = 20_000
    taken = (np.arange(steps) + 0.5) / steps * share
    assert log_mean_concentration_factor(share) == pytest.approx(np.mean(1.0 / (1.0 - taken)), rel=1e-6)


@given(share=st.floats(0.01, 0.98))
def test_the_three_means_stand_in_order(share: float) -> None:
    end = 1.0 / (1.0 - share)
    integrated = log_mean_concentration_factor(share)
    assert 1.0 < integrated < true_log_mean(1.0, end) < arithmetic_mean_concentration_factor(share) < end


@given(first=st.floats(1.0, 1e5), ratio=st.floats(0.01, 100.0))
def test_the_true_log_mean_lies_between_geometric_and_arithmetic_mean(first: float, ratio: float) -> None:
    last = first * ratio
    mean = true_log_mean(first, last)
    assert math.sqrt(first * last) * (1 - 1e-9) <= mean <= (first + last) / 2.0 * (1 + 1e-9)
    assert mean == pytest.approx(true_log_mean(last, first), rel=1e-9)


def test_the_true_log_mean_of_equals_is_their_value() -> None:
    assert true_log_mean(2000.0, 2000.0) == 2000.0
    assert true_log_mean(2000.0, 2000.001) == pytest.approx(2000.0005, rel=1e-9)
    assert np.isnan(true_log_mean([0.0, 1.0, -1.0], [1.0, 0.0, -2.0])).all()


@given(feed=st.floats(10.0, 50_000.0), passage=st.floats(0.0, 1.0), share=st.floats(0.0, 0.95))
def test_no_salt_is_lost(feed: float, passage: float, share: float) -> None:
    concentrate = concentrate_concentration(feed, feed * passage, share)
    assert share * feed * passage + (1.0 - share) * concentrate == pytest.approx(feed, rel=1e-9)


def test_a_concentrate_that_cannot_be_has_no_value() -> None:
    # 0.75 of the water at twice the feed's concentration carries more salt out than came in.
    assert np.isnan(concentrate_concentration([1000.0, 1000.0, 1000.0], [2000.0, -1.0, 20.0], [0.75, 0.5, 1.0])).all()


def test_the_drop_of_an_element_rises_with_the_power_of_its_flow() -> None:
    assert element_pressure_drop_bar(0.0) == 0.0
    assert np.isnan(element_pressure_drop_bar(-1.0))
    assert element_pressure_drop_bar(20.0) / element_pressure_drop_bar(10.0) == pytest.approx(2**1.7)
