"""Write down events, and take them back."""

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from analytics import events as science
from server.db import now
from server.errors import Conflict, NotFound
from server.events.models import Event
from server.plants.actions import inputs_changed
from server.plants.models import Stage


def add_events(session: Session, train_id: int, events: Iterable[science.Event], *, author: str = "") -> list[Event]:
    """Add events that are not there yet; returns the added ones.

    Raises
    ------
    Conflict
        When an event has a kind that is not known, or a stage that the train does not have.
    """
    stages = session.scalar(select(func.count()).where(Stage.train_id == train_id)) or 0
    there = {
        (row.happened_at, row.kind, row.stage, row.detail)
        for row in session.scalars(select(Event).where(Event.train_id == train_id, Event.voided_at.is_(None)))
    }
    added = []
    for event in events:
        _check(event, stages)
        key = (event.time, event.kind, event.stage, event.detail)
        if key not in there:
            there.add(key)
            added.append(_row(train_id, event, author))
    session.add_all(added)
    if added:
        inputs_changed(session, train_id)
    session.flush()
    return added


def void_event(session: Session, event_id: int, *, reason: str, at: datetime | None = None) -> Event:
    """Take an event out of use, with the reason; it stays readable."""
    event = session.get(Event, event_id)
    if event is None:
        raise NotFound(f"There is no event with the number {event_id}.")
    if event.voided_at is not None:
        raise Conflict("This event was taken out already.")
    event.voided_at, event.void_reason = at or now(), reason
    inputs_changed(session, event.train_id)
    session.flush()
    return event


def _check(event: science.Event, stages: int) -> None:
    if event.kind not in science.KINDS:
        raise Conflict(f'"{event.kind}" is not a kind of event; expected one of {", ".join(science.KINDS)}')
    if event.stage is not None and not 1 <= event.stage <= stages:
        raise Conflict(f"there is no stage {event.stage}; this train has {stages}")


def _row(train_id: int, event: science.Event, author: str) -> Event:
    return Event(
        train_id=train_id,
        happened_at=event.time,
        kind=event.kind,
        stage=event.stage,
        detail=event.detail,
        author=author,
    )
