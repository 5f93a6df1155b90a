"""What temperature may explain: against the constructed cases of an unchanged membrane, and by hand."""

import numpy as np
import pandas as pd
import pytest

from analytics.judgement.season import against_last_year, allowance, recent_season, sensitivity
from analytics.judgement.trend import WINDOW_DAYS


def daily(values: np.ndarray, end: str = "2026-03-01") -> pd.Series:
    return pd.Series(values, pd.date_range(end=end, periods=len(values), name="day"))


@pytest.mark.parametrize(
    ("scope", "name", "colder_by_ten"),
    [("train", "permeate_flow", 1.046), ("stage1", "permeate_flow", 1.036), ("train", "salt_passage", 0.963)],
)
def test_ten_degrees_of_cold_on_an_unchanged_membrane(scope: str, name: str, colder_by_ten: float) -> None:
    """Computed element by element: 1.046 for the train, 1.024 and 1.047 for its stages (1.036 between them), 0.963."""
    moved = 1 - 10 * sensitivity(scope, name, viscosity_corrected=False)
    assert moved == pytest.approx(colder_by_ten, abs=0.001)


def test_pressure_drop_moves_with_the_root_of_viscosity_where_it_is_not_corrected() -> None:
    """IAPWS: 1.1376 mPa s at 15 and 0.8900 at 25 degC; the root of their ratio is 1.131."""
    moved = 1 - 10 * sensitivity("stage1", "pressure_drop", viscosity_corrected=False)
    assert moved == pytest.approx(np.sqrt(1.1376 / 0.8900), abs=0.025)
    assert sensitivity("stage1", "pressure_drop", viscosity_corrected=True) == 0.0


@pytest.mark.parametrize(
    ("value", "drift", "expected"),
    [(1.12, 0.08, 0.08), (1.12, -0.08, 0.0), (1.03, 0.08, 0.03), (0.92, -0.05, -0.05), (0.92, 0.05, 0.0),
     (0.97, -0.05, -0.03), (1.0, 0.08, 0.0), (1.12, 0.0, 0.0)],
)  # fmt: skip
def test_allowance(value: float, drift: float, expected: float) -> None:
    assert allowance(value, drift) == pytest.approx(expected)


class TestRecentSeason:
    def test_a_warming_spring(self) -> None:
        """0.1 degC a day up to 18.0 today; the median of the last fortnight is 6.5 days back, 17.35."""
        season = recent_season(daily(18.0 - 0.1 * np.arange(120)[::-1]), reference_c=12.0)
        assert season.warming_per_day == pytest.approx(0.1)
        assert season.warmer == pytest.approx(17.35 - 12.0)

    def test_what_was_before_the_window_does_not_count(self) -> None:
        """Falling by 0.1 degC a day for two windows, then rising by as much for one: it warms."""
        fall, rise = 30.0 - 0.1 * np.arange(2 * WINDOW_DAYS), 0.1 * np.arange(1, WINDOW_DAYS + 1)
        season = recent_season(daily(np.r_[fall, fall[-1] + rise]), reference_c=12.0)
        assert season.warming_per_day == pytest.approx(0.1)

    def test_one_wrong_day_moves_nothing(self) -> None:
        values = np.full(120, 15.0)
        values[-3] = 45.0
        season = recent_season(daily(values), reference_c=15.0)
        assert (season.warmer, season.warming_per_day) == (0.0, 0.0)

    @pytest.mark.parametrize("values", [np.empty(0), np.full(30, np.nan)])
    def test_nothing_known(self, values: np.ndarray) -> None:
        season = recent_season(daily(values), reference_c=15.0)
        assert (season.warmer, season.warming_per_day) == (0.0, 0.0)

    def test_a_single_day(self) -> None:
        assert recent_season(daily(np.array([17.0])), reference_c=15.0).warmer == 2.0


class TestLastYear:
    def test_the_same_weeks_a_year_before(self) -> None:
        values = np.ones(420)
        values[-30:] = 0.9
        values[-395:-365] = 1.2
        assert against_last_year(daily(values)) == pytest.approx(0.9 / 1.2)

    @pytest.mark.parametrize("count", [0, 1, 200, 370])
    def test_less_than_a_year_says_nothing(self, count: int) -> None:
        assert against_last_year(daily(np.ones(count))) is None

    def test_a_gap_a_year_ago_says_nothing(self) -> None:
        values = np.ones(420)
        values[-395:-365] = np.nan
        assert against_last_year(daily(values)) is None
