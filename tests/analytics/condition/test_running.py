"""Stopped, starting and settling readings, and those that just run."""

import pandas as pd
import pytest

from analytics.condition.normalized import normalize_log
from tests.analytics.condition.one_reading import AT, PLANT, log_with, reason_of
from tests.analytics.condition.steady_train import living, plant, readings


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
