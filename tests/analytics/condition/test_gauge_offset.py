"""The offset of a pressure drop whose friction, flow and offset are known."""

import numpy as np
import pytest

from analytics.condition.gauge_offset import Offset, find_offset
from analytics.condition.parameter_days import GAUGE, course_name, parameter_name
from tests.analytics.condition.made_days import DAYS, NUMBERS, days_of, scatter

FRICTION, COURSE = parameter_name(0, "friction"), course_name(0, "friction", GAUGE)
FLOW = 1 + 0.15 * np.sin(NUMBERS / 7)
GROWTH = 0.4 * (2 ** (NUMBERS / 60) - 1) / (2 ** (DAYS / 60) - 1)
"""Logarithm of friction that grows ever faster."""


def _found(offset_bar: float, flow: np.ndarray = FLOW, deviation_bar: float = 0.2) -> Offset | None:
    clean = 0.6 * flow**1.7
    shown = clean * np.exp(GROWTH) + offset_bar
    found = np.log(shown / clean)
    days = days_of({FRICTION: found, COURSE: 1 / clean})
    return find_offset(days, 0, found, found + scatter(0.004), [], (), deviation_bar)


@pytest.mark.parametrize("offset_bar", [-0.2, 0.0, 0.15])
def test_flow_that_comes_and_goes_tells_the_offset(offset_bar: float) -> None:
    offset = _found(offset_bar)
    assert offset is not None
    assert offset.bar == pytest.approx(offset_bar, abs=2 * offset.error_bar)
    assert offset.error_bar < 0.08
    shown = 0.6 * FLOW**1.7 * np.exp(GROWTH) + offset_bar
    freed = np.log(shown / FLOW**1.7) - offset.bar * offset.course
    assert freed - freed[:14].mean() == pytest.approx(GROWTH - GROWTH[:14].mean(), abs=0.04)


def test_a_channel_that_clogs_ever_faster_is_no_offset() -> None:
    """At a steady flow nothing tells it: it stays unknown, and none is found."""
    offset = _found(0.0, flow=np.ones(DAYS))
    assert offset is not None
    assert abs(offset.bar) < 0.06
    assert offset.error_bar > 0.12


def test_gauges_without_an_error_have_no_offset() -> None:
    assert _found(0.15, deviation_bar=0.0) is None


def test_a_drop_that_is_not_known_has_none() -> None:
    days = days_of({FRICTION: GROWTH})
    assert find_offset(days, 0, GROWTH, GROWTH, [], (), 0.2) is None
