"""Entries are stored once by their key on both databases; what contradicts a reading is kept, and somebody decides."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import Engine, func, select
from sqlalchemy.exc import IntegrityError

from server.audit.models import AuditEntry
from server.db import transaction
from server.errors import Conflict
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.plants.queries import train_or_404
from server.readings.models import Reading
from server.readings.queries import revisions
from server.shift.actions import Entered, lay_out, save_entry, settle_entry
from server.shift.layout import laid_out, walk
from server.shift.models import CONFLICT, SAME, SAVED, SETTLED, ShiftEntry
from server.shift.queries import log_fields, open_conflicts

AT = datetime(2026, 3, 1, 6, 10, tzinfo=UTC)


@pytest.fixture
def train(engine: Engine, plant_text: str) -> int:
    with transaction(engine) as session:
        return add_plant(session, plant_from_text(plant_text, file="plant.toml"), plant_text).id


def entered(key: str, **other: Any) -> Entered:
    given: dict[str, Any] = {
        "key": key, "taken_at": AT, "canonical": {"feed_pressure_bar": 12.0, "permeate_flow_m3h": 18.0},
        "typed": {"feed_pressure_bar": "174", "permeate_flow_m3h": "18"},
        "units": {"feed_pressure_bar": "psi", "permeate_flow_m3h": "m3/h"}, "state": "running", "remark": "",
    }  # fmt: skip
    return Entered(**given | other)


def test_a_key_is_one_entry_and_one_reading_on_every_database(engine: Engine, train: int) -> None:
    answers = []
    for _ in range(3):
        with transaction(engine) as session:
            answers.append(save_entry(session, train, entered("key-000001")).answer)
    assert answers[0] == answers[1] == answers[2] and answers[0]["outcome"] == SAVED
    with transaction(engine) as session:
        assert session.scalar(select(func.count()).select_from(Reading)) == 1
        entry = session.scalars(select(ShiftEntry)).one()
        assert entry.content["values"] == {"feed_pressure_bar": "174", "permeate_flow_m3h": "18"}
        assert entry.content["units"]["feed_pressure_bar"] == "psi"


def test_the_database_itself_keeps_a_key_single(engine: Engine, train: int) -> None:
    with transaction(engine) as session:
        save_entry(session, train, entered("key-000001"))
    with pytest.raises(IntegrityError), transaction(engine) as session:
        session.add(ShiftEntry(train_id=train, key="key-000001", taken_at=AT, content={}, status=SAVED))


def test_the_same_entry_from_many_hands_at_once_is_one(engine: Engine, train: int) -> None:
    """The page, the worker and a second try may all send it in the same moment."""

    def hand_in(_: int) -> dict[str, Any]:
        with transaction(engine) as session:
            return save_entry(session, train, entered("key-000001")).answer

    with ThreadPoolExecutor(4) as hands:
        answers = list(hands.map(hand_in, range(4)))
    assert all(answer == answers[0] for answer in answers)
    with transaction(engine) as session:
        assert session.scalar(select(func.count()).select_from(Reading)) == 1


def contradicted(engine: Engine, train: int) -> int:
    """An entry that says otherwise than the reading of its minute."""
    with transaction(engine) as session:
        save_entry(session, train, entered("key-000001"))
        again = save_entry(session, train, entered("key-000002"))
        assert again.status == SAME
        other = entered("key-000003", canonical={"feed_pressure_bar": 12.5}, typed={"feed_pressure_bar": "12.5"},
                        units={"feed_pressure_bar": "bar"}, remark="second look")  # fmt: skip
        entry = save_entry(session, train, other)
        assert (entry.status, entry.answer["outcome"]) == (CONFLICT, "conflict")
        assert [one.id for one in open_conflicts(session, train)] == [entry.id]
        assert session.scalar(select(func.count()).select_from(Reading)) == 1
        return entry.id


@pytest.mark.parametrize(("take_entry", "kept"), [(True, 12.5), (False, 12.0)])
def test_of_two_that_contradict_each_other_somebody_says_which_is_right(
    engine: Engine, train: int, take_entry: bool, kept: float
) -> None:
    number = contradicted(engine, train)
    with transaction(engine) as session:
        settle_entry(session, session.get_one(ShiftEntry, number), take_entry=take_entry)
    with transaction(engine) as session:
        reading = session.scalars(select(Reading)).one()
        assert (reading.feed_pressure_bar, reading.permeate_flow_m3h) == (kept, 18.0)  # type: ignore[attr-defined]
        assert len(revisions(session, reading.id)) == int(take_entry)
        entry = session.get_one(ShiftEntry, number)
        assert entry.status == SETTLED and entry.settled_by
        assert entry.content["canonical"] == {"feed_pressure_bar": 12.5}
        assert open_conflicts(session, train) == []
        kinds = list(session.scalars(select(AuditEntry.kind)))
        assert "entry-settled" in kinds
        with pytest.raises(Conflict, match="already"):
            settle_entry(session, entry, take_entry=True)


def test_a_stop_without_a_value_is_an_entry(engine: Engine, train: int) -> None:
    with transaction(engine) as session:
        save_entry(session, train, entered("key-000001"))
        later = entered("key-000004", taken_at=AT + timedelta(hours=8), canonical={}, typed={}, units={},
                        state="stopped", remark="no raw water")  # fmt: skip
        assert save_entry(session, train, later).status == SAVED
        reading = session.scalars(select(Reading).order_by(Reading.taken_at.desc())).first()
        assert reading is not None and (reading.state, reading.remark) == ("stopped", "no raw water")


def test_a_layout_is_kept_with_order_tags_units_and_what_is_left_out(engine: Engine, train: int) -> None:
    with transaction(engine) as session:
        standing = laid_out(2, [], [], {})
        lay_out(session, train, tuple(reversed(standing)))
        lay_out(session, train, tuple(reversed(standing)))  # the same again is no change
        kinds = list(session.scalars(select(AuditEntry.kind).where(AuditEntry.kind == "shift-log-laid-out")))
        assert len(kinds) == 1
    with transaction(engine) as session:
        found = train_or_404(session, train)
        assert [one.column for one in log_fields(session, found)] == list(reversed(walk(2)))
