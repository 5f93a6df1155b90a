"""Change the map of elements, all of a list or nothing, and write rounds down."""

from collections.abc import Mapping, Sequence
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
    """What a list did: elements that came or left, those that lay there already, models, dates and weights that were
    noted, and the problems; with any, nothing was changed."""

    changed: int = 0
    same: int = 0
    noted: int = 0
    problems: tuple[Problem, ...] = ()


def change_map(session: Session, train: Train, listed: Listed, *, author: str = "") -> Outcome:
    """Apply a list to the map of a train, and write the events that it means.

    An element that lies in another train of the site must leave that train first. A list that says what is known
    already leaves no trace.
    """
    if listed.problems:
        return Outcome(problems=listed.problems)
    session.get(Train, train.id, with_for_update=True)
    rows = stays_of(session, train.id)
    before = [as_stay(stay, element) for stay, element in rows]
    problems = _wrong_here(session, train, listed)
    applied = apply_changes(before, listed.changes, layout_of(train))
    problems += applied.problems
    if problems:
        return Outcome(problems=tuple(problems))
    author = writer(session, author)
    elements, noted = _elements(session, train, listed)
    noted += _weigh(session, elements, listed)
    _keep(session, train, rows, applied.stays, elements, author)
    _note_events(session, train, before, applied.stays, applied.changes)
    if applied.changes or noted:
        after = {
            "changes": [f"{c.day} {c.serial}: {c.place or 'out'}" for c in applied.changes][:200],
            "noted": noted[:200],
        }
        record(session, "elements-changed", train_id=train.id, after=after, author=author)
    return Outcome(len(applied.changes), len(listed.changes) - len(applied.changes), len(noted))


def _wrong_here(session: Session, train: Train, listed: Listed) -> list[Problem]:
    """What only the world knows: elements of other trains, and days that have not come."""
    today = now().astimezone(ZoneInfo(train.site.timezone)).date()
    away = elsewhere(session, train, [change.serial for change in listed.changes])
    found = []
    for change in listed.changes:
        if change.day > today:
            found.append(Problem(change.row, f"{change.day} lies in the future.", "day"))
        weighed = listed.weights.get(change.serial)
        if weighed is not None and weighed.day > today:
            found.append(Problem(change.row, f"{weighed.day} lies in the future.", "weighed"))
        if change.serial in away and change.place is not None:
            text = f"{change.serial} lies in {away[change.serial]}; take it out there first."
            found.append(Problem(change.row, text, "serial"))
    return found


def _keep(
    session: Session, train: Train, rows: Sequence[tuple[ElementStay, Element]], after: Sequence[Stay],
    elements: Mapping[str, Element], author: str,
) -> None:  # fmt: skip
    """Store ends of stays and new stays. Old stays keep their order in `after`."""
    for (row, _), stay in zip(rows, after[: len(rows)], strict=True):
        row.until = stay.until
    for stay in after[len(rows) :]:
        place = stay.place
        session.add(
            ElementStay(
                element_id=elements[stay.serial].id, train_id=train.id, stage=place.stage, vessel=place.vessel,
                position=place.position, since=stay.since, until=stay.until, author=author,
            )
        )  # fmt: skip
    session.flush()


def _elements(session: Session, train: Train, listed: Listed) -> tuple[dict[str, Element], list[str]]:
    """The elements of a list by serial number, made where the site does not know them, and what was noted of others."""
    serials = [change.serial for change in listed.changes]
    query = select(Element).where(Element.site_id == train.site_id, Element.serial.in_(serials))
    known = {element.serial: element for element in session.scalars(query)}
    noted = []
    for change in listed.changes:
        element, model = known.get(change.serial), listed.models.get(change.serial, "")
        if element is None:
            element = Element(site_id=train.site_id, serial=change.serial, model=model, made_on=change.made)
            known[change.serial] = element
            session.add(element)
        if model and model != element.model:
            noted.append(f"{change.serial}: {model}")
            element.model = model
        if change.made and change.made != element.made_on:
            noted.append(f"{change.serial}: made {change.made}")
            element.made_on = change.made
    session.flush()
    return known, noted


def _weigh(session: Session, elements: Mapping[str, Element], listed: Listed) -> list[str]:
    """Write weights down; a second one of the same day goes before the first."""
    noted = []
    for serial, weighing in listed.weights.items():
        element = elements[serial]
        same_day = (ElementWeight.element_id == element.id, ElementWeight.weighed_on == weighing.day)
        row = session.scalar(select(ElementWeight).where(*same_day))
        if row is None:
            row = ElementWeight(element_id=element.id, weighed_on=weighing.day, weight_kg=weighing.weight_kg)
            session.add(row)
        elif row.weight_kg == weighing.weight_kg:
            continue
        row.weight_kg = weighing.weight_kg
        noted.append(f"{serial}: {weighing.weight_kg:g} kg on {weighing.day}")
    return noted


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
    record(
        session, "vessels-measured", train_id=found.train_id, object_id=found.id, after=found.conductivities,
        author=found.author,
    )  # fmt: skip
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
