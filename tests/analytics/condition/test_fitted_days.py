"""A long log is worked out part by part, and comes out as in one piece."""

import numpy as np
import pandas as pd
import pytest

from analytics.assess import CONTEXT_DAYS, assess
from analytics.condition.daily import local_days
from analytics.condition.fitted_days import work_out_days
from analytics.condition.screened_log import screen_log
from analytics.quantities import COLUMNS
from tests.analytics.condition.modelled_train import plant, readings

DAYS, PER_DAY = 130, 16


@pytest.fixture(scope="module")
def log() -> pd.DataFrame:
    """With a spike, a lost value, a day of standstill and a meter that fails for a week."""
    count = DAYS * PER_DAY
    times = pd.date_range("2026-01-01", periods=count, freq="90min", tz="UTC", name="taken_at")
    frame = readings(count, scatter=0.005, water=(np.linspace(1, 0.9, count), 1.0)).set_axis(times)
    frame = frame[[name for name in frame.columns if name in COLUMNS]]
    column = {str(name): number for number, name in enumerate(frame.columns)}
    frame.iloc[777, column["permeate_flow_m3h"]] *= 1.6
    frame.iloc[900, column["feed_pressure_bar"]] = -5.0
    frame.iloc[1000:1016, [n for name, n in column.items() if name.endswith("_m3h")]] = 0.0
    frame.iloc[1200:1312, column["permeate_tds_mg_l"]] = np.nan
    return frame


def _in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in ("screened_log", "fitted_days"):
        monkeypatch.setattr(f"analytics.condition.{module}.LONG", 100)
        monkeypatch.setattr(f"analytics.condition.{module}.ROWS_AT_ONCE", 200)


def test_the_table_of_days_is_that_of_the_whole(log: pd.DataFrame, monkeypatch: pytest.MonkeyPatch) -> None:
    every = np.ones(len(log), dtype=bool)
    whole = work_out_days(screen_log(plant(), log), every, last_days=30)
    _in_parts(monkeypatch)
    screened = screen_log(plant(), log)
    parts = work_out_days(screened, every, last_days=30)
    assert len(parts.log.days) < 0.5 * len(log)
    assert parts.table.index.equals(whole.table.index)
    assert set(parts.table.columns) == set(whole.table.columns)
    for name in whole.table.columns:
        assert parts.table[name].to_numpy() == pytest.approx(
            whole.table[name].to_numpy(), rel=1e-3, abs=2e-3, nan_ok=True
        ), name
    assert (screened.first_broken == screen_log(plant(), log).first_broken).all()


def test_the_answer_is_that_of_the_whole(log: pd.DataFrame, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = assess(plant(), log)
    _in_parts(monkeypatch)
    parts = assess(plant(), log)
    assert parts.verdict.level == whole.verdict.level
    assert parts.counts == whole.counts
    assert parts.reason.equals(whole.reason)
    assert parts.basis is not None
    assert whole.basis is not None
    assert parts.basis.levels.as_document() == whole.basis.levels.as_document()
    for ours, theirs in zip(parts.indicators, whole.indicators, strict=True):
        assert (ours.scope, ours.name) == (theirs.scope, theirs.name)
        assert ours.value == pytest.approx(theirs.value, abs=1e-3)


def test_a_part_without_any_used_reading_has_its_days(log: pd.DataFrame, monkeypatch: pytest.MonkeyPatch) -> None:
    frame = log.copy()
    flows = [str(name) for name in frame.columns if str(name).endswith("_m3h")]
    frame.iloc[640:1040, frame.columns.get_indexer(flows)] = 0.0
    _in_parts(monkeypatch)
    found = work_out_days(screen_log(plant(), frame), np.ones(len(frame), dtype=bool), last_days=CONTEXT_DAYS)
    days = local_days(pd.DatetimeIndex(frame.index), "UTC")
    assert found.table.index.equals(pd.DatetimeIndex(days.unique(), name="day"))
    assert found.table["readings"].sum() == len(frame)
