"""What has changed since a train was assessed: noted in the transaction of the change, so that no crash forgets it."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from server.assessments.models import AssessmentDue, AssessmentRecord
from server.budget.models import Life


@dataclass(frozen=True)
class Span:
    """Readings from one instant to another have changed, so many of them."""

    since: datetime
    until: datetime
    readings: int


NO_READINGS = None
"""Something has changed that readings do not rest on, such as an event."""


@dataclass(frozen=True)
class Due:
    """All that a train's assessment does not know: the rows that say so, what they name, and whether it is all."""

    ids: tuple[int, ...]
    spans: tuple[Span, ...]
    whole: bool


def note_due(session: Session, train_id: int, span: Span | None, *, whole: bool = False) -> None:
    """Note that a train is to be assessed again."""
    session.add(
        AssessmentDue(
            train_id=train_id,
            since=None if span is None else span.since,
            until=None if span is None else span.until,
            readings=0 if span is None else span.readings,
            whole=whole,
        )
    )


def note_missing_lives(session: Session) -> int:
    """Note every train that was assessed by a version that knew no lives of elements; returns how many they are."""
    query = select(AssessmentRecord.train_id).where(AssessmentRecord.train_id.not_in(select(Life.train_id)))
    waiting = set(trains_due(session))
    missing = [train_id for train_id in session.scalars(query) if train_id not in waiting]
    for train_id in missing:
        note_due(session, train_id, NO_READINGS)
    return len(missing)


def due_of(session: Session, train_id: int) -> Due:
    """What a train's assessment does not know yet."""
    session.flush()
    rows = session.scalars(select(AssessmentDue).where(AssessmentDue.train_id == train_id)).all()
    spans = [Span(row.since, row.until, row.readings) for row in rows if row.since and row.until]
    return Due(tuple(row.id for row in rows), tuple(spans), any(row.whole for row in rows))


def trains_due(session: Session) -> list[int]:
    """Trains that are to be assessed again, the longest waiting first."""
    rows = session.scalars(select(AssessmentDue.train_id).order_by(AssessmentDue.id))
    return list(dict.fromkeys(rows))


def settle_due(session: Session, due: Due) -> None:
    """Forget what is known now."""
    for start in range(0, len(due.ids), 500):
        session.execute(delete(AssessmentDue).where(AssessmentDue.id.in_(due.ids[start : start + 500])))
