"""Every change leaves its entry, and no entry ever changes or goes."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, select, text
from sqlalchemy.exc import DBAPIError

from analytics.events import Event
from server.audit.actions import record
from server.audit.models import AuditEntry
from server.db import transaction
from server.errors import Conflict
from server.events.actions import add_events, amend_event, void_event
from server.events.queries import events_of, list_events
from server.intake.actions import Upload, discard_import, import_readings, undo_import
from server.intake.guided import hand_in
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.readings.actions import amend_reading, void_reading
from server.readings.models import Reading

LOG = b"time,feed_pressure [bar]\n2026-01-05 06:10,12.0\n2026-01-06 06:10,12.1\n2026-01-07 06:10,12.2\n"
CLEANING = Event(datetime(2026, 1, 5, 10, tzinfo=UTC), "cleaning", 1, "acid")


@pytest.fixture
def train_id(engine: Engine, plant_text: str) -> int:
    with transaction(engine) as session:
        return add_plant(session, plant_from_text(plant_text, file="plant.toml"), author="Ana").id


def _entries(engine: Engine) -> list[AuditEntry]:
    with transaction(engine) as session:
        return list(session.scalars(select(AuditEntry).order_by(AuditEntry.id)))


def test_a_plant_that_is_added_is_kept_whole(engine: Engine, train_id: int) -> None:
    (entry,) = _entries(engine)
    assert (entry.kind, entry.author, entry.train_id, entry.site_id) == ("plant-added", "Ana", train_id, 1)
    assert entry.before is None and entry.after is not None
    assert entry.after["train"]["limits"] == {"salt_passage_warn": 1.05}
    assert entry.after["train"]["reference"] == {"start": "2026-01-05", "end": "2026-01-19"}


def test_corrected_and_voided_readings_say_before_after_and_why(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        kept_id = import_readings(session, train_id, Upload("log.csv", LOG)).id
        reading = session.scalars(select(Reading.id).order_by(Reading.taken_at)).all()[0]
        amend_reading(session, reading, {"feed_pressure_bar": 13.0}, reason=" wrong gauge ", author="Bo")
        void_reading(session, reading, reason="wrong day", author="Cy")
        undo_import(session, kept_id, reason="wrong train", author="Di")
    stored, amended, voided, undone = _entries(engine)[1:]
    assert (stored.kind, stored.object_id, stored.after["stored"]) == ("import-stored", kept_id, 3)  # type: ignore[index]
    assert (amended.kind, amended.object_id, amended.author, amended.reason) == (
        "reading-amended", reading, "Bo", "wrong gauge",
    )  # fmt: skip
    assert (amended.before, amended.after) == ({"feed_pressure_bar": 12.0}, {"feed_pressure_bar": 13.0})
    assert (voided.kind, voided.author, voided.reason) == ("reading-voided", "Cy", "wrong day")
    assert (undone.kind, undone.reason, undone.after["taken out"]) == ("import-undone", "wrong train", 2)  # type: ignore[index]
    with transaction(engine) as session:
        assert {row.voided_by for row in session.scalars(select(Reading))} == {"Cy", "Di"}


def test_an_import_that_was_put_aside(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        discard_import(session, hand_in(session, train_id, Upload("log.csv", LOG)).id)
    assert [entry.kind for entry in _entries(engine)] == ["plant-added", "import-discarded"]


def test_an_event_is_corrected_by_a_new_one_and_withdrawn_with_a_reason(engine: Engine, train_id: int) -> None:
    better = Event(CLEANING.time, "cleaning", 2, "acid")
    with transaction(engine) as session:
        (first,) = add_events(session, train_id, [CLEANING], author="Ana")
        second = amend_event(session, first.id, better, reason="stage 2 it was", author="Bo")
        assert events_of(session, train_id) == (better,)
        assert second.replaces_id == first.id and first.voided_by == "Bo"
        with pytest.raises(Conflict, match="just this already"):
            amend_event(session, second.id, better, reason="again")
        with pytest.raises(Conflict, match="needs a reason"):
            void_event(session, second.id, reason=" ")
        void_event(session, second.id, reason="another train", author="Cy")
        assert events_of(session, train_id) == ()
        assert len(list_events(session, train_id, with_voided=True)) == 2
    added, amended, withdrawn = _entries(engine)[1:]
    assert added.kind == "events-added" and added.after is not None
    assert added.after["events"][0]["detail"] == "acid"
    assert (amended.before["stage"], amended.after["stage"], amended.reason) == (1, 2, "stage 2 it was")  # type: ignore[index]
    assert (withdrawn.kind, withdrawn.reason, withdrawn.author) == ("event-withdrawn", "another train", "Cy")


def test_what_is_refused_leaves_no_entry(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session, pytest.raises(ValueError, match="is not one of"):
        record(session, "party", train_id=train_id)
    with pytest.raises(Conflict), transaction(engine) as session:
        import_readings(session, train_id, Upload("log.csv", LOG))
        undo_import(session, 1, reason="")
    assert [entry.kind for entry in _entries(engine)] == ["plant-added"]


@pytest.mark.parametrize("table", ["audit", "reading_revisions", "past_assessments", "train_settings"])
@pytest.mark.parametrize("statement", ["UPDATE {} SET id = id", "DELETE FROM {}", "TRUNCATE {}"])
def test_the_database_itself_refuses_to_change_or_drop_an_entry(
    engine: Engine, train_id: int, table: str, statement: str
) -> None:
    if statement.startswith("TRUNCATE") and engine.dialect.name == "sqlite":
        statement = "DELETE FROM {} WHERE 1"  # what TRUNCATE is there
    with transaction(engine) as session:
        import_readings(session, train_id, Upload("log.csv", LOG))
        reading = session.scalars(select(Reading.id)).first()
        assert reading is not None
        amend_reading(session, reading, {"feed_ph": 7.0}, reason="x")
    statement += " CASCADE" if statement.startswith("TRUNCATE") else ""
    with pytest.raises(DBAPIError, match="only grows"), engine.begin() as connection:
        connection.execute(text(statement.format(table)))
    with engine.connect() as connection:
        assert connection.scalar(text(f"SELECT count(*) FROM {table}")) > 0
