"""Bulk insertion: NaN is NULL on both engines, and what is there already stops all of it."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
from sqlalchemy import Engine, func, select, text
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from server.db import now, transaction
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.readings.bulk import ROWS_AT_ONCE, insert_readings, sqlite_times
from server.readings.models import Reading


def _insert(session: Session, train_id: int, frame: pd.DataFrame) -> None:
    insert_readings(session, frame, {"train_id": train_id, "source": "api", "created_at": now(), "typed": {"a": "b"}})


@pytest.fixture
def train_id(engine: Engine, plant_text: str) -> int:
    with transaction(engine) as session:
        return add_plant(session, plant_from_text(plant_text, file="plant.toml")).id


def _frame(count: int) -> pd.DataFrame:
    index = pd.date_range("2026-01-01T00:00:00.000001Z", periods=count, freq="min", unit="us", name="taken_at")
    values = np.where(np.arange(count) % 2, np.nan, np.arange(count, dtype=float))
    return pd.DataFrame({"feed_ph": values, "remark": pd.array(["é\t\n\\N"] * count, dtype="str")}, index=index)


def test_nan_is_null_and_text_is_text(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        _insert(session, train_id, _frame(4))
        assert session.scalar(text("SELECT count(*) FROM readings WHERE feed_ph IS NULL")) == 2
        row = session.scalars(select(Reading).order_by(Reading.taken_at)).first()
        assert row is not None
        assert (row.remark, row.typed, row.taken_at) == (
            "é\t\n\\N",
            {"a": "b"},
            datetime(2026, 1, 1, 0, 0, 0, 1, tzinfo=UTC),
        )


def test_more_rows_than_go_at_once(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        _insert(session, train_id, _frame(ROWS_AT_ONCE + 3))
        assert session.scalar(select(func.count()).select_from(Reading)) == ROWS_AT_ONCE + 3


def test_an_instant_that_is_there_stops_all(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        _insert(session, train_id, _frame(2))
    with pytest.raises(Exception, match=r"(?i)unique"), transaction(engine) as session:
        _insert(session, train_id, _frame(5))
    with transaction(engine) as session:
        assert session.scalar(select(func.count()).select_from(Reading)) == 2


def test_a_train_that_is_not_there_stops_all(sqlite_engine: Engine) -> None:
    with pytest.raises(IntegrityError), transaction(sqlite_engine) as session:
        _insert(session, 77, _frame(2))


def test_times_are_written_as_the_column_writes_them(sqlite_engine: Engine, plant_text: str) -> None:
    with transaction(sqlite_engine) as session:
        train = add_plant(session, plant_from_text(plant_text, file="plant.toml"))
        moment = datetime(2026, 1, 5, 6, 10, 0, 500, tzinfo=UTC)
        session.add(Reading(train_id=train.id, taken_at=moment, source="api"))
        session.flush()
        (written,) = session.execute(text("SELECT taken_at FROM readings")).one()
    assert [written] == sqlite_times(pd.DatetimeIndex([moment]))
