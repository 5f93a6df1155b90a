"""When readings are taken: local hours, gaps, standstills and starts."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from demo_data.simulator.shifts import Diary, Span, day_of, taken_readings

START = date(2026, 3, 1)


def taken(diary: Diary, days: int = 60, seed: int = 1) -> pd.DataFrame:
    return taken_readings(diary, START, days, "Europe/Vienna", np.random.default_rng(seed))


def test_readings_keep_their_local_hours_when_the_clocks_change() -> None:
    local = pd.DatetimeIndex(taken(Diary(hours=(6.0, 14.5))).index).tz_convert("Europe/Vienna")
    assert set(local.strftime("%H:%M")) == {"06:00", "14:30"}
    assert len(local) == 120


def test_index_is_what_the_analytics_expect() -> None:
    frame = taken(Diary(lateness_minutes=20.0))
    assert frame.index.name == "taken_at"
    assert str(frame.index.dtype) == "datetime64[us, UTC]"
    assert frame.index.is_monotonic_increasing
    assert frame.index.is_unique


def test_missed_share_and_holidays() -> None:
    frame = taken(Diary(missed=0.1, holidays=(Span(10.0, 15.0),)), days=400)
    assert not frame["day"].between(10.0, 15.0, inclusive="left").any()
    assert len(frame) == pytest.approx(0.9 * 3 * 395, rel=0.03)


def test_a_standstill_is_read_once_a_day_and_followed_by_a_start() -> None:
    frame = taken(Diary(standstills=(Span(10.0, 13.0),)))
    stopped = frame[frame["state"] == "stopped"]
    assert stopped["day"].tolist() == [10.25, 11.25, 12.25]
    assert frame.loc[frame["day"] >= 13.0, "state"].iloc[:2].tolist() == ["starting", "running"]


def test_day_of_counts_local_days_and_hours() -> None:
    assert day_of(START, date(2026, 3, 11), 12.0) == 10.5
