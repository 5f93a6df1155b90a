"""Add trains to the records."""

import dataclasses
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from analytics import plant as science
from server.assessments.due import Span, note_due
from server.audit.actions import record
from server.audit.author import writer
from server.errors import Conflict
from server.plants.models import ElementModel, Limit, Reference, Site, Stage, Train
from server.plants.queries import MEMBRANE_FIELDS, plant_document

FROM_PLANT_FILE = "plant file"


def add_plant(session: Session, plant: science.Plant, source: str = "", *, author: str = "") -> Train:
    """Add the train of a plant, and its site when it is new.

    Parameters
    ----------
    plant
        What the plant file says.
    source
        The text of the plant file, kept as it came.

    Raises
    ------
    Conflict
        When the site already has a train of that name, or is known with another clock, currency or units.
    """
    author, site = writer(session, author), _site(session, plant.site)
    if session.scalar(select(Train.id).where(Train.site_id == site.id, Train.name == plant.train.name)):
        raise Conflict(f'the site "{site.name}" already has a train "{plant.train.name}"; nothing was changed')
    train = Train(site=site, name=plant.train.name, settings=_settings(plant.train), plant_file=source)
    session.add(train)
    session.flush()
    for number, stage in enumerate(plant.train.stages, start=1):
        session.add(
            Stage(
                train_id=train.id,
                number=number,
                vessels=stage.vessels,
                elements_per_vessel=stage.elements_per_vessel,
                element_model=_element_model(session, stage),
                booster=stage.booster,
            )
        )
    _add_choices(session, train.id, plant.train, author)
    session.flush()
    record(session, "plant-added", train_id=train.id, after=plant_document(session, train.id), author=author)
    return train


def _site(session: Session, given: science.Site) -> Site:
    site = session.scalar(select(Site).where(Site.name == given.name))
    if site is None:
        site = Site(**dataclasses.asdict(given))
        session.add(site)
        session.flush()
        return site
    for key in ("timezone", "currency", "units"):
        if getattr(site, key) != getattr(given, key):
            raise Conflict(
                f'the site "{site.name}" is known with {key} "{getattr(site, key)}", the plant file says '
                f'"{getattr(given, key)}"; nothing was changed'
            )
    return site


def _element_model(session: Session, stage: science.Stage) -> ElementModel:
    """The element model of that name with exactly these figures, added when there is none."""
    values = {name: getattr(stage.membrane, name) for name in MEMBRANE_FIELDS}
    for model in session.scalars(select(ElementModel).where(ElementModel.name == stage.membrane_name)):
        if all(getattr(model, name) == value for name, value in values.items()):
            return model
    model = ElementModel(name=stage.membrane_name, **values)
    session.add(model)
    session.flush()
    return model


def _settings(train: science.Train) -> dict[str, Any]:
    """What of a train has no column of its own, without what is at its default."""
    settings: dict[str, Any] = {"water": train.water}
    for key in ("assumed", "method", "screening", "meters", "cleaning", "dosing"):
        settings[key] = _given(getattr(train, key))
    return settings


def _given(part: Any) -> dict[str, Any]:
    return {
        field.name: getattr(part, field.name)
        for field in dataclasses.fields(part)
        if getattr(part, field.name) != field.default
    }


def _add_choices(session: Session, train_id: int, train: science.Train, author: str) -> None:
    if train.reference:
        session.add(
            Reference(
                train_id=train_id,
                start=train.reference.start,
                end=train.reference.end,
                author=author,
                reason=FROM_PLANT_FILE,
            )
        )
    for name, value in _given(train.limits).items():
        session.add(Limit(train_id=train_id, name=name, value=value, author=author, reason=FROM_PLANT_FILE))


def inputs_changed(session: Session, train_id: int, span: Span | None = None, *, whole: bool = False) -> int:
    """Note that something an assessment of this train rests on changes; returns the version that has the change.

    `span` names the readings that change, when any do; `whole` says that all days must be worked out again.

    The row of the train stays locked until the end of the transaction, so changes of one train come one by one.
    """
    session.execute(
        update(Train).where(Train.id == train_id).values(inputs_version=Train.inputs_version + 1),
        execution_options={"synchronize_session": "fetch"},
    )
    note_due(session, train_id, span, whole=whole)
    return session.scalars(select(Train.inputs_version).where(Train.id == train_id)).one()
