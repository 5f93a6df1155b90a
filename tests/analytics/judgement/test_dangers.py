"""Absolute limits: on both sides of each, and silence where nothing is known."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from analytics.judgement.dangers import Oxidants, find_dangers
from analytics.plant import Limits, Train
from tests.analytics.condition.steady_train import plant


def train(stages: tuple[tuple[int, int], ...] = ((4, 6), (2, 6)), **membrane: float) -> Train:
    return plant(stages=stages, membrane=membrane).train


@pytest.mark.parametrize(("drop", "found"), [(1.0, False), (1.1, True)])
def test_a_single_element_may_lose_one_bar(drop: float, found: bool) -> None:
    """Row 51: 1.1 bar on one element is above the 15 psi (1.0 bar) of a membrane maker's manual."""
    dangers = find_dangers({"stage1_pressure_drop_bar": drop}, train(stages=((1, 1),)))
    assert bool(dangers) == found
    assert all("1.10 bar an element; limit 1.00 bar" in one.reason for one in dangers)


@pytest.mark.parametrize(("drop", "found"), [(3.5, False), (3.6, True)])
def test_a_vessel_may_lose_three_and_a_half(drop: float, found: bool) -> None:
    """Row 51: 3.6 bar over a vessel of six, 0.6 bar an element, is above 50 psi (3.5 bar)."""
    dangers = find_dangers({"stage2_pressure_drop_bar": drop}, train())
    assert bool(dangers) == found
    assert all("stage 2 is 3.6 bar over a vessel; limit 3.5 bar" in one.reason for one in dangers)


def test_the_data_sheet_sets_the_limits() -> None:
    dangers = find_dangers({"stage1_pressure_drop_bar": 2.5}, train(max_dp_element_bar=0.4, max_dp_vessel_bar=5.0))
    assert ["0.42 bar an element; limit 0.40" in one.reason for one in dangers] == [True]


@pytest.mark.parametrize(("suction", "found"), [(1.4, False), (1.3, True), (-0.2, True)])
def test_suction(suction: float, found: bool) -> None:
    """Common practice, no source: the pump trips at 20 psi (1.4 bar)."""
    assert bool(find_dangers({"pump_suction_pressure_bar": suction}, train())) == found


@pytest.mark.parametrize(("chlorine", "found"), [(0.0, False), (0.1, False), (0.12, True)])
def test_free_chlorine_in_the_feed(chlorine: float, found: bool) -> None:
    dangers = find_dangers({"feed_free_chlorine_mg_l": chlorine}, train())
    assert bool(dangers) == found
    assert all("0.12 mg/L" in one.headline for one in dangers)


def test_the_limit_of_chlorine_is_a_setting_of_the_train() -> None:
    strict = replace(train(), limits=Limits(max_free_chlorine_mg_l=0.03))
    (found,) = find_dangers({"feed_free_chlorine_mg_l": 0.05}, strict)
    assert "limit 0.03 mg/L" in found.reason


def test_what_is_not_known_is_no_danger() -> None:
    blank = {"stage1_pressure_drop_bar": np.nan, "pump_suction_pressure_bar": np.nan, "feed_free_chlorine_mg_l": np.nan}
    assert find_dangers({}, train()) == find_dangers(blank, train()) == ()


def test_every_danger_is_named() -> None:
    latest = {"stage1_pressure_drop_bar": 4.0, "stage2_pressure_drop_bar": 4.0, "feed_free_chlorine_mg_l": 1.0}
    assert len(find_dangers(latest, train())) == 3


@pytest.mark.parametrize(("temperature", "found"), [(45.0, False), (45.4, True)])
def test_water_warmer_than_the_element_stands(temperature: float, found: bool) -> None:
    """45 °C, from memory: usual limit of polyamide elements; here the default of the element."""
    dangers = find_dangers({"feed_temperature_c": temperature}, train())
    assert bool(dangers) == found
    assert all("45.4 °C" in one.headline and one.level == "act now" for one in dangers)


@pytest.mark.parametrize(("seen", "found"), [(200.0, False), (212.0, True)])
def test_chlorine_that_the_elements_have_seen(seen: float, found: bool) -> None:
    """200 mg/L x h: the low end of a membrane maker's manual."""
    dangers = find_dangers({}, train(), Oxidants(exposure_ppm_h=seen, since=date(2026, 1, 5)))
    assert bool(dangers) == found
    assert all("5 January 2026: at least 212 ppm·h; limit 200" in one.reason for one in dangers)
    assert all(one.level == "watch" for one in dangers)


@pytest.mark.parametrize(("orp", "found"), [(230.0, False), (240.0, True)])
def test_orp_against_the_own_of_the_site(orp: float, found: bool) -> None:
    """50 mV above the ORP at no chlorine; common practice, no source."""
    dangers = find_dangers({}, train(), Oxidants(orp_mv=orp, orp_without_chlorine_mv=180.0))
    assert bool(dangers) == found
    assert all("60 mV above" in one.headline and "240 mV" in one.reason for one in dangers)
