"""Vessels whose leak is known."""

import pytest

from analytics.errors import InvalidSettings
from analytics.judgement.vessels import judge_vessels, leak_fraction


def test_one_vessel_out_of_six() -> None:
    """58, 61, 59, 63, 60, 118: median 60.5, MAD 2.0, the sixth at 19.4, all others within 1 (worked by hand)."""
    found = judge_vessels(dict(enumerate([58.0, 61, 59, 63, 60, 118], start=1)))
    assert found is not None and found.median_us_cm == 60.5 and found.spread_us_cm == 2.0
    assert found.vessels[5].deviation == pytest.approx(19.4, abs=0.1) and found.vessels[5].stands_out
    assert all(abs(one.deviation) < 1 and not one.stands_out for one in found.vessels[:5])
    assert "Vessel 6 stands out" in found.said and "Probe" in found.next_check


def test_a_small_spread_alone_raises_no_alarm() -> None:
    found = judge_vessels({1: 60.0, 2: 60.1, 3: 60.0, 4: 62.0})
    assert found is not None and not any(one.stands_out for one in found.vessels)
    level = judge_vessels({1: 60.0, 2: 60.0, 3: 60.0, 4: 90.0})
    assert level is not None and level.vessels[3].stands_out


def test_two_vessels_say_nothing() -> None:
    assert judge_vessels({1: 60.0, 2: 120.0, 3: 0.0}) is None


def test_many_that_stand_out_share_something() -> None:
    found = judge_vessels({1: 60.0, 2: 61.0, 3: 62.0, 4: 120.0, 5: 125.0})
    assert found is not None and "share" in found.next_check


def test_the_share_of_a_leak() -> None:
    """60 to 75 mg/L with 3000 mg/L on the feed side: 0.51 % of the permeate (a balance of salt)."""
    assert 100 * leak_fraction(75.0, 60.0, 3000.0) == pytest.approx(0.51, abs=0.01)
    with pytest.raises(InvalidSettings):
        leak_fraction(75.0, 60.0, 50.0)
