"""From the days of a log to the wear of each stage: what of the log reaches the trend."""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from analytics.decisions.cleaning_history import JudgedCleaning
from analytics.decisions.forecast import Contract, LifeForecast, forecast_life
from analytics.decisions.life import Exposure
from analytics.decisions.stage_wear import LogForLife
from analytics.decisions.wear import FLOW_GIVEN_BACK
from analytics.events import Event
from analytics.plant import Plant
from analytics.plant_file import plant_from_dict
from tests.analytics.decisions.test_cleaning_experience import cleaned

PLANT = plant_from_dict(
    {
        "site": {"name": "Somewhere", "timezone": "UTC"},
        "train": {"name": "RO 1", "stage": [{"vessels": 2, "elements_per_vessel": 6, "membrane": "m"}]},
        "membrane": {"m": {"area_m2": 37.0}},
    }
)
DAYS = pd.date_range("2024-01-01", periods=500, freq="D")


def event(day: int, kind: str, detail: str = "") -> Event:
    return Event(datetime.combine(DAYS[day].date(), datetime.min.time(), tzinfo=UTC), kind, 1, detail)


def forecast(
    flow: np.ndarray, events: Sequence[Event] = (), cleanings: Sequence[JudgedCleaning] = (), plant: Plant = PLANT
) -> LifeForecast:
    log = LogForLife(
        pd.DataFrame({"stage1_permeate_flow": flow}, index=DAYS), pd.DataFrame(index=DAYS), events, (), None, None,
        cleanings,
    )  # fmt: skip
    return forecast_life(plant, log, Contract(), rng=np.random.default_rng(1))


def test_cleanings_that_gave_back_little_leave_more_lost_today() -> None:
    """By hand: the run of 300 days fell from 0.95 to about 0.80; of ln(0.95/0.80) = 0.17 a fifth stays, or half."""
    flow = np.concatenate([np.linspace(1.0, 0.85, 200), np.linspace(0.95, 0.80, 300)])
    events = [event(200, "cleaning")]
    as_the_trade_has_it = forecast(flow, events)
    poor = forecast(flow, events, cleaned((0.85, 0.90), (0.85, 0.88), (0.85, 0.87), (0.84, 0.86)))
    (before,), (after,) = ([one.flow for one in found.wears] for found in (as_the_trade_has_it, poor))
    stays = math.log(0.95 / 0.805)
    assert before.loss == pytest.approx(-math.log(0.95) + (1 - FLOW_GIVEN_BACK.share) * stays, abs=0.02)
    assert after.loss > before.loss + 0.015 and after.rate > before.rate
    assert poor.lives[0].due.quantile(0.5) < as_the_trade_has_it.lives[0].due.quantile(0.5)


def test_part_of_the_elements_renewed_takes_its_part_of_the_loss() -> None:
    """By hand: twelve elements lose 7 % a year; three are renewed after 400 days: of 0.077 three quarters stay."""
    lost = 0.07 * np.arange(500) / 365.25
    lost[400:] -= 0.25 * lost[400]
    (kept,) = (one.flow for one in forecast(np.exp(-lost), [event(400, "element-replacement", "3 new of 12")]).wears)
    assert kept.loss == pytest.approx(lost[-1], abs=0.012) and kept.rate == pytest.approx(0.07, abs=0.012)
    assert kept.years > 1.2
    (fresh,) = (one.flow for one in forecast(np.exp(-lost), [event(400, "element-replacement")]).wears)
    assert fresh.years < 0.3


def test_the_age_of_a_stage_is_that_of_most_of_its_elements() -> None:
    some = forecast(np.ones(500), [event(300, "element-replacement", "3 new")])
    most = forecast(np.ones(500), [event(300, "element-replacement", "8 new")])
    assert some.groups[0].installed is None and most.groups[0].installed == DAYS[300].date()


def test_cleanings_from_before_the_log_do_not_count_for_its_pace() -> None:
    """One in 499 days, beside the usual one in a year; six more in the years before change nothing."""
    flow = np.ones(500)
    before = [Event(datetime(2023, month, 1, tzinfo=UTC), "cleaning", 1, "") for month in range(1, 7)]
    pace = (1 + 1) / (499 / 365.25 + 1)
    assert forecast(flow, [event(200, "cleaning")]).cleanings_per_year == pytest.approx(pace)
    assert forecast(flow, [*before, event(200, "cleaning")]).cleanings_per_year == pytest.approx(pace)


def test_a_cleaning_of_one_stage_counts_by_its_share_of_the_elements() -> None:
    """By hand: of 4:2 vessels the first stage is 24 of 36 elements. That stage twice, and once all: 2/3 + 2/3 + 1."""
    vessels = [{"vessels": count, "elements_per_vessel": 6, "membrane": "m"} for count in (4, 2)]
    plant = plant_from_dict(
        {
            "site": {"name": "Somewhere", "timezone": "UTC"},
            "train": {"name": "RO 1", "stage": vessels},
            "membrane": {"m": {"area_m2": 37.0}},
        }
    )
    events = [replace(event(day, "cleaning"), stage=stage) for day, stage in ((100, 1), (200, None), (300, 1))]
    pace = (7 / 3 + 1) / (499 / 365.25 + 1)
    assert forecast(np.ones(500), events, plant=plant).cleanings_per_year == pytest.approx(pace)


def exposure(chlorine: np.ndarray, events: Sequence[Event] = ()) -> Exposure | None:
    measured = pd.DataFrame({"feed_free_chlorine_mg_l": chlorine}, index=DAYS)
    log = LogForLife(pd.DataFrame({"stage1_permeate_flow": np.ones(500)}, index=DAYS), measured, events, (), None, None)
    return forecast_life(PLANT, log, Contract(), rng=np.random.default_rng(1)).limits.exposure


def test_chlorine_is_counted_as_before_the_membranes() -> None:
    """By hand: 0.05 mg/L for 500 days are 600 mg h/L; since new elements on day 400, 100 days are 120."""
    daily = np.full(500, 0.05)
    for events, spent in (((), 600.0), ((event(400, "element-replacement"),), 120.0)):
        found = exposure(daily, events)
        assert found is not None and found.spent == pytest.approx(spent)
        assert found.rate == pytest.approx(0.05 * 24 * 365.25)


def test_chlorine_measured_once_a_week_holds_for_the_week() -> None:
    """By hand: the same 600 mg h/L; with none in the last quarter the pace is that of the whole time."""
    weekly = np.where(np.arange(500) % 7 == 0, 0.05, np.nan)
    found = exposure(weekly)
    assert found is not None and found.spent == pytest.approx(600.0)
    ended = exposure(np.where(np.arange(500) < 300, weekly, np.nan))
    assert ended is not None and ended.rate == pytest.approx(0.05 * 24 * 365.25)
    assert exposure(np.full(500, np.nan)) is None


def test_a_log_of_which_no_day_can_be_used_has_a_life_of_the_trade_alone() -> None:
    """As where a dead meter sets every reading aside, beside a chlorine meter."""
    nothing = pd.DataFrame({"feed_free_chlorine_mg_l": []}, index=DAYS[:0], dtype=np.float64)
    log = LogForLife(nothing[[]], nothing, (), (), None, None)
    found = forecast_life(PLANT, log, Contract(), rng=np.random.default_rng(1))
    assert found.limits.exposure is None and found.history_years == 0
    assert len(found.lives) == len(PLANT.train.stages)
