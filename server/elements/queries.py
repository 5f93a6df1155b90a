"""Find elements, where they lie, and what they have been through."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from analytics.decisions.element_map import Layout, Place, Stay
from analytics.judgement.vessel_rounds import VesselReadings
from server.elements.lived import Lived, Weighed, lives_of
from server.elements.models import Element, ElementStay, ElementWeight, VesselRound
from server.errors import NotFound
from server.plants.models import Train


@dataclass(frozen=True)
class Placed:
    """One stay with its element, and what the element has lived through; `lived` is None once it has left the place."""

    stay: Stay
    model: str
    made_on: date | None
    author: str
    lived: Lived | None
    weights: tuple[Weighed, ...]
    train: str = ""


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


def placed_elements(session: Session, train: Train, today: date) -> list[Placed]:
    """All stays of a train, present ones with what their elements have lived through until a day."""
    rows = stays_of(session, train.id)
    weights = _weights(session, [element.id for _, element in rows])
    lived = lives_of(session, train, [stay.element_id for stay, _ in rows if stay.until is None], today)
    return [
        Placed(
            as_stay(stay, element), element.model, element.made_on, stay.author,
            lived[element.id] if stay.until is None else None, weights.get(element.id, ()),
        )
        for stay, element in rows
    ]  # fmt: skip


def ways_of(session: Session, train: Train, serial: str) -> list[Placed]:
    """All stays of one element of the site, in any train, in the order of time."""
    query = (
        select(ElementStay, Element, Train.name)
        .join(Element, Element.id == ElementStay.element_id)
        .join(Train, Train.id == ElementStay.train_id)
        .where(Element.site_id == train.site_id, Element.serial == serial)
        .order_by(ElementStay.since, ElementStay.id)
    )
    return [
        Placed(as_stay(row[0], row[1]), row[1].model, row[1].made_on, row[0].author, None, (), row[2])
        for row in session.execute(query)
    ]


def _weights(session: Session, elements: Sequence[int]) -> dict[int, tuple[Weighed, ...]]:
    query = select(ElementWeight).where(ElementWeight.element_id.in_(elements)).order_by(ElementWeight.weighed_on)
    found: dict[int, tuple[Weighed, ...]] = {}
    for row in session.scalars(query):
        found[row.element_id] = (*found.get(row.element_id, ()), Weighed(row.weighed_on, row.weight_kg))
    return found


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
