"""A thermometer against the season: days made by hand, and simulated plants whose thermometer or whose year is off."""

import numpy as np
import pandas as pd
import pytest

from analytics.assess import assess
from analytics.judgement.thermometer import (
    Departure,
    Following,
    check_thermometer,
    departure_from_season,
    flow_with_temperature,
)
from demo_data.simulator.scenario import simulate
from tests.benchmarks.drawn import draw_plant

DAYS = 480
AGE = np.arange(DAYS)
WAVE = 18.0 + 5.0 * np.cos(2 * np.pi * (AGE - 40) / 365.25)


def series(values: np.ndarray) -> pd.Series:
    return pd.Series(values, pd.date_range("2024-05-01", periods=len(values), name="day"))


def weather(seed: int) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, 0.6, DAYS)


class TestDeparture:
    @pytest.mark.parametrize("off", [-3.0, 3.0])
    def test_three_degrees_after_the_first_year_stand_apart(self, off: float) -> None:
        found = departure_from_season(series(WAVE + weather(1) + off * (AGE > 400)))
        assert found is not None and found.stands_apart
        assert found.degrees == pytest.approx(off, abs=0.4) and found.low < off < found.high

    def test_a_season_that_comes_back_does_not(self) -> None:
        found = departure_from_season(series(WAVE + weather(2)))
        assert found is not None and not found.stands_apart and abs(found.degrees) < 0.5

    def test_water_that_keeps_its_temperature_has_a_course_too(self) -> None:
        found = departure_from_season(series(np.full(DAYS, 12.0)))
        assert found is not None and found.degrees == pytest.approx(0.0, abs=1e-9)

    def test_months_that_are_missing_leave_it_unknown(self) -> None:
        holed = series(WAVE)[(AGE < 60) | (AGE > 200)]
        assert departure_from_season(holed) is None
        assert "too few temperatures" in check_thermometer(holed, None).unknown

    def test_less_than_fourteen_months_leave_it_unknown(self) -> None:
        found = check_thermometer(series(WAVE)[:400], series(np.ones(400)))
        assert (found.departure, found.following) == (None, None)
        assert "14 months" in found.unknown and "there are 13" in found.unknown

    def test_no_thermometer(self) -> None:
        assert check_thermometer(None, None).unknown == "feed temperature is not measured"
        assert check_thermometer(series(np.full(DAYS, np.nan)), None).unknown == "feed temperature is not measured"

    def test_in_words(self) -> None:
        assert Departure(-2.4, -3.8, -1.0).words == (
            "feed temperature stands 2.4 °C (1.0 to 3.8 °C) below the course of its first year"
        )
        assert Departure(0.2, -0.9, 1.3).words == (
            "feed temperature keeps to the course of its first year (−0.9 to +1.3 °C)"
        )


class TestFollowing:
    """Half of the swing shown makes of a true factor of 3.4 % a degree as much again for each degree shown."""

    def test_a_thermometer_that_swings_too_little_leaves_a_season_in_normalized_flow(self) -> None:
        rng = np.random.default_rng(3)
        shown = 18.0 + 0.5 * (WAVE - 18.0)
        flow = np.exp(0.034 * (WAVE - shown) - 0.00005 * AGE + rng.normal(0, 0.01, DAYS))
        found = flow_with_temperature(series(shown), series(flow))
        assert found is not None and found.odd and "swings too little" in found.words
        assert found.low < 0.034 + 0.0046 < found.high

    def test_what_the_standard_method_leaves_is_not_odd(self) -> None:
        """0.46 % a degree of an unchanged train, by element-by-element computation (docs/method.md)."""
        found = flow_with_temperature(series(WAVE), series(np.exp(-0.0046 * (WAVE - 18) + 0.002 * np.sin(AGE))))
        assert found is not None and not found.odd and abs(found.per_degree) < 0.001

    def test_constant_water_says_nothing(self) -> None:
        assert flow_with_temperature(series(np.full(DAYS, 12.0)), series(np.ones(DAYS))) is None

    def test_in_words(self) -> None:
        assert Following(-0.02, -0.03, -0.012).words.startswith(
            "normalized permeate flow follows feed temperature by −2.0 % a degree Celsius (−3.0 % to −1.2 %), which"
        )


@pytest.mark.parametrize(("story", "accused"), [("thermometer", True), ("warm year", False)])
def test_a_thermometer_that_drifts_is_told_from_a_warm_year(story: str, accused: bool) -> None:
    """3 degC either way, after the first year; of each story two plants, for the sake of time."""
    for seed in (1, 2):
        plant = draw_plant(story, np.random.default_rng((4471, seed)), days=520)
        result = simulate(plant.scenario)
        answer = assess(result.plant, result.readings, result.events)
        named = [one for one in answer.meters if one.quantity == "feed_temperature"]
        assert bool(named) == accused
        assert answer.thermometer.departure is not None
        if accused:
            assert "course of its first year" in named[0].evidence and "°C" in named[0].reads
        else:
            assert answer.verdict.level in ("steady", "watch")
