"""Record cleanings, correct them, take them out of use, and keep prices. Nothing is ever deleted.

A recorded cleaning is an event of its train, so that runs begin anew at it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from analytics.events import Event
from server.audit.actions import changes, record
from server.audit.author import writer
from server.cleanings.models import Cleaning, CleaningPrices, CleaningRevision
from server.cleanings.queries import latest_prices
from server.db import now
from server.errors import Conflict, NotFound
from server.events.actions import add_events, amend_event, void_event
from server.events.models import Event as EventRow
from server.plants.models import Site, Train

KIND = "cleaning"
SHEET = "sheet"
"""Under which name a record keeps the worksheet it came from, as it was ticked; corrections leave it as it is."""


@dataclass(frozen=True)
class Recorded:
    """What was written down about one cleaning; `content` as in `server.cleanings.models.Cleaning`."""

    stage: int | None
    started_at: datetime
    ended_at: datetime
    content: dict[str, Any]

    @property
    def summary(self) -> str:
        """In one line, for the events and the chart."""
        return "; ".join(_bath_words(step) for step in self.content.get("steps", ())) or "no chemicals written down"

    @property
    def event(self) -> Event:
        return Event(self.started_at, KIND, self.stage, self.summary)


def _bath_words(step: Mapping[str, Any]) -> str:
    parts = [str(step.get("chemical") or "a solution without name")]
    if (ph := step.get("ph_start")) is not None:
        parts.append(f"pH {ph:.3g}")
    if (temperature := step.get("temperature_start_c")) is not None:
        parts.append(f"{temperature:.3g} degC")
    return ", ".join(parts)


def record_cleaning(session: Session, train_id: int, given: Recorded, *, author: str = "") -> Cleaning:
    """Keep the record of a cleaning; it becomes an event, or takes the one of that day and stage as its own.

    A worksheet that was sent already, as a phone with a weak signal does, is the record that it became.
    """
    known = _of_sheet(session, train_id, given)
    if known is not None:
        return known
    author = writer(session, author)
    event_id = _event_of(session, train_id, given, author)
    cleaning = Cleaning(
        train_id=train_id, event_id=event_id, stage=given.stage, started_at=given.started_at, ended_at=given.ended_at,
        content=given.content, author=author,
    )  # fmt: skip
    session.add(cleaning)
    session.flush()
    record(
        session, "cleaning-recorded", train_id=train_id, object_id=cleaning.id, after=_flat(given), author=author
    )  # fmt: skip
    return cleaning


def amend_cleaning(
    session: Session, cleaning_id: int, given: Recorded, *, reason: str, revision: int, author: str = ""
) -> Cleaning:
    """Correct a record; what it said before stays readable.

    Raises
    ------
    Conflict
        Without a reason or a change, for a record out of use, or when somebody else was faster.
    """
    cleaning = _in_use(session, cleaning_id, reason)
    if cleaning.revision != revision:
        raise Conflict("This record was corrected while you looked at it; nothing was changed.")
    author, old = writer(session, author), recorded(cleaning)
    given = replace(given, content=_with_sheet(given.content, old.content))
    before, after = changes(_flat(old), _flat(given))
    if not before:
        raise Conflict("Nothing was corrected: the record says just this already.")
    _keep_version(session, cleaning, replaced_by=author, reason=reason)
    if given.event != old.event:
        cleaning.event_id = _moved_event(session, cleaning, given, reason, author)
    cleaning.stage, cleaning.started_at, cleaning.ended_at = given.stage, given.started_at, given.ended_at
    cleaning.content, cleaning.author, cleaning.revision = given.content, author, cleaning.revision + 1
    record(
        session, "cleaning-amended", train_id=cleaning.train_id, object_id=cleaning_id, before=before, after=after,
        reason=reason, author=author,
    )  # fmt: skip
    session.flush()
    return cleaning


def void_cleaning(session: Session, cleaning_id: int, *, reason: str, author: str = "") -> Cleaning:
    """Take a record out of use, and with it the event that it made count."""
    cleaning = _in_use(session, cleaning_id, reason)
    author = writer(session, author)
    cleaning.voided_at, cleaning.voided_by, cleaning.void_reason = now(), author, reason.strip()
    event = _live_event(session, cleaning)
    if event is not None and not _shared(session, cleaning):
        void_event(session, event.id, reason=reason, author=author)
    record(
        session, "cleaning-voided", train_id=cleaning.train_id, object_id=cleaning_id, reason=reason, author=author
    )  # fmt: skip
    session.flush()
    return cleaning


def set_prices(session: Session, site_id: int, prices: Mapping[str, float], *, author: str = "") -> bool:
    """Keep the prices of a site; True when any is another than before."""
    if session.get(Site, site_id, with_for_update=True) is None:
        raise NotFound(f"There is no site with the number {site_id}.")
    present = latest_prices(session, site_id)
    before, after = changes(present.content if present else {}, prices)
    if not after:
        return False
    author = writer(session, author)
    session.add(CleaningPrices(site_id=site_id, content=dict(prices), author=author))
    record(session, "cleaning-prices-changed", site_id=site_id, before=before, after=after, author=author)
    session.flush()
    return True


def recorded(cleaning: Cleaning) -> Recorded:
    """What a record says."""
    return Recorded(cleaning.stage, cleaning.started_at, cleaning.ended_at, cleaning.content)


def _with_sheet(content: Mapping[str, Any], old: Mapping[str, Any]) -> dict[str, Any]:
    """What is said now, with the worksheet of before."""
    rest = {name: value for name, value in content.items() if name != SHEET}
    return rest | {SHEET: old[SHEET]} if SHEET in old else rest


def _flat(given: Recorded) -> dict[str, Any]:
    """A record as one table of names, for the audit."""
    found: dict[str, Any] = {
        "stage": given.stage, "started_at": given.started_at.isoformat(), "ended_at": given.ended_at.isoformat(),
    }  # fmt: skip
    found |= {name: value for name, value in given.content.items() if name not in ("steps", SHEET)}
    for number, step in enumerate(given.content.get("steps", ()), start=1):
        found |= {f"bath {number} {name}": value for name, value in step.items()}
    return found


def _of_sheet(session: Session, train_id: int, given: Recorded) -> Cleaning | None:
    """The record in use that the same worksheet has become."""
    key = given.content.get(SHEET, {}).get("id")
    query = select(Cleaning).where(Cleaning.train_id == train_id, Cleaning.voided_at.is_(None))
    found = session.scalars(query) if key else ()
    return next((one for one in found if one.content.get(SHEET, {}).get("id") == key), None)


def _event_of(session: Session, train_id: int, given: Recorded, author: str) -> int | None:
    """The event of that local day and stage that nobody has recorded yet, or a new one."""
    train = session.get_one(Train, train_id)
    zone = ZoneInfo(session.get_one(Site, train.site_id).timezone)
    taken = select(Cleaning.event_id).where(Cleaning.event_id.is_not(None), Cleaning.voided_at.is_(None))
    query = select(EventRow).where(
        EventRow.train_id == train_id, EventRow.kind == KIND, EventRow.voided_at.is_(None), EventRow.id.not_in(taken)
    )
    wanted = given.started_at.astimezone(zone).date()
    for event in session.scalars(query):
        if event.stage == given.stage and event.happened_at.astimezone(zone).date() == wanted:
            return event.id
    added = add_events(session, train_id, [given.event], author=author)
    return added[0].id if added else None


def _live_event(session: Session, cleaning: Cleaning) -> EventRow | None:
    event = session.get(EventRow, cleaning.event_id) if cleaning.event_id is not None else None
    return event if event is not None and event.voided_at is None else None


def _moved_event(session: Session, cleaning: Cleaning, given: Recorded, reason: str, author: str) -> int | None:
    """The event brought to what the record now says; a new one where it was withdrawn."""
    event = _live_event(session, cleaning)
    if event is None:
        return _event_of(session, cleaning.train_id, given, author)
    if (event.happened_at, event.stage, event.detail) == (given.started_at, given.stage, given.summary):
        return event.id
    return amend_event(session, event.id, given.event, reason=reason, author=author).id


def _shared(session: Session, cleaning: Cleaning) -> bool:
    """Whether another record in use counts by the same event."""
    query = select(Cleaning.id).where(
        Cleaning.event_id == cleaning.event_id, Cleaning.id != cleaning.id, Cleaning.voided_at.is_(None)
    )
    return session.scalars(query.limit(1)).first() is not None


def _in_use(session: Session, cleaning_id: int, reason: str) -> Cleaning:
    cleaning = session.get(Cleaning, cleaning_id, with_for_update=True)
    if cleaning is None:
        raise NotFound(f"There is no cleaning with the number {cleaning_id}.")
    if cleaning.voided_at is not None:
        raise Conflict("This record was taken out of use already.")
    if not reason.strip():
        raise Conflict("Correcting a record or taking it out of use needs a reason.")
    return cleaning


def _keep_version(session: Session, cleaning: Cleaning, *, replaced_by: str, reason: str) -> None:
    session.add(
        CleaningRevision(
            cleaning_id=cleaning.id,
            revision=cleaning.revision,
            content=_flat(recorded(cleaning)),
            author=cleaning.author,
            written_at=cleaning.created_at,
            replaced_by=replaced_by,
            reason=reason.strip(),
        )
    )
