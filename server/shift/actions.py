"""Store what was entered on a shift, once however often it comes; settle what contradicts a reading."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
import pandas as pd
from sqlalchemy import select
from sqlalchemy.orm import Session

from server.assessments.actions import refresh_assessment
from server.assessments.models import AssessmentRecord
from server.assessments.queries import latest_assessment
from server.audit.actions import record
from server.audit.author import writer
from server.db import now
from server.errors import Conflict, NotFound
from server.intake.table import ReadingsTable
from server.plants.models import Train
from server.readings.actions import amend_reading, store_readings
from server.security.photo import Photo
from server.shift.answer import Verdict, conflict_answer, same_answer, saved_answer
from server.shift.layout import LogField
from server.shift.models import CONFLICT, SAME, SAVED, SETTLED, GaugePhoto, ShiftEntry, ShiftLayout
from server.shift.queries import entry_of_key, key_of_content, reading_at, why_set_aside

DECIDED = {
    "the entry": "This entry was found right: the reading in the log has its values now.",
    "the reading": "The log was found right: this entry changed nothing.",
    "both": "Both were found right: this entry is a reading of its own.",
}
"""What is told of an entry that contradicted a reading, when somebody has said which is right."""


@dataclass(frozen=True)
class Entered:
    """An entry that can be stored: `typed` and `units` as they were written, `canonical` in canonical units.

    `clock_note` tells how an odd hour of the clock was understood.
    """

    key: str
    taken_at: datetime
    canonical: dict[str, float]
    typed: dict[str, str]
    units: dict[str, str]
    state: str
    remark: str
    digest: str = ""
    findings: tuple[dict[str, Any], ...] = ()
    entered_by: str = ""
    photo: Photo | None = None
    clock_note: str = ""


def save_entry(session: Session, train_id: int, entered: Entered) -> ShiftEntry:
    """Store an entry; the one that came with the same key and the same content before is given back as it is.

    Nothing is overwritten: where another reading of the same instant says otherwise, both are kept and somebody is
    asked (`settle_entry`).
    """
    if session.get(Train, train_id, with_for_update=True) is None:
        raise NotFound(f"There is no train with the number {train_id}.")
    key = key_of_content(session, train_id, entered.key, entered.digest)
    known = entry_of_key(session, train_id, key)
    if known is not None:
        return known
    before = verdict_of(latest_assessment(session, train_id))
    author = writer(session)
    result = store_readings(session, train_id, _table(entered), source="form", author=author)
    status = SAVED if result.stored else CONFLICT if result.different else SAME
    reading = reading_at(session, train_id, entered.taken_at)
    entry = ShiftEntry(
        train_id=train_id, key=key, taken_at=entered.taken_at, content=_content(entered, author),
        status=status, reading_id=reading.id if reading else None, author=author,
    )  # fmt: skip
    session.add(entry)
    session.flush()
    add_photo(session, entry, entered.photo)
    answer = _answer(session, entry, before)
    entry.answer = answer | {"sentence": f"{answer['sentence']} {entered.clock_note}".rstrip()}
    session.flush()
    return entry


def add_photo(session: Session, entry: ShiftEntry, photo: Photo | None) -> None:
    """Keep a photo beside an entry that has none, also where it comes later than the entry."""
    if photo is None:
        return
    if session.scalar(select(GaugePhoto.id).where(GaugePhoto.entry_id == entry.id)) is None:
        session.add(GaugePhoto(entry_id=entry.id, kind=photo.kind, content=photo.content))


def _answer(session: Session, entry: ShiftEntry, before: Verdict | None) -> dict[str, Any]:
    if entry.status == CONFLICT:
        return conflict_answer(entry)
    if entry.status == SAME:
        return same_answer(entry, before)
    after = verdict_of(refresh_assessment(session, entry.train_id))
    return saved_answer(entry, before, after, why_set_aside(session, entry.train_id, entry.taken_at))


def verdict_of(record: AssessmentRecord | None) -> Verdict | None:
    """What an assessment says, as an answer needs it."""
    return None if record is None else Verdict(record.level, record.headline, tuple(record.summary["indicators"]))


def _table(entered: Entered) -> ReadingsTable:
    """The entry as a table of one reading."""
    data: dict[str, Any] = {name: np.array([value]) for name, value in entered.canonical.items()}
    data["state"] = pd.array([entered.state], dtype="str")
    data["remark"] = pd.array([entered.remark], dtype="str")
    index = pd.DatetimeIndex([entered.taken_at], name="taken_at").as_unit("us")
    return ReadingsTable(
        file="shift log", frame=pd.DataFrame(data, index=index), row_numbers=np.array([1]), units=entered.units,
        unknown_columns=(), problems=(), problem_count=0, notes=(), rows=1,
    )  # fmt: skip


def _content(entered: Entered, author: str) -> dict[str, Any]:
    content: dict[str, Any] = {
        "values": entered.typed, "units": entered.units, "state": entered.state, "remark": entered.remark,
        "canonical": entered.canonical, "findings": list(entered.findings), "digest": entered.digest,
    }  # fmt: skip
    if entered.entered_by and entered.entered_by != author:
        content["entered_by"] = entered.entered_by
    return content


def settle_entry(session: Session, entry: ShiftEntry, *, take_entry: bool) -> None:
    """Decide which is right where an entry contradicts a reading: the reading stays, or takes the entry's values.

    What the other one said stays readable: the entry here, the reading among its versions.
    """
    _require_open(session, entry)
    if take_entry and entry.reading_id is not None:
        content = entry.content
        amend_reading(
            session, entry.reading_id, content["canonical"], reason="the entry of the shift log is right",
            state=content["state"], remark=content["remark"],
        )  # fmt: skip
        refresh_assessment(session, entry.train_id)
    _settled(session, entry, "the entry" if take_entry else "the reading")


def move_entry(session: Session, entry: ShiftEntry, taken_at: datetime) -> None:
    """Both are right: the entry was read at another time, and becomes a reading of that instant.

    Raises
    ------
    Conflict
        When it was decided on already, or another reading of that instant says otherwise, too.
    """
    _require_open(session, entry)
    content = entry.content
    moved = Entered(
        key=entry.key, taken_at=taken_at, canonical=content["canonical"], typed=content["values"],
        units=content["units"], state=content["state"], remark=content["remark"],
    )  # fmt: skip
    result = store_readings(session, entry.train_id, _table(moved), source="form", author=entry.author)
    if result.different:
        raise Conflict("At that time, too, the log has a reading with other values; choose another time.")
    reading = reading_at(session, entry.train_id, taken_at)
    entry.taken_at, entry.reading_id = taken_at, reading.id if reading else None
    refresh_assessment(session, entry.train_id)
    _settled(session, entry, "both")


def _require_open(session: Session, entry: ShiftEntry) -> None:
    session.refresh(entry, with_for_update=True)
    if entry.status != CONFLICT or entry.reading_id is None:
        raise Conflict("Somebody has decided on this entry already; nothing was changed.")


def _settled(session: Session, entry: ShiftEntry, right: str) -> None:
    entry.answer = entry.answer | {"sentence": DECIDED[right]}
    entry.status, entry.settled_by, entry.settled_at = SETTLED, writer(session), now()
    record(session, "entry-settled", train_id=entry.train_id, object_id=entry.id, after={"right": right})


def lay_out(session: Session, train_id: int, fields: tuple[LogField, ...]) -> None:
    """Keep how the shift log of a train is laid out."""
    kept = session.get(ShiftLayout, train_id)
    content = [field.stored() for field in fields]
    if kept is None:
        session.add(ShiftLayout(train_id=train_id, fields=content, author=writer(session)))
    elif kept.fields == content:
        return
    else:
        kept.fields, kept.author, kept.changed_at = content, writer(session), now()
    shown = [field.column for field in fields if not field.hidden]
    record(session, "shift-log-laid-out", train_id=train_id, after={"fields": shown})
    session.flush()
