"""Readings come out as they went in: as the frame of the science, and as lists for people."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
from sqlalchemy import Engine, insert

from analytics.quantities import COLUMNS
from server.db import transaction
from server.errors import NotFound
from server.intake.canonical import read_readings
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.readings.actions import store_readings, void_reading
from server.readings.models import SetAside
from server.readings.queries import (
    count_set_aside,
    latest_values,
    list_readings,
    reading_or_404,
    readings_frame,
)

TEXT = """time,feed_pressure [bar],feed_ph,state,remark
2026-01-05 06:10,12.5,7.1,,
2026-01-05 14:10,,7.2,running,"windy, cold"
2026-01-06 06:10:30.5,12.7,,stopped,
"""


@pytest.fixture
def train_id(engine: Engine, plant_text: str) -> int:
    with transaction(engine) as session:
        train = add_plant(session, plant_from_text(plant_text, file="plant.toml"))
        table = read_readings(TEXT.encode(), filename="x", timezone="Europe/Lisbon")
        store_readings(session, train.id, table, source="file")
        return train.id


def test_the_frame_is_what_was_read_from_the_file(engine: Engine, train_id: int) -> None:
    table = read_readings(TEXT.encode(), filename="x", timezone="Europe/Lisbon")
    with transaction(engine) as session:
        frame = readings_frame(session, train_id)
    pd.testing.assert_frame_equal(frame[table.frame.columns], table.frame)


def test_every_column_goes_in_and_comes_out(engine: Engine, train_id: int) -> None:
    header = ",".join(quantity.name for quantity in COLUMNS.values())
    values = ",".join(str(number + 0.25) for number in range(len(COLUMNS)))
    table = read_readings(f"time,{header}\n2026-02-01,{values}\n".encode(), filename="x", timezone="UTC")
    with transaction(engine) as session:
        store_readings(session, train_id, table, source="file")
        frame = readings_frame(session, train_id, since=datetime(2026, 2, 1, tzinfo=UTC))
    assert frame[list(COLUMNS)].iloc[0].tolist() == [number + 0.25 for number in range(len(COLUMNS))]


def test_a_span_includes_both_ends(engine: Engine, train_id: int) -> None:
    first, second = datetime(2026, 1, 5, 6, 10, tzinfo=UTC), datetime(2026, 1, 5, 14, 10, tzinfo=UTC)
    with transaction(engine) as session:
        assert len(readings_frame(session, train_id, since=second)) == 2
        assert len(readings_frame(session, train_id, until=second)) == 2
        assert len(readings_frame(session, train_id, since=first, until=first)) == 1


def test_no_readings_make_an_empty_frame_of_the_right_kind(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        frame = readings_frame(session, train_id, since=datetime(2027, 1, 1, tzinfo=UTC))
        nobody = readings_frame(session, 77)
    assert frame.empty
    assert frame.index.dtype == nobody.index.dtype == "datetime64[us, UTC]"
    assert frame["feed_pressure_bar"].dtype == np.float64
    assert list(nobody.columns) == []


def test_lists_are_newest_first_with_the_reason(engine: Engine, train_id: int) -> None:
    aside = {"train_id": train_id, "taken_at": datetime(2026, 1, 5, 6, 10, tzinfo=UTC)}
    partly = {"train_id": train_id, "taken_at": datetime(2026, 1, 5, 14, 10, tzinfo=UTC)}
    with transaction(engine) as session:
        session.execute(insert(SetAside), [aside | {"reason": "spike", "content": None}])
        session.execute(insert(SetAside), [partly | {"reason": "", "content": {"feed_ph": "frozen value"}}])
        page = list_readings(session, train_id)
        assert page.total == 3
        assert [line.reason for line in page.lines] == ["", "", "spike"]
        assert page.lines[1].values == {"feed_ph": 7.2}
        assert page.lines[1].values_set_aside == {"feed_ph": "frozen value"}
        assert page.lines[1].remark == "windy, cold"
        assert [line.reason for line in list_readings(session, train_id, only_set_aside=True).lines] == ["spike"]
        assert list_readings(session, train_id, reason="start-up").total == 0
        assert count_set_aside(session, train_id) == {"spike": 1}
        second = list_readings(session, train_id, limit=1, offset=1)
        assert (second.total, second.lines) == (3, page.lines[1:2])


def test_voided_readings_stay_in_the_list_and_leave_the_frame(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        newest = list_readings(session, train_id).lines[0].id
        void_reading(session, newest, reason="typed twice")
        assert list_readings(session, train_id).lines[0].void_reason == "typed twice"
        assert len(readings_frame(session, train_id)) == 2
        assert reading_or_404(session, newest).voided_at is not None
        with pytest.raises(NotFound):
            reading_or_404(session, 77)


def test_the_latest_value_of_each_gauge_may_be_older_than_the_latest_reading(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        latest = latest_values(session, train_id)
    assert (latest["feed_ph"].value, latest["feed_ph"].taken_at.hour) == (7.2, 14)
    assert (latest["feed_pressure_bar"].value, latest["feed_pressure_bar"].taken_at.day) == (12.7, 6)
    assert set(latest) == {"feed_ph", "feed_pressure_bar"}
