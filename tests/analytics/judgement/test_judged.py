"""All indicators judged together: which belong, whose runs end, and whose season counts."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from analytics.events import Event
from analytics.judgement.judged import Judged, judge_days
from analytics.judgement.season import Season
from tests.analytics.condition.steady_train import plant

DAYS = pd.date_range("2026-01-01", periods=80, name="day")
STILL = Season(0.0, 0.0)


def days(*columns: str, slope: float = 0.0) -> pd.DataFrame:
    rng = np.random.default_rng(2)
    return pd.DataFrame({name: 1 + slope * np.arange(80) + rng.normal(0, 0.004, 80) for name in columns}, DAYS)


ALL = tuple(
    f"{s}_{n}" for s in ("train", "stage1", "stage2") for n in ("permeate_flow", "salt_passage", "pressure_drop")
)


def judged(frame: pd.DataFrame, *, stages: int = 2, season: Season = STILL, **more: object) -> Judged:
    of = plant(stages=((4, 6), (2, 6))[:stages])
    given = {"events": (), "temperature_corrected": True} | more
    events = given.pop("events")
    return judge_days(frame, of, events, season=season, **given)  # type: ignore[arg-type]


def names(found: Judged) -> set[str]:
    return {f"{one.scope}_{one.name}" for one in found.indicators}


def test_the_pressure_drop_of_a_staged_train_is_judged_stage_by_stage() -> None:
    assert names(judged(days(*ALL))) == set(ALL) - {"train_pressure_drop"}


def test_where_a_stage_has_none_the_model_judges_that_of_the_train() -> None:
    frame = days("train_pressure_drop", "stage1_pressure_drop")
    assert names(judged(frame)) == {"stage1_pressure_drop"}
    assert names(judged(frame, modelled=("train_pressure_drop",))) == {"train_pressure_drop", "stage1_pressure_drop"}


def test_where_each_stage_has_its_own_that_of_the_train_says_no_more() -> None:
    assert names(judged(days(*ALL), modelled=ALL)) == set(ALL) - {"train_pressure_drop"}


def test_a_single_stage_is_the_train() -> None:
    columns = ("train_permeate_flow", "train_salt_passage", "train_pressure_drop")
    assert names(judged(days(*columns), stages=1)) == set(columns)


def test_only_what_is_known_is_judged() -> None:
    frame = days("train_permeate_flow", "stage2_salt_passage").assign(stage1_permeate_flow=np.nan)
    assert names(judged(frame)) == {"train_permeate_flow", "stage2_salt_passage"}


def test_no_days_no_answer() -> None:
    assert judged(days(*ALL).iloc[:0]) == Judged((), (), ())


def test_a_run_of_one_stage_ends_for_that_stage() -> None:
    cleaning = Event(datetime(2026, 2, 10, 9, tzinfo=UTC), "cleaning", 2)
    found = judged(days(*ALL), events=(cleaning,))
    first = {one.scope: one.first for one in found.trends}
    assert first["stage1"] == DAYS[0].date()
    assert first["stage2"] == first["train"] == datetime(2026, 2, 10, tzinfo=UTC).date()
    assert [run.opened_by for run in found.runs] == ["start of the log", "cleaning"]


class TestSeason:
    COLDER = Season(-10.0, -0.05)

    def test_what_the_standard_method_finds_in_the_cold_is_allowed_for(self) -> None:
        """Ten degrees colder: flow of the train up by 4.6 % by the method alone; 3 % more is no change of membranes."""
        frame = days("train_permeate_flow") + 0.03
        (found,) = judged(frame, season=self.COLDER).indicators
        assert found.allowance == pytest.approx(found.value - 1)

    def test_the_membrane_model_needs_no_allowance(self) -> None:
        frame = days("train_permeate_flow") + 0.03
        (found,) = judged(frame, season=self.COLDER, modelled=("train_permeate_flow",)).indicators
        assert found.allowance == 0.0

    def test_a_season_on_the_move_widens_the_slope(self) -> None:
        frame = days("train_permeate_flow", slope=-0.0005)
        (still,), (moving,) = (judged(frame, season=s).indicators for s in (STILL, self.COLDER))
        assert still.change_low is not None
        assert moving.change_low == pytest.approx(still.change_low - 30 * 0.05 * 0.0046)


def test_what_has_not_been_known_for_a_month_is_not_told_as_of_today() -> None:
    frame = days(*ALL)
    frame.loc[DAYS[-40] :, "stage2_permeate_flow"] = np.nan
    assert names(judged(frame)) == set(ALL) - {"train_pressure_drop", "stage2_permeate_flow"}
    frame.loc[DAYS[-20] :, "stage1_permeate_flow"] = np.nan
    assert "stage1_permeate_flow" in names(judged(frame))
