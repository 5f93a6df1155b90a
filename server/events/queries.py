"""Find the events of a train."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from analytics import events as science
from server.events.models import Event


def list_events(session: Session, train_id: int, *, with_voided: bool = False) -> list[Event]:
    """Events of a train, newest first."""
    query = select(Event).where(Event.train_id == train_id).order_by(Event.happened_at.desc(), Event.id.desc())
    return list(session.scalars(query if with_voided else query.where(Event.voided_at.is_(None))))


def events_of(session: Session, train_id: int) -> tuple[science.Event, ...]:
    """Events of a train as the science takes them, oldest first."""
    return tuple(
        science.Event(row.happened_at, row.kind, row.stage, row.detail)
        for row in reversed(list_events(session, train_id))
    )
