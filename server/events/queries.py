"""Find the events of a train."""

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from analytics import events as science
from server.errors import NotFound
from server.events.models import Event


def list_events(session: Session, train_id: int, *, with_voided: bool = False) -> list[Event]:
    """Events of a train, newest first."""
    query = select(Event).where(Event.train_id == train_id).order_by(Event.happened_at.desc(), Event.id.desc())
    return list(session.scalars(query if with_voided else query.where(Event.voided_at.is_(None))))


def event_or_404(session: Session, event_id: int) -> Event:
    """One event."""
    event = session.get(Event, event_id)
    if event is None:
        raise NotFound(f"There is no event with the number {event_id}.")
    return event


def events_of(session: Session, train_id: int, *, at_version: int | None = None) -> tuple[science.Event, ...]:
    """Events of a train as the science takes them, oldest first: those of today, or of a version of its inputs."""
    rows = list_events(session, train_id) if at_version is None else _events_then(session, train_id, at_version)
    return tuple(science.Event(row.happened_at, row.kind, row.stage, row.detail) for row in reversed(rows))


def _events_then(session: Session, train_id: int, version: int) -> list[Event]:
    query = select(Event).where(
        Event.train_id == train_id,
        Event.since_version <= version,
        or_(Event.voided_at.is_(None), Event.voided_version > version),
    )
    return list(session.scalars(query.order_by(Event.happened_at.desc(), Event.id.desc())))
