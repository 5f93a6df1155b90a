"""Every rule with a reading that breaks it and one that just does not; what goes first; and that nothing is lost."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.condition.normalized import normalize_log
from analytics.condition.screen import RULES, screen
from analytics.quantities import STATES
from tests.analytics.condition.one_reading import AT, PLANT, log_with, reason_of
from tests.analytics.condition.steady_train import STEADY, living, plant, row


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

    def test_one_wrong_reading_in_four_is_the_gauges_fault(self) -> None:
        """More than a fifth: common practice, no source."""
        frame = living()
        frame.iloc[::4, frame.columns.get_loc("concentrate_pressure_bar")] = 12.5
        log = normalize_log(PLANT, frame)
        assert not log.rules["order of pressures"].any()
        assert log.notes == (
            "The order of the pressures is wrong in 25% of the readings: check the gauges. The readings stay in use.",
        )

    def test_one_wrong_reading_in_six_is_still_the_readings_fault(self) -> None:
        frame = living()
        frame.iloc[::6, frame.columns.get_loc("concentrate_pressure_bar")] = 12.5
        log = normalize_log(PLANT, frame)
        assert (log.reason.iloc[::6] == "order of pressures").all()
        assert log.notes == ()


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
