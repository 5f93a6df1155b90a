"""Filters whose loading is known."""

import numpy as np
import pytest

from analytics.decisions.filters import (
    FLOW_EXPONENT,
    at_reference_flow,
    cartridge_lives_m3,
    cartridge_state,
    media_state,
)

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
    found = cartridge_state(DAYS, drop, flow)
    assert found is not None and found.days_left == pytest.approx(42, abs=2)
    assert "change them in about" in found.advice


def test_a_filter_past_its_limit_and_one_that_burst() -> None:
    flow = np.full(40, 20.0)
    full = cartridge_state(DAYS, 0.2 + 0.025 * DAYS, flow)
    assert full is not None and full.advice.endswith("change them now.")
    drop = 0.2 + 0.01 * DAYS
    drop[-1] = 0.1
    burst = cartridge_state(DAYS, drop, flow)
    assert burst is not None and burst.urgent and "bypass" in burst.advice
    media = media_state(DAYS, 0.2 + 0.025 * DAYS, flow)
    assert media is not None and "backwash it now" in media.advice


def sawtooth(*, clean: np.ndarray, every: int, rise: float = 0.1) -> np.ndarray:
    """A bed that loads by `rise` a day from `clean` and is backwashed every so many days. [bar]"""
    return clean + rise * (np.arange(len(clean)) % every)


def test_backwashes_are_no_burst_and_are_counted() -> None:
    """By hand: 0.3 bar clean, 0.1 a day, so 0.7 on the fourth day after a backwash and 3 days to 1.0."""
    found = media_state(DAYS, sawtooth(clean=np.full(40, 0.3), every=5), np.full(40, 20.0))
    assert found is not None and not found.urgent and found.days_left == pytest.approx(3.5, abs=0.6)
    assert found.advice.endswith("Backwashes in the last 39 days: 7.")


def test_a_bed_that_does_not_come_clean_is_told() -> None:
    """Clean at 0.3 bar first and at 0.7 at the end, as a bed does that clumps."""
    found = media_state(DAYS, sawtooth(clean=np.linspace(0.3, 0.7, 40), every=4, rise=0.3), np.full(40, 20.0))
    assert found is not None and found.urgent and "look at how it is backwashed" in found.advice


def test_a_bed_that_falls_below_its_clean_self_is_bypassed() -> None:
    clean = np.full(40, 0.4)
    clean[35:] = 0.1
    found = media_state(DAYS, sawtooth(clean=clean, every=5), np.full(40, 20.0))
    assert found is not None and found.urgent and "bypass" in found.advice


def test_gauges_that_scatter_make_no_backwashes() -> None:
    noise = np.random.default_rng(5).normal(0.0, 0.04, 40)
    found = media_state(DAYS, 0.4 + noise, np.full(40, 20.0))
    assert found is not None and not found.urgent and "Backwashes" not in found.advice


def test_too_few_days_say_nothing() -> None:
    assert media_state(DAYS[:2], DAYS[:2], DAYS[:2] + 20) is None
    assert media_state(DAYS, np.full(40, np.nan), np.full(40, 20.0)) is None


def test_lives_in_cubic_metres() -> None:
    flow = np.full(40, 20.0)
    flow[3] = np.nan
    assert cartridge_lives_m3([0.0, 30.0, 35.0], DAYS, flow) == pytest.approx((14_400.0, 2_400.0))
