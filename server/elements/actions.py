"""Change the map of elements, all of a list or nothing, and write rounds down."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from analytics import events as science
from analytics.decisions.element_map import Change, Place, Problem, Stay, apply_changes, present
from server.audit.actions import record
from server.audit.author import writer
from server.db import now
from server.elements.listing import Listed
from server.elements.models import Element, ElementStay, ElementWeight, VesselRound
from server.elements.queries import as_stay, elsewhere, layout_of, round_or_404, stays_of
from server.errors import Conflict
from server.events.actions import add_events
from server.plants.actions import inputs_changed
from server.plants.models import Train


@dataclass(frozen=True)
class Outcome:
    """How many elements were placed or taken out; with problems nothing was."""

    changed: int
    problems: tuple[Problem, ...]


def change_map(session: Session, train: Train, listed: Listed) -> Outcome:
    """Apply a list to the map of a train, and write the events that it means.

    An element that lies in another train of the site must leave that train first.
    """
    if listed.problems:
        return Outcome(0, listed.problems)
    session.get(Train, train.id, with_for_update=True)
    rows = stays_of(session, train.id)
    before = [as_stay(stay, element) for stay, element in rows]
    problems = _wrong_here(session, train, listed.changes)
    applied = apply_changes(before, listed.changes, layout_of(train))
    problems += applied.problems
    if problems:
        return Outcome(0, tuple(problems))
    author = writer(session)
    _keep(session, train, rows, before, applied.stays, listed, author)
    _note_events(session, train, before, applied.stays, applied.changes)
    record(
        session,
        "elements-changed",
        train_id=train.id,
        after={"changes": [f"{c.day} {c.serial}: {c.place or 'out'}" for c in listed.changes][:200]},
        author=author,
    )
    return Outcome(len(listed.changes), ())


def _wrong_here(session: Session, train: Train, changes: Sequence[Change]) -> list[Problem]:
    """What only the world knows: elements of other trains, and days that have not come."""
    today = now().astimezone(ZoneInfo(train.site.timezone)).date()
    away = elsewhere(session, train, [change.serial for change in changes])
    found = []
    for change in changes:
        if change.day > today:
            found.append(Problem(change.row, f"{change.day} lies in the future.", "day"))
        if change.serial in away and change.place is not None:
            text = f"{change.serial} lies in {away[change.serial]}; take it out there first."
            found.append(Problem(change.row, text, "serial"))
    return found


def _keep(
    session: Session, train: Train, rows: Sequence[tuple[ElementStay, Element]], before: Sequence[Stay],
    after: Sequence[Stay], listed: Listed, author: str,
) -> None:  # fmt: skip
    """Store what differs: ends of stays, new stays, and their elements. Old stays keep their order in `after`."""
    for (row, _), stay in zip(rows, after[: len(before)], strict=True):
        row.until = stay.until
    elements = _elements(session, train, listed)
    for stay in after[len(before) :]:
        place = stay.place
        session.add(
            ElementStay(
                element_id=elements[stay.serial].id, train_id=train.id, stage=place.stage, vessel=place.vessel,
                position=place.position, since=stay.since, until=stay.until, author=author,
            )
        )  # fmt: skip
    days = {change.serial: change.day for change in listed.changes}
    for serial, weight in listed.weights.items():
        session.add(ElementWeight(element_id=elements[serial].id, weighed_on=days[serial], weight_kg=weight))
    session.flush()


def _elements(session: Session, train: Train, listed: Listed) -> dict[str, Element]:
    """The elements of a list by serial number, made where the site does not know them."""
    serials = [change.serial for change in listed.changes]
    query = select(Element).where(Element.site_id == train.site_id, Element.serial.in_(serials))
    known = {element.serial: element for element in session.scalars(query)}
    for change in listed.changes:
        element = known.get(change.serial)
        if element is None:
            element = known[change.serial] = Element(site_id=train.site_id, serial=change.serial, model="")
            session.add(element)
        element.model = listed.models.get(change.serial, element.model)
        element.made_on = change.made or element.made_on
    session.flush()
    return known


def _note_events(
    session: Session, train: Train, before: Sequence[Stay], after: Sequence[Stay], changes: Sequence[Change]
) -> None:
    """An event for each day and stage whose elements changed; filling a stage that was empty is none."""
    had = {stay.place.stage for stay in before}
    known = {stay.serial for stay in before}
    events = []
    for day, stage in sorted({(c.day, c.place.stage) for c in changes if c.place is not None}):
        if stage not in had:
            continue
        here = [c for c in changes if c.day == day and c.place is not None and c.place.stage == stage]
        new = [c.serial for c in here if c.serial not in known]
        kind = "element-replacement" if new else "element-move"
        what = f"{len(new)} new of {len(here)}" if new else f"{len(here)} moved"
        detail = f"{what}: {', '.join(c.serial for c in here[:12])}{', ...' if len(here) > 12 else ''}"
        events.append(science.Event(_noon(train, day), kind, stage, detail))
    if events:
        add_events(session, train.id, events)


def _noon(train: Train, day: date) -> datetime:
    """An instant that stands for a day: noon by the clock of the site, or now on the day itself."""
    noon = datetime.combine(day, time(12), tzinfo=ZoneInfo(train.site.timezone))
    return min(noon, now())


def lying_in(session: Session, train: Train) -> dict[Place, Stay]:
    """What lies where in a train now."""
    return dict(present(as_stay(stay, element) for stay, element in stays_of(session, train.id)))


def add_round(session: Session, found: VesselRound) -> VesselRound:
    """Write a round of vessel conductivities down; the causes of the verdict rest on it."""
    found.author = writer(session, found.author)
    found.since_version = inputs_changed(session, found.train_id)
    session.add(found)
    session.flush()
    record(session, "vessels-measured", train_id=found.train_id, object_id=found.id, after=found.conductivities)
    return found


def withdraw_round(session: Session, round_id: int, *, reason: str) -> VesselRound:
    """Take a round out of use, with the reason; it stays readable."""
    found = round_or_404(session, round_id)
    if found.voided_at is not None:
        raise Conflict("This round was taken out already.")
    if not reason.strip():
        raise Conflict("Withdrawing a round needs a reason.")
    found.voided_at, found.void_reason = now(), reason.strip()
    found.voided_version = inputs_changed(session, found.train_id)
    record(
        session, "vessels-withdrawn", train_id=found.train_id, object_id=found.id, before=found.conductivities,
        reason=reason,
    )  # fmt: skip
    return found
