"""Find sites and trains, and put the plant together that the science works on."""

import dataclasses
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload

from analytics.plant import Membrane, Plant
from analytics.plant_file import plant_from_dict
from server.errors import Conflict, NotFound
from server.plants.models import Limit, Reference, Site, Stage, Train

MEMBRANE_FIELDS = tuple(field.name for field in dataclasses.fields(Membrane))


def list_trains(session: Session) -> list[Train]:
    """All trains with their sites, by the names of site and train."""
    query = select(Train).join(Train.site).options(joinedload(Train.site)).order_by(Site.name, Train.name)
    return list(session.scalars(query))


def train_or_404(session: Session, train_id: int) -> Train:
    """One train with its site, stages and element models."""
    train = session.scalar(
        select(Train)
        .where(Train.id == train_id)
        .options(joinedload(Train.site), selectinload(Train.stages).joinedload(Stage.element_model))
    )
    if train is None:
        raise NotFound(f"There is no train with the number {train_id}.")
    return train


def find_train(session: Session, name: str) -> Train:
    """Find a train by its number, its name, or "site / train" where the name alone is not enough."""
    trains = list_trains(session)
    wanted = name.strip().casefold()
    found = [train for train in trains if str(train.id) == wanted]
    found = found or [train for train in trains if f"{train.site.name} / {train.name}".casefold() == wanted]
    found = found or [train for train in trains if train.name.casefold() == wanted]
    if len(found) == 1:
        return train_or_404(session, found[0].id)
    listed = ", ".join(f'{train.id} ("{train.site.name} / {train.name}")' for train in found or trains[:20])
    if found:
        raise Conflict(f'"{name}" is the name of more than one train; give its number: {listed}')
    raise NotFound(f'there is no train "{name}"; there are: {listed or "none yet, add one with: skidbook plant add"}')


def references(session: Session, train_id: int) -> list[Reference]:
    """Reference periods that were chosen for a train, newest first."""
    return list(session.scalars(select(Reference).where(Reference.train_id == train_id).order_by(Reference.id.desc())))


def limits(session: Session, train_id: int) -> list[Limit]:
    """Limits that were set for a train, newest first, the replaced ones among them."""
    return list(session.scalars(select(Limit).where(Limit.train_id == train_id).order_by(Limit.id.desc())))


def plant_of(session: Session, train_id: int) -> Plant:
    """The plant as it stands in the records, with the newest reference and limits."""
    return plant_from_dict(plant_document(session, train_id))


def plant_document(session: Session, train_id: int) -> dict[str, Any]:
    """The same as the dictionary of a plant file, which can be kept as JSON: days are text."""
    train = train_or_404(session, train_id)
    return _plant_dict(train, references(session, train_id)[:1], limits(session, train_id)[::-1])


def _plant_dict(train: Train, reference: list[Reference], oldest_first: list[Limit]) -> dict[str, Any]:
    """Write a train as the dictionary of a plant file, so that records and files are checked by the same rules."""
    site = train.site
    membranes: dict[str, dict[str, Any]] = {}
    stages: list[dict[str, Any]] = []
    for stage in train.stages:
        model = stage.element_model
        membranes[model.name] = {name: getattr(model, name) for name in MEMBRANE_FIELDS}
        stages.append(
            {
                "vessels": stage.vessels,
                "elements_per_vessel": stage.elements_per_vessel,
                "membrane": model.name,
                "booster": stage.booster,
            }
        )
    given = {key: value for key, value in train.settings.items() if value not in (None, {})}
    settings = given | {"name": train.name, "stage": stages}
    if reference:
        settings["reference"] = {"start": reference[0].start.isoformat(), "end": reference[0].end.isoformat()}
    if oldest_first:
        settings["limits"] = {limit.name: limit.value for limit in oldest_first}
    return {
        "site": {
            "name": site.name,
            "timezone": site.timezone,
            "currency": site.currency,
            "location": site.location,
            "units": site.units,
        },
        "train": settings,
        "membrane": {name: {k: v for k, v in values.items() if v is not None} for name, values in membranes.items()},
    }
