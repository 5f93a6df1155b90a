"""Find elements, where they lie, and what they have been through."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

import pandas as pd
from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from analytics.decisions.dechlorination import Exposure
from analytics.decisions.element_map import Layout, Place, Stay
from analytics.decisions.oxidant_record import chlorine_by_day, exposure_since
from analytics.judgement.vessel_rounds import VesselReadings
from server.assessments.queries import daily_frame
from server.elements.models import Element, ElementStay, ElementWeight, VesselRound
from server.errors import NotFound
from server.events.queries import list_events
from server.plants.models import Train


@dataclass(frozen=True)
class Lived:
    """What an element has been through since it came to the train: days, counted hours, cleanings, chlorine."""

    days: int
    hours: float | None
    cleanings: int
    exposure: Exposure | None


@dataclass(frozen=True)
class Placed:
    """One stay with its element, and what it has lived through while it is there."""

    stay: Stay
    model: str
    made_on: date | None
    author: str
    lived: Lived | None
    weight: str


def layout_of(train: Train) -> Layout:
    """How a train is built."""
    return Layout(tuple((stage.vessels, stage.elements_per_vessel) for stage in train.stages))


def stays_of(session: Session, train_id: int) -> list[tuple[ElementStay, Element]]:
    """All stays in a train with their elements, in the order in which they were written down."""
    query = select(ElementStay, Element).join(Element, Element.id == ElementStay.element_id)
    rows = session.execute(query.where(ElementStay.train_id == train_id).order_by(ElementStay.since, ElementStay.id))
    return [(row[0], row[1]) for row in rows]


def as_stay(row: ElementStay, element: Element) -> Stay:
    """A stay as the science takes it."""
    return Stay(element.serial, Place(row.stage, row.vessel, row.position), row.since, row.until)


def elsewhere(session: Session, train: Train, serials: Sequence[str]) -> dict[str, str]:
    """Serial numbers that lie in another train of the site now, with the name of that train."""
    query = (
        select(Element.serial, Train.name)
        .join(ElementStay, ElementStay.element_id == Element.id)
        .join(Train, Train.id == ElementStay.train_id)
        .where(
            Element.site_id == train.site_id,
            ElementStay.train_id != train.id,
            ElementStay.until.is_(None),
            Element.serial.in_(serials),
        )
    )
    return {row[0]: row[1] for row in session.execute(query)}


def placed_elements(session: Session, train: Train) -> list[Placed]:
    """All stays of a train, present ones with what they have lived through since they came to the train."""
    rows = stays_of(session, train.id)
    first: dict[int, date] = {}
    for stay, element in rows:
        first[element.id] = min(first.get(element.id, stay.since), stay.since)
    days = daily_frame(session, train.id)
    cleanings = _cleanings(session, train)
    weights = _weights(session, [element.id for _, element in rows])
    lived: dict[tuple[int, date], Lived] = {}
    for stay, element in rows:
        key = (stay.stage, first[element.id])
        if stay.until is None and key not in lived:
            lived[key] = _lived(days, cleanings, *key)
    return [
        Placed(
            as_stay(stay, element),
            element.model,
            element.made_on,
            stay.author,
            lived[stay.stage, first[element.id]] if stay.until is None else None,
            weights.get(element.id, ""),
        )
        for stay, element in rows
    ]


def _cleanings(session: Session, train: Train) -> list[tuple[date, int | None]]:
    zone = ZoneInfo(train.site.timezone)
    events = list_events(session, train.id)
    return [(e.happened_at.astimezone(zone).date(), e.stage) for e in events if e.kind == "cleaning"]


def _weights(session: Session, elements: Sequence[int]) -> dict[int, str]:
    query = select(ElementWeight).where(ElementWeight.element_id.in_(elements)).order_by(ElementWeight.weighed_on)
    return {row.element_id: f"{row.weight_kg:g} kg on {row.weighed_on}" for row in session.scalars(query)}


def _lived(days: pd.DataFrame, cleanings: Sequence[tuple[date, int | None]], stage: int, since: date) -> Lived:
    count = sum(1 for day, where in cleanings if day >= since and where in (None, stage))
    if not len(days):
        return Lived(0, None, count, None)
    recent = days[days.index >= pd.Timestamp(since)]
    age = max(0, (days.index[-1].date() - since).days)
    hours = None
    if "raw_hours_counter_h" in recent and (counter := recent["raw_hours_counter_h"].dropna()).size > 1:
        hours = float(counter.diff().clip(lower=0).sum())
    return Lived(age, hours, count, exposure_since(chlorine_by_day(days), since))


def list_rounds(session: Session, train_id: int, *, with_voided: bool = False) -> list[VesselRound]:
    """Rounds of vessel conductivities, newest first."""
    query = select(VesselRound).where(VesselRound.train_id == train_id)
    query = query.order_by(VesselRound.measured_at.desc(), VesselRound.id.desc())
    return list(session.scalars(query if with_voided else query.where(VesselRound.voided_at.is_(None))))


def rounds_of(session: Session, train_id: int, *, at_version: int | None = None) -> tuple[VesselReadings, ...]:
    """Rounds of a train as the science takes them: those of today, or of a version of its inputs."""
    rows = list_rounds(session, train_id) if at_version is None else _rounds_then(session, train_id, at_version)
    return tuple(
        VesselReadings(
            row.measured_at,
            {int(stage): {int(n): value for n, value in of.items()} for stage, of in row.conductivities.items()},
        )
        for row in rows
    )


def _rounds_then(session: Session, train_id: int, version: int) -> list[VesselRound]:
    query = select(VesselRound).where(
        VesselRound.train_id == train_id,
        VesselRound.since_version <= version,
        or_(VesselRound.voided_at.is_(None), VesselRound.voided_version > version),
    )
    return list(session.scalars(query.order_by(VesselRound.measured_at.desc(), VesselRound.id.desc())))


def round_or_404(session: Session, round_id: int) -> VesselRound:
    found = session.get(VesselRound, round_id)
    if found is None:
        raise NotFound(f"There is no round with the number {round_id}.")
    return found
