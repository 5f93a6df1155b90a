"""Every rule with a reading that breaks it and one that just does not; what goes first; and that nothing is lost."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.condition.normalized import NormalizedLog, normalize_log
from analytics.condition.screen import RULES, flow_imbalance, salt_imbalance, screen, spikes
from analytics.plant import Plant
from analytics.quantities import STATES
from tests.analytics.condition.steady_train import STEADY, living, plant, readings, row

PLANT = plant()
AT = 60
"""A reading well inside the log, whose neighbours are as they should be."""


def log_with(of: Plant = PLANT, at: int = AT, **changed: Any) -> NormalizedLog:
    """A living log in which one reading shows other values."""
    frame = living()
    for name, value in changed.items():
        if name not in frame.columns:
            frame[name] = "" if isinstance(value, str) else np.nan
        frame.loc[frame.index[at], name] = value
    return normalize_log(of, frame)


def reason_of(log: NormalizedLog, at: int = AT) -> str:
    return str(log.reason.iloc[at])


def test_a_living_log_is_used_as_it_is() -> None:
    log = normalize_log(PLANT, living())
    assert set(log.reason) == {""}
    assert log.values_set_aside == {}
    assert log.notes == ()


class TestDuplicate:
    def test_the_first_of_a_time_is_kept(self) -> None:
        frame = living()
        twice = pd.concat([frame.iloc[: AT + 1], frame.iloc[[AT]] * 1.001, frame.iloc[AT + 1 :]])
        log = normalize_log(PLANT, twice)
        assert [reason_of(log, at) for at in (AT, AT + 1, AT + 2)] == ["", "duplicate", ""]

    def test_a_second_apart_is_another_reading(self) -> None:
        frame = living()
        later = frame.iloc[[AT]].set_axis(frame.index[[AT]] + pd.Timedelta(seconds=1))
        log = normalize_log(PLANT, pd.concat([frame.iloc[: AT + 1], later, frame.iloc[AT + 1 :]]))
        assert not log.rules["duplicate"].any()


class TestNotRunning:
    @pytest.mark.parametrize(("share", "running"), [(0.51, True), (0.49, False), (0.0, False)])
    def test_half_of_the_usual_permeate_counts_as_running(self, share: float, running: bool) -> None:
        log = log_with(permeate_flow_m3h=30.0 * share)
        assert (reason_of(log) != "not running") == running

    @pytest.mark.parametrize(("flow", "running"), [(25.0, True), (24.99, False)])
    def test_a_stated_flow_is_the_threshold(self, flow: float, running: bool) -> None:
        log = log_with(plant(screening={"running_permeate_flow_m3h": 25.0}), permeate_flow_m3h=flow)
        assert log.rules["not running"][AT] != running

    def test_said_to_be_stopped(self) -> None:
        assert reason_of(log_with(state="stopped")) == "not running"

    def test_zero_everywhere_is_a_standing_plant_and_no_error(self) -> None:
        log = normalize_log(PLANT, readings(10, permeate_flow_m3h=0.0, concentrate_flow_m3h=0.0, feed_flow_m3h=0.0))
        assert set(log.reason) == {"not running"}

    def test_stage_one_serves_where_the_train_has_no_meter(self) -> None:
        frame = living().drop(columns="permeate_flow_m3h")
        frame.loc[frame.index[AT], "stage1_permeate_flow_m3h"] = 5.0
        assert normalize_log(PLANT, frame).rules["not running"].tolist().index(True) == AT

    def test_feed_less_concentrate_serves_where_no_permeate_is_metered(self) -> None:
        frame = living().drop(columns=["permeate_flow_m3h", "stage1_permeate_flow_m3h"])
        frame.loc[frame.index[AT], "feed_flow_m3h"] = 12.0
        assert normalize_log(PLANT, frame).rules["not running"].tolist().index(True) == AT


class TestStartUp:
    def test_said_to_be_starting(self) -> None:
        """Row 57 of our table: flagged "start-up 8 min" by the operator: kept, not trended."""
        log = log_with(state="starting")
        assert reason_of(log) == "start-up"
        assert not log.used[AT]
        assert len(log.readings) == len(living())

    @pytest.mark.parametrize(("minutes", "settled"), [(5, False), (44, False), (45, True), (120, True)])
    def test_settling_after_a_stop(self, minutes: int, settled: bool) -> None:
        frame = living()
        stop = frame.iloc[[AT]].assign(permeate_flow_m3h=0.0)
        after = frame.iloc[[AT]].set_axis(frame.index[[AT]] + pd.Timedelta(minutes=minutes))
        log = normalize_log(PLANT, pd.concat([frame.iloc[:AT], stop, after, frame.iloc[AT + 1 :]]))
        assert reason_of(log, AT) == "not running"
        assert (reason_of(log, AT + 1) == "") == settled

    def test_the_next_shift_after_a_stop_is_used(self) -> None:
        log = log_with(permeate_flow_m3h=0.0)
        assert reason_of(log, AT + 1) == ""


class TestOutOfRange:
    def test_psi_typed_into_a_bar_field(self) -> None:
        """Row 49: 174 where 12 is usual."""
        assert reason_of(log_with(feed_pressure_bar=174.0)) == "out of range"

    @pytest.mark.parametrize(("temperature", "possible"), [(50.0, True), (50.1, False), (0.1, True), (0.0, False)])
    def test_the_ends_of_the_range_are_possible(self, temperature: float, possible: bool) -> None:
        assert log_with(feed_temperature_c=temperature).rules["out of range"][AT] != possible

    def test_a_meter_that_the_flow_does_not_need_loses_its_value_alone(self) -> None:
        log = log_with(permeate_conductivity_us_cm=20_001.0)
        assert reason_of(log) == ""
        assert np.isnan(log.readings["permeate_conductivity_us_cm"].iloc[AT])
        assert np.isnan(log.indicators["train_salt_passage"][AT])
        assert np.isfinite(log.indicators["train_permeate_flow"][AT])
        assert log.values_set_aside == {"permeate_conductivity": {"out of range": 1}}

    def test_the_frame_that_was_given_is_not_touched(self) -> None:
        frame = living()
        frame.loc[frame.index[AT], "feed_pressure_bar"] = 174.0
        before = frame.copy()
        normalize_log(PLANT, frame)
        pd.testing.assert_frame_equal(frame, before)


class TestOrderOfPressures:
    """Beyond the tolerance of 0.1 bar, water would flow uphill."""

    @pytest.mark.parametrize(
        ("changed", "broken"),
        [
            ({"feed_pressure_bar": 12.0, "stage1_concentrate_pressure_bar": 12.09}, False),
            ({"feed_pressure_bar": 12.0, "stage1_concentrate_pressure_bar": 12.11}, True),
            ({"stage1_concentrate_pressure_bar": 10.0, "concentrate_pressure_bar": 10.11}, True),
            ({"stage1_concentrate_pressure_bar": 10.0, "concentrate_pressure_bar": 10.09}, False),
            ({"concentrate_pressure_bar": 9.0, "permeate_pressure_bar": 9.11}, True),
            ({"feed_pressure_bar": 12.0, "pump_suction_pressure_bar": 12.11}, True),
            ({"feed_pressure_bar": 12.0, "pump_suction_pressure_bar": 12.09}, False),
        ],
    )
    def test_along_the_way_of_the_water(self, changed: dict[str, float], broken: bool) -> None:
        assert log_with(**changed).rules["order of pressures"][AT] == broken

    def test_a_booster_starts_the_way_anew(self) -> None:
        frame = living(stage2_feed_pressure_bar=14.0, concentrate_pressure_bar=12.8)
        assert not normalize_log(plant(boosters=(2,)), frame).rules["order of pressures"].any()
        without = normalize_log(PLANT, frame)
        assert any("order of the pressures is wrong in 100%" in note for note in without.notes)

    def test_gauges_that_are_always_in_the_wrong_order_are_said_to_be_wrong(self) -> None:
        """Two gauges changed over: the readings stay in use, and the gauges are named as the thing to check."""
        log = normalize_log(PLANT, living(stage1_concentrate_pressure_bar=9.4, concentrate_pressure_bar=10.6))
        assert log.used.all()
        assert any("order of the pressures" in note and "check the gauges" in note for note in log.notes)

    def test_one_wrong_reading_in_six_is_still_the_readings_fault(self) -> None:
        frame = living()
        frame.iloc[::6, frame.columns.get_loc("concentrate_pressure_bar")] = 12.5
        log = normalize_log(PLANT, frame)
        assert (log.reason.iloc[::6] == "order of pressures").all()
        assert log.notes == ()


class TestBalances:
    def test_flow_by_hand(self) -> None:
        """(20.9 - 15.0 - 5.0) / 20.9, row 15 of our table: an imbalance that gauges of 2 % explain (z = 1.7)."""
        columns = {"feed_flow_m3h": 20.9, "permeate_flow_m3h": 15.0, "concentrate_flow_m3h": 5.0}
        imbalance = flow_imbalance({name: np.array([value]) for name, value in columns.items()})
        assert imbalance == pytest.approx(0.9 / 20.9)
        assert flow_imbalance({"feed_flow_m3h": np.array([20.9])}) is None

    def test_salt_by_hand(self) -> None:
        """20 x 3000 in, 5 x 11,700 out with the concentrate: 2.5 % go elsewhere, 1.5 % of them with the permeate."""
        columns = {
            "feed_flow_m3h": 20.0, "concentrate_flow_m3h": 5.0,
            "feed_conductivity_us_cm": 6000.0, "concentrate_conductivity_us_cm": 23_400.0,
        }  # fmt: skip
        imbalance = salt_imbalance({name: np.array([value]) for name, value in columns.items()}, PLANT)
        assert imbalance == pytest.approx(0.025)

    @pytest.mark.parametrize(("off", "broken"), [(0.043, False), (0.11, False), (0.13, True), (-0.13, True)])
    def test_flow_beside_the_usual(self, off: float, broken: bool) -> None:
        """The default tolerance is 12 % of the feed."""
        frame = readings(40)
        frame.loc[frame.index[AT], "concentrate_flow_m3h"] = 10.0 - 40.0 * off
        assert normalize_log(PLANT, frame).rules["flow balance"][AT] == broken

    @pytest.mark.parametrize(("factor", "broken"), [(0.66, False), (0.64, True), (1.34, False), (1.36, True)])
    def test_salt_beside_the_usual(self, factor: float, broken: bool) -> None:
        """The default tolerance is 35 % of the salt fed; the concentrate carries 98.65 % of it."""
        frame = readings(40)
        frame.loc[frame.index[AT], "concentrate_conductivity_us_cm"] = 7892.0 * (1 + (factor - 1) / 0.9865)
        assert normalize_log(PLANT, frame).rules["salt balance"][AT] == broken

    def test_a_lasting_imbalance_accuses_a_meter_not_the_readings(self) -> None:
        log = normalize_log(PLANT, living(feed_flow_m3h=50.0))
        assert log.used.all()

    @pytest.mark.parametrize("begins", [1, 10, 29, 60, 90, 110, 119])
    @pytest.mark.parametrize(
        ("name", "factor"), [("feed_flow_m3h", 0.75), ("feed_flow_m3h", 1.4), ("feed_conductivity_us_cm", 0.5)]
    )
    def test_a_meter_exchanged_in_the_middle_of_the_log_does_not_empty_it(
        self, name: str, factor: float, begins: int
    ) -> None:
        """From one reading on, another meter shows a quarter less: what is usual has changed, the readings are used.

        Next to either end of the log a handful of readings may still look like slips.
        """
        frame = living()
        frame.iloc[begins:, frame.columns.get_loc(name)] *= factor
        rules = normalize_log(PLANT, frame).rules
        broken = rules["flow balance"] | rules["salt balance"]
        assert broken.sum() <= min(begins, len(frame) - begins, 15)

    def test_a_slip_beside_the_exchange_is_still_found(self) -> None:
        frame = living()
        frame.iloc[60:, frame.columns.get_loc("feed_flow_m3h")] *= 1.25
        frame.iloc[70, frame.columns.get_loc("concentrate_flow_m3h")] = 1.0
        frame.iloc[20, frame.columns.get_loc("concentrate_flow_m3h")] = 20.0
        assert np.flatnonzero(normalize_log(PLANT, frame).rules["flow balance"]).tolist() == [20, 70]


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


class TestValueMissing:
    @pytest.mark.parametrize("core", ["feed_temperature_c", "feed_pressure_bar", "feed_conductivity_us_cm"])
    def test_what_the_flow_needs(self, core: str) -> None:
        assert reason_of(log_with(**{core: np.nan})) == "value missing"

    def test_what_another_meter_replaces_is_not_missed(self) -> None:
        log = log_with(feed_flow_m3h=np.nan)
        assert reason_of(log) == ""
        assert log.columns["train_feed_flow_m3h"][AT] == pytest.approx(40.0, rel=0.02)

    def test_without_flow_and_salt_meters_nothing_can_be_used(self) -> None:
        frame = living()[["feed_temperature_c", "feed_pressure_bar"]]
        assert set(normalize_log(PLANT, frame).reason) == {"value missing"}

    def test_pressure_drop_alone_can_be_followed(self) -> None:
        frame = living().drop(columns=["feed_conductivity_us_cm", "permeate_conductivity_us_cm", "feed_temperature_c"])
        log = normalize_log(PLANT, frame)
        assert log.used.all()
        assert "stage1_pressure_drop" in log.indicators


class TestPrecedence:
    def test_rules_in_their_order(self) -> None:
        """One reading that breaks nearly everything; each rule taken away, the next one gives the reason."""
        changed: dict[str, Any] = {
            "permeate_flow_m3h": 0.0, "feed_pressure_bar": 174.0, "concentrate_pressure_bar": 30.0,
            "concentrate_flow_m3h": 39.0, "concentrate_conductivity_us_cm": 20.0,
        }  # fmt: skip
        reasons = [reason_of(log_with(**changed))]
        for name, good in (
            ("permeate_flow_m3h", 30.0), ("feed_pressure_bar", 12.0), ("concentrate_pressure_bar", 9.4),
            ("concentrate_flow_m3h", 10.0), ("concentrate_conductivity_us_cm", 7892.0),
        ):  # fmt: skip
            changed[name] = good
            reasons.append(reason_of(log_with(**changed)))
        assert reasons == ["not running", "out of range", "order of pressures", "flow balance", "salt balance", ""]

    def test_a_second_reading_of_a_stopped_plant_is_a_duplicate_first(self) -> None:
        frame = living()
        frame["state"] = "stopped"
        twice = pd.concat([frame, frame]).sort_index(kind="stable")
        log = normalize_log(PLANT, twice)
        assert log.reason.value_counts().to_dict() == {"duplicate": len(frame), "not running": len(frame)}


values = st.one_of(st.just(np.nan), st.floats(-5.0, 250.0), st.sampled_from([0.0, 1e-9, 1e9, -1.0]))


@st.composite
def rough_logs(draw: st.DrawFn) -> pd.DataFrame:
    """Logs as nobody would wish them: any meters, any values, gaps, duplicates, states."""
    names = draw(st.lists(st.sampled_from(sorted({*STEADY, "recycle_flow_m3h"})), unique=True, max_size=6))
    hours = sorted(draw(st.lists(st.integers(0, 2000), max_size=30)))
    index = pd.DatetimeIndex(pd.Timestamp("2026-03-20T00:00Z") + pd.to_timedelta(hours, unit="h"), name="taken_at")
    columns = {
        name: np.array(draw(st.lists(values, min_size=len(hours), max_size=len(hours))), dtype=float) for name in names
    }
    if draw(st.booleans()):
        columns["state"] = draw(st.lists(st.sampled_from(["", *STATES]), min_size=len(hours), max_size=len(hours)))
    return pd.DataFrame(columns, index=index.as_unit("us"))


@settings(max_examples=60, deadline=None)
@given(frame=rough_logs(), booster=st.booleans())
def test_every_reading_is_used_or_has_its_first_reason(frame: pd.DataFrame, booster: bool) -> None:
    log = normalize_log(plant(boosters=(2,) if booster else (), site={"timezone": "Europe/Lisbon"}), frame)
    assert list(log.rules) == [rule for rule in RULES if rule in log.rules]
    assert len(log.reason) == len(log.readings) == len(frame)
    for position, reason in enumerate(log.reason):
        broken = [rule for rule in RULES if log.rules[rule][position]]
        assert reason == (broken[0] if broken else "")
    counts = log.reason.value_counts()
    assert counts.sum() == len(frame)
    assert log.used.sum() == counts.get("", 0)


def test_a_log_without_meters_or_readings() -> None:
    assert len(screen(row().iloc[:0], PLANT).values) == 0
    assert set(normalize_log(PLANT, row()).reason) == {"value missing"}
