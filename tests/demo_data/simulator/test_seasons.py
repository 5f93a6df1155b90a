"""Seasons and weather."""

from datetime import date

import numpy as np
import pytest

from demo_data.simulator.seasons import Season, weather


def test_a_season_is_lowest_on_its_day_and_highest_half_a_year_later() -> None:
    season = Season(15.0, swing=8.0, lowest_day_of_year=36)
    days = np.arange(365.0)
    values = season.values(date(2026, 1, 1), days, np.random.default_rng(1))
    assert values.argmin() + 1 == 36
    assert values.min() == pytest.approx(7.0)
    assert values.max() == pytest.approx(23.0, abs=0.01)


def test_the_start_of_the_story_shifts_the_season() -> None:
    season = Season(15.0, swing=8.0, lowest_day_of_year=36)
    first = season.values(date(2025, 8, 1), np.array([184.0]), np.random.default_rng(1))  # 1 February
    second = season.values(date(2026, 2, 1), np.array([0.0]), np.random.default_rng(1))
    assert first == pytest.approx(second, abs=0.05)  # a year is 365.25 days long here


def test_weather_has_unit_spread_and_the_memory_it_was_given() -> None:
    days = np.arange(40_000.0)
    values = weather(days, 5.0, np.random.default_rng(2))
    assert values.std() == pytest.approx(1.0, abs=0.05)
    assert np.corrcoef(values[:-1], values[1:])[0, 1] == pytest.approx(np.exp(-1 / 5), abs=0.02)
