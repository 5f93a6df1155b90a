"""Single readings apart from their neighbours, and what only looks like one."""

import numpy as np
import pytest

from analytics.condition.normalized import normalize_log
from analytics.condition.spikes import spikes
from tests.analytics.condition.one_reading import AT, PLANT, log_with, reason_of
from tests.analytics.condition.steady_train import living, plant


class TestSpikes:
    RATIO, LEAST = 4.0, 0.10

    def flags(self, values: np.ndarray, considered: np.ndarray | None = None) -> list[int]:
        everything = np.ones(len(values), dtype=bool) if considered is None else considered
        found = spikes(values, everything, ratio=self.RATIO, least_change=self.LEAST)
        return np.flatnonzero(found).tolist()

    def steady(self, count: int = 50) -> np.ndarray:
        return 3.0 + 0.01 * np.sin(np.arange(count, dtype=float))

    @pytest.mark.parametrize("at", [0, 1, 25, 48, 49])
    @pytest.mark.parametrize("factor", [0.6, 1.5])
    def test_a_reading_apart_from_its_neighbours(self, at: int, factor: float) -> None:
        values = self.steady()
        values[at] *= factor
        assert self.flags(values) == [at]

    @pytest.mark.parametrize("at", [0, 25, 49])
    def test_less_than_the_least_change_is_no_spike(self, at: int) -> None:
        values = self.steady()
        values[at] *= 1.09
        assert self.flags(values) == []

    @pytest.mark.parametrize("begins", [2, 25, 48])
    def test_a_lasting_step_is_no_spike(self, begins: int) -> None:
        values = self.steady()
        values[begins:] *= 1.5
        assert self.flags(values) == []

    def test_what_scatters_wildly_has_no_spikes(self) -> None:
        values = 3.0 + np.random.default_rng(3).normal(0, 0.4, 300)
        assert self.flags(values) == []

    def test_readings_set_aside_and_gaps_are_passed_over(self) -> None:
        """A reading that was set aside lies between two good ones: neither of them is a spike because of it."""
        values = self.steady()
        values[20], values[30] = 90.0, np.nan
        considered = np.ones(50, dtype=bool)
        considered[20] = False
        assert self.flags(values, considered) == []

    def test_too_few_readings_to_tell(self) -> None:
        assert self.flags(np.array([3.0, 9.0, 3.0, 3.0])) == []

    def test_a_typing_slip_shows_in_the_permeability(self) -> None:
        """12.0 bar typed as 21.0, 2000 uS/cm as 200: neither is out of range, both move the permeability."""
        assert reason_of(log_with(feed_pressure_bar=21.0)) == "spike"
        assert reason_of(log_with(feed_pressure_bar=15.0)) == "spike"  # 14 % less permeability: beyond a tenth
        assert reason_of(log_with(feed_pressure_bar=13.5)) == ""  # 8 % less
        assert reason_of(log_with(feed_temperature_c=52.0 / 2)) == ""
        assert reason_of(log_with(feed_temperature_c=35.0)) == "spike"


class TestSlipsOfThePen:
    """A value more than 30 % apart from its neighbours is lost, and so is its reading where the flow needs it."""

    @pytest.mark.parametrize(
        ("name", "typed"),
        [
            ("stage1_permeate_flow_m3h", 220.0),  # a lost decimal point
            ("stage1_permeate_flow_m3h", 96.9),  # gallons a minute
            ("concentrate_conductivity_us_cm", 7.892),  # mS/cm
            ("permeate_conductivity_us_cm", 63.0),  # 36 with its digits swapped
            ("stage1_concentrate_pressure_bar", 6.1),
        ],
    )
    def test_a_meter_that_the_flow_does_not_need_loses_its_value_alone(self, name: str, typed: float) -> None:
        tolerant = plant(screening={"salt_balance_tolerance": 10.0, "pressure_tolerance_bar": 10.0})
        log = log_with(tolerant, **{name: typed})
        assert reason_of(log) == ""
        assert np.isnan(log.readings[name].iloc[AT])
        assert list(log.values_set_aside.values()) == [{"spike": 1}]

    @pytest.mark.parametrize(
        ("name", "typed"), [("concentrate_flow_m3h", 14.0), ("permeate_pressure_bar", 5.0), ("feed_flow_m3h", 25.5)]
    )
    def test_a_meter_that_the_flow_needs_takes_the_reading(self, name: str, typed: float) -> None:
        tolerant = plant(screening={"flow_balance_tolerance": 10.0, "salt_balance_tolerance": 10.0})
        log = log_with(tolerant, **{name: typed})
        assert reason_of(log) == "spike"
        assert log.values_set_aside == {}

    @pytest.mark.parametrize("factor", [0.75, 1.25])
    def test_less_than_that_may_be_true(self, factor: float) -> None:
        log = log_with(permeate_conductivity_us_cm=36.0 * factor)
        assert log.values_set_aside == {}

    def test_a_lasting_change_is_no_slip(self) -> None:
        frame = living()
        frame.iloc[AT:, frame.columns.get_loc("permeate_conductivity_us_cm")] *= 2.0
        assert normalize_log(PLANT, frame).values_set_aside == {}

    def test_a_rough_meter_has_no_slips(self) -> None:
        """A back-pressure gauge that shows 0.1, 0.2 or 0.3 bar by turns."""
        frame = living()
        frame["permeate_pressure_bar"] = np.random.default_rng(6).choice([0.1, 0.2, 0.3], len(frame))
        assert normalize_log(PLANT, frame).used.all()

    def test_a_stop_and_a_start_are_no_slips(self) -> None:
        frame = living()
        frame.loc[frame.index[AT], ["permeate_flow_m3h", "feed_flow_m3h", "concentrate_flow_m3h"]] = 0.0
        log = normalize_log(PLANT, frame)
        assert log.reason.value_counts().to_dict() == {"": len(frame) - 1, "not running": 1}
