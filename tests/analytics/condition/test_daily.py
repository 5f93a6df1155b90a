"""Days: local ones, across the clocks; medians by hand; and the days that stand out of line."""

import numpy as np
import pandas as pd
import pytest

from analytics.condition.daily import daily_medians, days_out_of_line, local_days


class TestLocalDays:
    @pytest.mark.parametrize(
        ("instant", "zone", "day"),
        [
            ("2026-03-28T22:59Z", "Europe/Vienna", "2026-03-28"),
            ("2026-03-28T23:00Z", "Europe/Vienna", "2026-03-29"),
            ("2026-03-29T21:59Z", "Europe/Vienna", "2026-03-29"),  # 23:59, clocks already forward
            ("2026-03-29T22:00Z", "Europe/Vienna", "2026-03-30"),
            ("2026-10-25T00:30Z", "Europe/Vienna", "2026-10-25"),  # 02:30 summer time
            ("2026-10-25T01:30Z", "Europe/Vienna", "2026-10-25"),  # 02:30 again, after the clocks went back
            ("2026-10-25T22:59Z", "Europe/Vienna", "2026-10-25"),
            ("2026-10-25T23:00Z", "Europe/Vienna", "2026-10-26"),
            ("2026-07-01T05:59Z", "America/Denver", "2026-06-30"),
            ("2026-07-01T06:00Z", "America/Denver", "2026-07-01"),
            ("2026-01-01T11:59Z", "Pacific/Auckland", "2026-01-02"),
        ],
    )
    def test_across_midnight_and_the_clocks(self, instant: str, zone: str, day: str) -> None:
        found = local_days(pd.DatetimeIndex([instant]), zone)
        assert found.tz is None
        assert found[0] == pd.Timestamp(day)

    def test_the_day_of_25_hours_is_one_day(self) -> None:
        hours = pd.date_range("2026-10-24T22:00Z", periods=25, freq="h")
        assert set(local_days(hours, "Europe/Vienna")) == {pd.Timestamp("2026-10-25")}
        assert len(local_days(hours[:0], "Europe/Vienna")) == 0


class TestMedians:
    DAYS = pd.DatetimeIndex(np.repeat(pd.DatetimeIndex(["2026-01-01", "2026-01-02", "2026-01-04"]), [4, 2, 1]))
    VALUES = np.array([1.0, 2.0, 4.0, 9.0, 0.9, 1.1, np.nan])

    def test_by_hand(self) -> None:
        """Day 1: median 3, away 2, 1, 1, 6, so a spread of 1.5; day 2: 1.0 and 0.1; the third has no value."""
        used = np.ones(7, dtype=bool)
        daily = daily_medians({"train_permeate_flow": self.VALUES}, self.DAYS, used)
        np.testing.assert_allclose(daily["train_permeate_flow"], [3.0, 1.0, np.nan])
        np.testing.assert_allclose(daily["train_permeate_flow_spread"], [1.5, 0.1, np.nan])
        assert daily["train_permeate_flow_count"].tolist() == [4, 2, 0]
        assert daily.index.name == "day"

    def test_readings_set_aside_do_not_count(self) -> None:
        used = np.array([True, True, False, False, False, False, True])
        daily = daily_medians({"a": self.VALUES}, self.DAYS, used)
        assert daily.index.tolist() == [pd.Timestamp("2026-01-01"), pd.Timestamp("2026-01-04")]
        assert daily["a"].iloc[0] == 1.5
        assert daily["a_count"].tolist() == [2, 0]

    def test_nothing_used(self) -> None:
        assert len(daily_medians({"a": self.VALUES}, self.DAYS, np.zeros(7, dtype=bool))) == 0


class TestOutOfLine:
    def series(self, count: int = 120, seed: int = 1) -> pd.Series:
        index = pd.date_range("2026-01-01", periods=count, name="day")
        return pd.Series(1 - 0.0005 * np.arange(count) + np.random.default_rng(seed).normal(0, 0.006, count), index)

    def out(self, series: pd.Series) -> list[int]:
        return np.flatnonzero(days_out_of_line(series)).tolist()

    @pytest.mark.parametrize("at", [0, 60, 119])
    @pytest.mark.parametrize("factor", [0.88, 1.12])
    def test_one_day_apart(self, at: int, factor: float) -> None:
        series = self.series()
        series.iloc[at] *= factor
        assert self.out(series) == [at]

    def test_several_wild_days_in_a_fortnight_accuse_no_other(self) -> None:
        """Four of fifteen days at twice the value move their mean by 27 % and their median hardly at all."""
        series = self.series()
        series.iloc[[54, 57, 60, 63]] *= 2.0
        assert self.out(series) == [54, 57, 60, 63]

    def test_a_small_difference_is_in_line(self) -> None:
        series = self.series()
        series.iloc[60] *= 1.05  # beyond five sigmas of 0.6 %, but below the least of 6 %
        assert self.out(series) == []

    def test_what_scatters_is_in_line(self) -> None:
        """At a scatter of 5 %, a day 12 % away is nothing special."""
        index = pd.date_range("2026-01-01", periods=200)
        assert self.out(pd.Series(np.random.default_rng(4).normal(1.0, 0.05, 200), index)) == []

    def test_a_lasting_step_is_in_line(self) -> None:
        """A cleaning gives 12 % back: no day before or after it is out of line."""
        series = self.series()
        series.iloc[60:] *= 1.12
        assert self.out(series) == []

    def test_slow_fouling_is_in_line(self) -> None:
        index = pd.date_range("2026-01-01", periods=120)
        fouling = 1 - 0.004 * np.arange(120) + np.random.default_rng(5).normal(0, 0.004, 120)
        assert self.out(pd.Series(fouling, index)) == []

    def test_blanks_are_neither_in_nor_out(self) -> None:
        series = self.series()
        series.iloc[30:60] = np.nan
        series.iloc[70] *= 1.12
        assert self.out(series) == [70]

    @pytest.mark.parametrize("count", [0, 1, 4])
    def test_too_few_days_to_tell(self, count: int) -> None:
        series = self.series().iloc[:count]
        assert self.out(series * np.where(np.arange(count) == 1, 2.0, 1.0)) == []
