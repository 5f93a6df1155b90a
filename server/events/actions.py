"""Write down events, correct and withdraw them. No event is ever changed or deleted: what replaces it says so."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from analytics import events as science
from server.audit.actions import record
from server.audit.author import writer
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
    stages, author = _stages(session, train_id), writer(session, author)
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
    if added:
        version = inputs_changed(session, train_id)
        for row in added:
            row.since_version = version
        session.add_all(added)
        record(session, "events-added", train_id=train_id, after={"events": [_said(r) for r in added]}, author=author)
    session.flush()
    return added


def void_event(session: Session, event_id: int, *, reason: str, author: str = "", at: datetime | None = None) -> Event:
    """Withdraw an event, with the reason; it stays readable."""
    event = _in_use(session, event_id, reason)
    author = writer(session, author)
    _withdraw(event, reason, author, version=inputs_changed(session, event.train_id), at=at)
    record(
        session, "event-withdrawn", train_id=event.train_id, object_id=event_id, before=_said(event), reason=reason,
        author=author,
    )  # fmt: skip
    session.flush()
    return event


def amend_event(session: Session, event_id: int, given: science.Event, *, reason: str, author: str = "") -> Event:
    """Correct an event: it is withdrawn, and a new one takes its place; returns the new one."""
    old = _in_use(session, event_id, reason)
    _check(given, _stages(session, old.train_id))
    author = writer(session, author)
    new = _row(old.train_id, given, author)
    if _said(new) == _said(old):
        raise Conflict("Nothing was corrected: the event says just this already.")
    new.since_version = inputs_changed(session, old.train_id)
    new.replaces_id = old.id
    _withdraw(old, reason, author, version=new.since_version)
    session.add(new)
    session.flush()
    record(
        session, "event-amended", train_id=old.train_id, object_id=new.id, before=_said(old), after=_said(new),
        reason=reason, author=author,
    )  # fmt: skip
    return new


def _stages(session: Session, train_id: int) -> int:
    return session.scalar(select(func.count()).where(Stage.train_id == train_id)) or 0


def _in_use(session: Session, event_id: int, reason: str) -> Event:
    event = session.get(Event, event_id, with_for_update=True)
    if event is None:
        raise NotFound(f"There is no event with the number {event_id}.")
    if event.voided_at is not None:
        raise Conflict("This event was taken out already.")
    if not reason.strip():
        raise Conflict("Correcting or withdrawing an event needs a reason.")
    return event


def _withdraw(event: Event, reason: str, author: str, *, version: int, at: datetime | None = None) -> None:
    event.voided_at, event.void_reason, event.voided_by = at or now(), reason.strip(), author
    event.voided_version = version


def _said(event: Event) -> dict[str, Any]:
    """What an event says, as a document."""
    return {
        "happened_at": event.happened_at.isoformat(),
        "kind": event.kind,
        "stage": event.stage,
        "detail": event.detail,
    }


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
