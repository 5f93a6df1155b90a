"""Level, slope and the date a limit is reached, on series whose truth is known."""

from dataclasses import replace
from datetime import date
from functools import cache
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analytics.judgement.bending_line import WANDER, WANDER_DAYS, bending_line
from analytics.judgement.reach import days_to_a_date, reaches
from analytics.judgement.run_facts import _slope as slope_of_a_run  # row 21 has too few days for the public way
from analytics.judgement.runs import START_OF_LOG, Run
from analytics.judgement.trend import Trend, fit_trend

FIRST = pd.Timestamp("2026-01-01")
DAY = date(2026, 3, 1)


def run(days: int, start: int = 0) -> Run:
    return Run(FIRST + pd.Timedelta(days=start), FIRST + pd.Timedelta(days=days - 1), START_OF_LOG)


def line(days: int, *, start: float = 1.0, slope: float = 0.0, scatter: float = 0.0, seed: int = 1) -> pd.Series:
    """A straight line by day with independent scatter. [-, 1/d]"""
    values = start + slope * np.arange(days) + np.random.default_rng(seed).normal(0, 1, days) * scatter
    return pd.Series(values, pd.date_range(FIRST, periods=days, name="day"))


def wandering(days: int, *, slope: float, scatter: float, memory: float, seed: int) -> pd.Series:
    """The same with a scatter that remembers the day before."""
    shocks = np.random.default_rng(seed).normal(0, scatter * np.sqrt(1 - memory**2), days)
    noise = np.zeros(days)
    for day in range(days):
        noise[day] = memory * noise[day - 1] + shocks[day] if day else shocks[0] / np.sqrt(1 - memory**2)
    return pd.Series(1 + slope * np.arange(days) + noise, pd.date_range(FIRST, periods=days, name="day"))


def fitted(
    series: pd.Series, *, runs: tuple[Run, ...] = (), name: str = "permeate_flow", drift_per_day: float = 0.0
) -> Trend:
    whole = Run(series.index[0], series.index[-1], START_OF_LOG)
    trend = fit_trend(series, runs or (whole,), scope="train", name=name, drift_per_day=drift_per_day)
    assert trend is not None
    return trend


def slope_of(series: pd.Series) -> Trend:
    """The trend with the level taken as given, which spares the spline where only the slope is looked at."""
    given = pd.DataFrame({"level": series, "error": 0.0})
    whole = Run(series.index[0], series.index[-1], START_OF_LOG)
    trend = fit_trend(series, (whole,), scope="train", name="permeate_flow", smoothed=given)
    assert trend is not None
    return trend


@cache
def falling(scatter: float) -> tuple[Trend, ...]:
    """Two hundred logs of 71 days that lose 0.08 % a day."""
    return tuple(fitted(line(71, slope=-0.0008, scatter=scatter, seed=seed)) for seed in range(200))


def trend_with(**changes: object) -> Trend:
    """A trend as if it had been fitted: 0.95 on 1 March, falling by 0.001 a day."""
    given = {
        "scope": "train", "name": "permeate_flow", "value": 0.95, "low": 0.94, "high": 0.96, "slope": -0.001,
        "slope_low": -0.0012, "slope_high": -0.0008, "days": 60, "first": date(2026, 1, 1), "last": date(2026, 3, 1),
        "segments": (), "forecast": None,
    }  # fmt: skip
    return Trend(**(given | changes))  # type: ignore[arg-type]


class TestSlope:
    def test_row_21(self) -> None:
        """Nine weekly values, one of them 7 % off: -0.0825 % a day by Theil and Sen, and 90 % on day 121.2 (least
        squares says 110.5). Today's slope, which may bend, is the same."""
        days = np.arange(0, 57, 7)
        values = np.array([100, 99.5, 98.7, 98.4, 90.0, 97.0, 96.6, 95.9, 95.4]) / 100
        series = pd.Series(values, FIRST + pd.to_timedelta(days, unit="D"))
        slope, *_ = slope_of_a_run(series)
        assert 100 * slope == pytest.approx(-0.0825, abs=0.001)
        assert slope == pytest.approx(stats.theilslopes(values, days).slope, rel=1e-12)
        today = float(np.median(values - slope * days)) + slope * 56
        found = reaches(trend_with(value=today, low=today, high=today, slope=slope, slope_low=slope, slope_high=slope,
                                   last=date(2026, 2, 26)), 0.90)  # fmt: skip
        assert found is not None
        assert (found.likely - date(2026, 1, 1)).days == pytest.approx(121.2, abs=0.5)
        bending = bending_line(series, level=0.954)
        assert 100 * bending.slope == pytest.approx(-0.0825, abs=0.004)
        assert abs(bending.growth) < 0.001

    def test_one_wild_day_in_ten_moves_nothing(self) -> None:
        series = line(60, slope=-0.001, scatter=0.003)
        wild = series.copy()
        wild.iloc[::10] *= 0.6
        assert fitted(wild).slope == pytest.approx(fitted(series).slope, abs=0.0002)
        assert fitted(wild).value == pytest.approx(fitted(series).value, abs=0.01)

    def test_only_the_present_run_counts(self) -> None:
        """Steep before the cleaning, gentle after it."""
        before, after = line(60, slope=-0.004, scatter=0.002), line(60, slope=-0.0005, scatter=0.002, seed=2)
        series = pd.concat([before, after.set_axis(after.index + pd.Timedelta(days=60))])
        trend = fitted(series, runs=(run(60), run(120, start=60)))
        assert trend.slope == pytest.approx(-0.0005, abs=0.0001)
        assert trend.value == pytest.approx(1 - 0.0005 * 59, abs=0.005)

    def test_what_a_run_did_before_its_last_three_months_does_not_count(self) -> None:
        old, new = line(200, slope=0.002), line(90, start=1.4, slope=-0.001, scatter=0.001)
        series = pd.concat([old, new.set_axis(new.index + pd.Timedelta(days=200))])
        assert fitted(series).slope == pytest.approx(-0.001, abs=0.0001)
        assert fitted(series).days == 90

    def test_a_reading_a_week_is_enough_when_there_are_enough_weeks(self) -> None:
        series = line(40 * 7, slope=-0.0004, scatter=0.003)
        trend = fitted(series.iloc[::7])
        assert trend.days == 21
        assert trend.slope == pytest.approx(-0.0004, abs=0.0001)
        assert np.isnan(fitted(series.iloc[: 20 * 7 : 7]).slope)

    @pytest.mark.parametrize(("days", "answer"), [(0, "none"), (2, "none"), (3, "level"), (20, "level"), (21, "slope")])
    def test_as_much_as_the_days_carry(self, days: int, answer: str) -> None:
        series = line(30, slope=-0.001, scatter=0.004)
        series.iloc[: 30 - days] = np.nan
        trend = fit_trend(series, (run(30),), scope="train", name="permeate_flow")
        if answer == "none":
            assert trend is None
            return
        assert trend is not None
        assert trend.days == days
        assert np.isfinite([trend.value, trend.low, trend.high]).all()
        assert np.isfinite(trend.slope) == (answer == "slope")
        assert (trend.forecast is not None) == (answer == "slope")

    def test_detection_takes_the_days_it_takes(self) -> None:
        """Row 22: at 2 % scatter a loss of 0.1 % a day is two sigmas clear after (48 s^2 / b^2)^(1/3) = 27 days, were
        scatter all there is: three weeks (1.4 errors) then show it in 40 of 100 logs. Gauges that wander take longer,
        and two months and a half are enough."""
        shares = {
            days: np.mean(
                [slope_of(line(days, slope=-0.001, scatter=0.02, seed=seed)).slope_high < 0 for seed in range(100)]
            )
            for days in (21, 27, 75)
        }
        assert shares[21] <= 0.40
        assert shares[21] < shares[27] < shares[75]
        assert shares[75] > 0.95

    def test_days_that_depend_on_each_other_say_less(self) -> None:
        free = [slope_of(line(60, scatter=0.01, seed=seed)) for seed in range(30)]
        bound = [slope_of(wandering(60, slope=0.0, scatter=0.01, memory=0.7, seed=seed)) for seed in range(30)]
        widths = [np.median([one.slope_high - one.slope_low for one in group]) for group in (free, bound)]
        assert widths[1] > 1.1 * widths[0]

    def test_what_the_season_may_do_widens_the_interval_on_its_own_side(self) -> None:
        series = line(60, slope=-0.001, scatter=0.003)
        plain = fitted(series)
        falling = fitted(series, drift_per_day=-0.0006)
        rising = fitted(series, drift_per_day=0.0006)
        assert (falling.slope_low, falling.slope_high) == pytest.approx((plain.slope_low, plain.slope_high + 0.0006))
        assert (rising.slope_low, rising.slope_high) == pytest.approx((plain.slope_low - 0.0006, plain.slope_high))


class TestCoverage:
    """On 200 simulated logs of each kind the intervals hold the truth as often as they should."""

    @pytest.mark.parametrize("scatter", [0.004, 0.012])
    def test_the_date_of_the_limit(self, scatter: float) -> None:
        """A limit of 0.90 is truly reached on day 125; the log ends on day 70."""
        truth = FIRST.date() + pd.Timedelta(days=125)
        found = [answer for trend in falling(scatter) if (answer := reaches(trend, 0.90))]
        assert len(found) >= 180
        held = np.mean([one.earliest <= truth <= one.latest for one in found])
        assert held >= 0.8
        likely = np.median([(one.likely - FIRST.date()).days for one in found])
        assert likely == pytest.approx(125, abs=4)

    def test_a_growth_that_doubles_every_month(self) -> None:
        """A pressure drop up by 2 % x 2^(t / 30 d): 1.15 is reached on day 30 log2(7.5) = 87, the log ends on 75."""
        days = np.arange(76)
        truth = FIRST.date() + pd.Timedelta(days=round(30 * np.log2(7.5)))
        found = []
        for seed in range(50):
            scatter = np.random.default_rng(seed).normal(0, 0.008, len(days))
            drop = pd.Series(1 + 0.02 * 2 ** (days / 30) + scatter, pd.date_range(FIRST, periods=len(days)))
            found.append(reaches(fitted(drop, name="pressure_drop"), 1.15))
        answers = [one for one in found if one]
        assert len(answers) >= 45
        assert np.mean([one.earliest <= truth <= one.latest for one in answers]) >= 0.8

    @pytest.mark.parametrize("scatter", [0.004, 0.012])
    def test_level_and_slope_of_independent_days(self, scatter: float) -> None:
        truth = 1 - 0.0008 * 70
        assert np.mean([one.low <= truth <= one.high for one in falling(scatter)]) >= 0.8
        assert np.mean([one.slope_low <= -0.0008 <= one.slope_high for one in falling(scatter)]) >= 0.9

    def test_level_of_days_that_scatter_more_than_any_gauge(self) -> None:
        """Scatter of 6 %, so that the interval is the fit's own and not the least that is ever told: 90 in 100."""
        truth = 1 - 0.0008 * 70
        logs = [fitted(line(71, slope=-0.0008, scatter=0.06, seed=seed)) for seed in range(120)]
        assert 0.84 <= np.mean([one.low <= truth <= one.high for one in logs]) <= 0.99

    def test_slope_of_gauges_that_wander_as_supposed(self) -> None:
        logs = (
            line(120, slope=-0.0008, scatter=0.004, seed=seed) - 1
            + wandering(120, slope=0.0, scatter=WANDER, memory=np.exp(-1 / WANDER_DAYS), seed=1000 + seed)
            for seed in range(200)
        )  # fmt: skip
        held = np.mean([one.slope_low <= -0.0008 <= one.slope_high for one in map(slope_of, logs)])
        assert held >= 0.9  # more than that: a line that might have bent says less of its slope today

    def test_slope_of_days_that_depend_on_each_other(self) -> None:
        logs = (wandering(71, slope=-0.0008, scatter=0.01, memory=0.5, seed=seed) for seed in range(100))
        assert np.mean([one.slope_low <= -0.0008 <= one.slope_high for one in map(slope_of, logs)]) >= 0.8


class TestReaches:
    def test_by_hand(self) -> None:
        """0.05 to go at 0.001 a day: 50 days from 1 March.

        A standard error of the slope is 0.0002 / 1.645 = 0.000122. Earliest: 0.04 at a slope that doubles in 60 days
        and an error more, (exp(g t) - 1) / g x 0.001 + 0.000122 t = 0.04 at t = 30.3 with g = ln 2 / 60. Latest:
        0.06 / (0.001 - 0.000122) = 68.3; 1.3 times that, 88.8.
        """
        found = reaches(trend_with(), 0.90)
        assert found is not None
        assert found.likely == date(2026, 4, 20)
        assert found.earliest == date(2026, 3, 31)
        assert found.latest == date(2026, 5, 29)

    def test_a_rising_indicator(self) -> None:
        found = reaches(
            trend_with(value=1.10, low=1.09, high=1.11, slope=0.001, slope_low=0.0008, slope_high=0.0012), 1.15
        )
        assert found is not None
        assert found.likely == date(2026, 4, 20)

    @pytest.mark.parametrize("value", [0.90, 0.89, 0.70])
    def test_a_limit_that_is_behind_is_not_foretold(self, value: float) -> None:
        assert reaches(trend_with(value=value, low=value - 0.01, high=value + 0.01), 0.90) is None

    @pytest.mark.parametrize(
        "changes",
        [
            {"slope": 0.001, "slope_low": 0.0008, "slope_high": 0.0012},  # away from the limit
            {"slope_low": -0.0025, "slope_high": 0.0001},  # perhaps not at all
            {"slope": -0.00008, "slope_low": -0.0001, "slope_high": -0.00006},  # in two years
            {"slope": -0.0002, "slope_low": -0.00045, "slope_high": 0.00005},  # between this year and the fourth
            {"slope": np.nan, "slope_low": np.nan, "slope_high": np.nan},
        ],
    )
    def test_no_date_where_the_data_carry_none(self, changes: dict[str, float]) -> None:
        assert reaches(trend_with(**changes), 0.90) is None

    def test_a_level_within_its_error_of_the_limit_may_be_there_today(self) -> None:
        found = reaches(trend_with(value=0.905, low=0.895, high=0.915), 0.90)
        assert found is not None
        assert found.earliest == date(2026, 3, 1)

    @pytest.mark.parametrize("scatter", [0.004, 0.02])
    def test_steady_plants_hardly_ever_get_a_date(self, scatter: float) -> None:
        """A slope that is not there is called falling in one of twenty logs, by the interval's definition."""
        logs = (line(60, scatter=scatter, seed=seed) for seed in range(100))
        assert sum(reaches(trend, 0.90) is not None for trend in map(slope_of, logs)) <= 10


class TestDrawing:
    def test_the_line_follows_each_run_and_never_reaches_across(self) -> None:
        before = line(90, slope=-0.001, scatter=0.003)
        after = line(80, slope=-0.0005, scatter=0.003, seed=2).set_axis(
            pd.date_range(FIRST + pd.Timedelta(days=90), periods=80)
        )
        runs = (run(90), run(170, start=90))
        segments = fitted(pd.concat([before, after]), runs=runs).segments
        cut = runs[1].start.date()
        assert all(one.end < cut or one.start >= cut for one in segments)
        for one in segments:
            day = (one.end - runs[0].start.date()).days if one.end < cut else (one.end - cut).days
            truth = 1 - (0.001 if one.end < cut else 0.0005) * day
            assert one.value_end == pytest.approx(truth, abs=0.01)
            assert one.low_end < one.value_end < one.high_end
        pieces = [[one for one in segments if (one.end < cut) == first] for first in (True, False)]
        for piece in pieces:
            assert all(a.end == b.start and a.value_end == b.value_start for a, b in pairwise(piece))

    def test_the_forecast_begins_today_and_opens_up(self) -> None:
        trend = fitted(line(60, slope=-0.001, scatter=0.005))
        fan = trend.forecast
        assert fan is not None
        assert (fan.start, fan.value_start) == (trend.last, trend.value)
        days = (fan.end - fan.start).days
        assert fan.value_end == pytest.approx(trend.value + days * trend.slope)
        assert fan.high_end - fan.low_end > fan.high_start - fan.low_start


class TestDaysToADate:
    """How many more days it takes, by hand."""

    def trend(self, **given: object) -> Trend:
        usual = Trend("train", "permeate_flow", 0.95, 0.94, 0.96, -0.001, -0.0015, -0.0005, 40, DAY, DAY, (), None)
        return replace(usual, **given)  # type: ignore[arg-type]

    def test_with_a_date_and_past_the_limit_none_are_needed(self) -> None:
        assert reaches(self.trend(), 0.9) is not None and days_to_a_date(self.trend(), 0.9) is None
        assert days_to_a_date(self.trend(value=0.89), 0.9) is None

    def test_before_a_slope_it_is_what_is_missing_of_three_weeks(self) -> None:
        nan = float("nan")
        assert days_to_a_date(self.trend(slope=nan, slope_low=nan, slope_high=nan, days=8), 0.9) == 13

    def test_an_uncertain_slope_needs_its_error_to_shrink(self) -> None:
        """An error of 0.0015 / 1.645 = 0.00091 may be 0.001 / 1.2816 at most: 40 / (40 + n) <= 0.856, n = 6.7."""
        assert days_to_a_date(self.trend(slope_low=-0.0025, slope_high=0.0005), 0.9) == 7

    def test_a_level_that_has_not_left_one_needs_to(self) -> None:
        """1 % of error, 0.45 % gone, 0.1 % a day: five days and a half."""
        young = self.trend(value=0.9955, low=0.9855, high=1.0055)
        assert reaches(young, 0.9) is None
        assert days_to_a_date(young, 0.9) == 6

    def test_what_no_number_of_days_brings_is_not_promised(self) -> None:
        assert days_to_a_date(self.trend(slope=0.001, slope_low=-0.001, slope_high=0.002), 0.9) is None
        assert days_to_a_date(self.trend(slope=-5e-5, slope_low=-3e-4, slope_high=2e-4), 0.9) is None
        assert days_to_a_date(self.trend(slope=-0.001, slope_low=-0.005, slope_high=0.003), 0.9) is None


@pytest.mark.parametrize("value", [1.0, 1e-9, 1e9])
def test_values_that_never_change_have_no_slope(value: float) -> None:
    trend = fitted(pd.Series(value, pd.date_range(FIRST, periods=60)))
    assert trend.slope == 0
    assert trend.value == pytest.approx(value)
    assert reaches(trend, 0.9) is None


@pytest.mark.parametrize("since", [75, 120])
def test_a_spell_that_is_over_no_longer_widens_the_slope(since: int) -> None:
    """Twelve points lost within forty days, and a steady loss since: known nearly as well as without the spell."""
    days = np.arange(140 + since)
    scatter = np.random.default_rng(6).normal(0, 0.008, len(days))
    steady = pd.Series(1 - 2e-4 * days + scatter, pd.date_range(FIRST, periods=len(days)))
    spell = steady - 0.12 * np.clip((days - 100) / 40, 0, 1)
    usual, after = (bending_line(one, level=float(one.iloc[-14:].mean())) for one in (steady, spell))
    assert after.error < 3 * usual.error
    assert abs(after.slope + 2e-4) < 1.645 * after.error
