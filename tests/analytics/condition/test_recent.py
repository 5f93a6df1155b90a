"""What the last readings were like, by hand and against a normal scatter."""

import numpy as np
import pandas as pd
import pytest

from analytics.condition.recent import FEWEST, SCATTERS, least_width, level_of, recent_of
from analytics.plant import Meters
from tests.analytics.condition.steady_train import living, readings

NOTHING = (0.0, 0.0)


class TestLevel:
    def test_six_deviations_of_a_normal_scatter(self) -> None:
        """The median of nine is one of them, so one in nine departures is zero and the others are less: about 0.85."""
        found = [level_of(np.random.default_rng(seed).normal(12.0, 0.2, 200), NOTHING) for seed in range(30)]
        widths = [level.width for level in found if level]
        assert np.mean(widths) == pytest.approx(0.85 * SCATTERS * 0.2, rel=0.05)

    def test_the_present_level_is_that_of_the_last_nine(self) -> None:
        level = level_of(np.r_[np.full(40, 10.0), np.full(9, 14.0)], NOTHING)
        assert level is not None and level.middle == 14.0

    @pytest.mark.parametrize(("least", "width"), [((0.6, 0.0), 0.6), ((0.0, 0.05), 0.5), ((0.6, 0.08), 0.8)])
    def test_no_gauge_is_known_better_than_its_least_width(self, least: tuple[float, float], width: float) -> None:
        level = level_of(np.full(20, 10.0), least)
        assert level is not None and (level.low, level.high) == pytest.approx((10.0 - width, 10.0 + width))

    def test_too_few_readings_have_no_level(self) -> None:
        assert level_of(np.full(FEWEST - 1, 10.0), NOTHING) is None


def test_least_widths_follow_the_meters() -> None:
    """Three times the accuracy: 0.3 of 0.1 bar, 9 % of 3 %; twice that for a thermometer of half a degree."""
    meters = Meters(pressure_accuracy_bar=0.1, flow_accuracy=0.03, temperature_accuracy_c=0.5)
    assert least_width("feed_pressure_bar", meters) == pytest.approx((0.3, 0.0))
    assert least_width("permeate_flow_m3h", meters) == pytest.approx((0.0, 0.09))
    assert least_width("feed_temperature_c", meters) == pytest.approx((3.0, 0.0))
    assert least_width("feed_conductivity_us_cm", meters) == pytest.approx((0.0, 0.08))


class TestRecent:
    def test_of_the_newest_reading(self) -> None:
        frame = living(10)
        frame.iloc[-1, frame.columns.get_loc("feed_pressure_bar")] = np.nan
        found = recent_of(frame, Meters())
        assert found.last["feed_pressure_bar"] == frame["feed_pressure_bar"].iloc[-2]
        assert found.last_at["feed_pressure_bar"] == frame.index[-2].timestamp()
        assert found.reading_at == frame.index[-1].timestamp()
        assert "feed_pressure_bar" not in found.reading and "permeate_flow_m3h" in found.reading

    def test_a_train_that_stood_or_hardly_ran_says_nothing_of_what_is_usual(self) -> None:
        frame = readings(10)
        frame["state"] = "running"
        frame.iloc[-9:, frame.columns.get_loc("permeate_flow_m3h")] = 14.0  # less than half of 30
        frame.iloc[-9:, frame.columns.get_loc("feed_pressure_bar")] = 5.0
        frame.iloc[:3, frame.columns.get_loc("state")] = "stopped"
        found = recent_of(frame, Meters())
        assert found.levels["feed_pressure_bar"].middle == 12.0
        assert len(found.frame) == len(frame) - 12

    def test_counters_have_no_level(self) -> None:
        frame = readings(10, hours_counter_h=np.arange(30.0))
        assert "hours_counter_h" not in recent_of(frame, Meters()).levels

    def test_how_many_values_two_readings_in_a_row_had_alike(self) -> None:
        frame = living(10)
        frame.iloc[20, :7] = frame.iloc[19, :7]
        assert recent_of(frame, Meters()).alike == pytest.approx(7 / frame.shape[1])

    def test_nothing_read_yet(self) -> None:
        assert recent_of(pd.DataFrame(index=pd.DatetimeIndex([], tz="UTC")), Meters()).levels == {}
