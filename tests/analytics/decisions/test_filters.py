"""Filters whose loading is known."""

import numpy as np
import pytest

from analytics.decisions.filters import FLOW_EXPONENT, at_reference_flow, cartridge_lives_m3, filter_state

DAYS = np.arange(40.0)


def test_flow_is_taken_out() -> None:
    flow = np.array([20.0, 15.0])
    drop = 0.3 * (flow / 20) ** FLOW_EXPONENT
    assert at_reference_flow(drop, flow, 20.0) == pytest.approx([0.3, 0.3])
    assert np.isnan(at_reference_flow(np.array([0.3]), np.array([0.0]), 20.0)[0])


def test_a_cartridge_that_loads_steadily_is_called_in_time() -> None:
    """0.2 bar, 0.01 bar a day: 0.59 on day 39, so 41 days are left to 1.0 bar, whatever the flow does."""
    flow = 20 + 3 * np.sin(DAYS / 5)
    reference = float(np.median(flow[:8]))
    drop = (0.2 + 0.01 * DAYS) * (flow / reference) ** FLOW_EXPONENT
    found = filter_state(DAYS, drop, flow, kind="cartridge")
    assert found is not None and found.days_left == pytest.approx(42, abs=2)
    assert "change them in about" in found.advice


def test_a_filter_past_its_limit_and_one_that_burst() -> None:
    flow = np.full(40, 20.0)
    full = filter_state(DAYS, 0.2 + 0.025 * DAYS, flow, kind="cartridge")
    assert full is not None and full.advice.endswith("change them now.")
    drop = 0.2 + 0.01 * DAYS
    drop[-1] = 0.1
    burst = filter_state(DAYS, drop, flow, kind="cartridge")
    assert burst is not None and burst.burst and "bypass" in burst.advice
    media = filter_state(DAYS, 0.2 + 0.025 * DAYS, flow, kind="media")
    assert media is not None and "backwash it now" in media.advice


def test_too_few_days_say_nothing() -> None:
    assert filter_state(DAYS[:2], DAYS[:2], DAYS[:2] + 20, kind="media") is None
    assert filter_state(DAYS, np.full(40, np.nan), np.full(40, 20.0), kind="media") is None


def test_lives_in_cubic_metres() -> None:
    flow = np.full(40, 20.0)
    flow[3] = np.nan
    assert cartridge_lives_m3([0.0, 30.0, 35.0], DAYS, flow) == pytest.approx((14_400.0, 2_400.0))
