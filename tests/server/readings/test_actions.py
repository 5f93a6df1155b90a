"""Corrections keep the old version; nothing is deleted."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, select

from server.db import transaction
from server.errors import Conflict, NotFound
from server.intake.canonical import read_readings
from server.plants.actions import add_plant
from server.plants.models import Train
from server.plants.plant_file import plant_from_text
from server.readings.actions import amend_reading, store_readings, void_reading
from server.readings.models import Reading
from server.readings.queries import readings_frame, revisions

TEXT = b"time,feed_pressure [psi],state,remark\n2026-01-05 06:10,174.5,starting,slow\n"


@pytest.fixture
def reading_id(engine: Engine, plant_text: str) -> int:
    with transaction(engine) as session:
        train = add_plant(session, plant_from_text(plant_text, file="plant.toml"))
        table = read_readings(TEXT, filename="x", timezone="Europe/Lisbon")
        store_readings(session, train.id, table, source="form", author="Ana")
        return session.scalars(select(Reading.id)).one()


def test_a_reading_of_a_form_keeps_the_units_as_typed(engine: Engine, reading_id: int) -> None:
    with transaction(engine) as session:
        reading = session.get_one(Reading, reading_id)
        assert reading.typed == {"feed_pressure_bar": "psi"}
        assert (reading.source, reading.author, reading.state, reading.remark) == ("form", "Ana", "starting", "slow")
        assert reading.taken_at == datetime(2026, 1, 5, 6, 10, tzinfo=UTC)


def test_a_correction_writes_a_new_version_and_keeps_the_old(engine: Engine, reading_id: int) -> None:
    with transaction(engine) as session:
        before = session.get_one(Reading, reading_id).feed_pressure_bar  # type: ignore[attr-defined]
        amend_reading(
            session,
            reading_id,
            {"feed_pressure_bar": 11.0, "feed_ph": 7.2},
            reason="read the wrong gauge",
            author="Bo",
            state="running",
        )
    with transaction(engine) as session:
        reading = session.get_one(Reading, reading_id)
        assert (reading.revision, reading.author, reading.state, reading.remark) == (2, "Bo", "running", "slow")
        (old,) = revisions(session, reading_id)
        typed = {"feed_pressure_bar": "psi"}
        assert old.content == {"feed_pressure_bar": before, "state": "starting", "remark": "slow", "typed": typed}
        assert (old.revision, old.author, old.replaced_by, old.reason) == (1, "Ana", "Bo", "read the wrong gauge")
        frame = readings_frame(session, reading.train_id)
        assert frame[["feed_pressure_bar", "feed_ph"]].iloc[0].tolist() == [11.0, 7.2]


def test_a_value_can_be_taken_away(engine: Engine, reading_id: int) -> None:
    with transaction(engine) as session:
        reading = amend_reading(session, reading_id, {"feed_pressure_bar": None}, reason="not read at all")
        assert readings_frame(session, reading.train_id)["feed_pressure_bar"].isna().all()


def test_a_zero_is_a_value(engine: Engine, reading_id: int) -> None:
    with transaction(engine) as session:
        reading = amend_reading(session, reading_id, {"feed_free_chlorine_mg_l": 0.0}, reason="forgotten")
        assert readings_frame(session, reading.train_id)["feed_free_chlorine_mg_l"].tolist() == [0.0]


def test_a_correction_needs_a_reason_and_known_columns(engine: Engine, reading_id: int) -> None:
    with transaction(engine) as session:
        with pytest.raises(Conflict, match="needs a reason"):
            amend_reading(session, reading_id, {"feed_ph": 7.0}, reason="  ")
        with pytest.raises(ValueError, match="no such columns: ph"):
            amend_reading(session, reading_id, {"ph": 7.0}, reason="x")
        with pytest.raises(ValueError, match="no such state"):
            amend_reading(session, reading_id, {}, reason="x", state="asleep")
        assert revisions(session, reading_id) == []


def test_a_voided_reading_is_out_of_use_and_stays_readable(engine: Engine, reading_id: int) -> None:
    with transaction(engine) as session:
        train_id = void_reading(session, reading_id, reason="typed for another train").train_id
    with transaction(engine) as session:
        assert readings_frame(session, train_id).empty
        reading = session.get_one(Reading, reading_id)
        assert reading.voided_at is not None
        assert reading.void_reason == "typed for another train"
        with pytest.raises(Conflict, match="already"):
            void_reading(session, reading_id, reason="again")
        with pytest.raises(Conflict, match="cannot be corrected"):
            amend_reading(session, reading_id, {"feed_ph": 7.0}, reason="x")


def test_every_change_moves_the_version_of_the_inputs(engine: Engine, reading_id: int) -> None:
    with transaction(engine) as session:
        seen = [session.scalars(select(Train.inputs_version)).one()]
        amend_reading(session, reading_id, {"feed_ph": 7.0}, reason="x")
        seen.append(session.scalars(select(Train.inputs_version)).one())
        void_reading(session, reading_id, reason="x")
        seen.append(session.scalars(select(Train.inputs_version)).one())
    assert seen == sorted(set(seen))


def test_what_is_not_there_is_not_found(engine: Engine) -> None:
    table = read_readings(TEXT, filename="x", timezone="Europe/Lisbon")
    with transaction(engine) as session:
        for attempt in (
            lambda: amend_reading(session, 77, {}, reason="x"),
            lambda: void_reading(session, 77, reason="x"),
            lambda: store_readings(session, 77, table, source="form"),
        ):
            with pytest.raises(NotFound):
                attempt()
        with pytest.raises(ValueError, match="not one of"):
            store_readings(session, 77, table, source="pigeon")
