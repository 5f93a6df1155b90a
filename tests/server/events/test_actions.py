"""Events are written down once, and taken back with a reason."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine

from analytics.events import Event
from server.db import transaction
from server.errors import Conflict, NotFound
from server.events.actions import add_events, void_event
from server.events.queries import events_of, list_events
from server.plants.actions import add_plant
from server.plants.models import Train
from server.plants.plant_file import plant_from_text

EARLY = Event(datetime(2026, 1, 5, 10, tzinfo=UTC), "cleaning", 1, "acid")
LATE = Event(datetime(2026, 2, 5, 10, tzinfo=UTC), "note")


@pytest.fixture
def train_id(engine: Engine, plant_text: str) -> int:
    with transaction(engine) as session:
        return add_plant(session, plant_from_text(plant_text, file="plant.toml")).id


def test_events_come_back_as_they_were(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        added = add_events(session, train_id, [LATE, EARLY], author="Ana")
        assert {row.author for row in added} == {"Ana"}
    with transaction(engine) as session:
        assert events_of(session, train_id) == (EARLY, LATE)
        assert [row.kind for row in list_events(session, train_id)] == ["note", "cleaning"]


def test_the_same_event_is_added_once(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        add_events(session, train_id, [EARLY, EARLY])
        version = session.get_one(Train, train_id).inputs_version
        assert add_events(session, train_id, [EARLY]) == []
        assert session.get_one(Train, train_id).inputs_version == version
        assert len(events_of(session, train_id)) == 1


def test_a_voided_event_is_out_of_use_and_stays_readable(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        (row,) = add_events(session, train_id, [EARLY])
        void_event(session, row.id, reason="another train")
        assert events_of(session, train_id) == ()
        assert list_events(session, train_id) == []
        (kept,) = list_events(session, train_id, with_voided=True)
        assert kept.void_reason == "another train"
        with pytest.raises(Conflict, match="already"):
            void_event(session, row.id, reason="again")
        assert len(add_events(session, train_id, [EARLY])) == 1


@pytest.mark.parametrize(
    ("event", "message"),
    [
        (Event(EARLY.time, "washing"), '"washing" is not a kind of event'),
        (Event(EARLY.time, "cleaning", 3), "there is no stage 3; this train has 2"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_nothing_added(
    engine: Engine, train_id: int, event: Event, message: str
) -> None:
    with pytest.raises(Conflict, match=message), transaction(engine) as session:
        add_events(session, train_id, [EARLY, event])
    with transaction(engine) as session:
        assert events_of(session, train_id) == ()


def test_an_event_that_is_not_there(engine: Engine) -> None:
    with transaction(engine) as session, pytest.raises(NotFound):
        void_event(session, 77, reason="x")
