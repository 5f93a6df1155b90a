"""Change what was chosen for a train: limits, reference period, settings. Old choices stay in their tables."""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from analytics.errors import InvalidSettings
from analytics.plant import Limits
from analytics.plant_file import plant_from_dict
from server.audit.actions import changes, record
from server.audit.author import writer
from server.errors import AppError, Conflict, NotFound
from server.plants.actions import inputs_changed
from server.plants.models import Limit, Reference, Train
from server.plants.queries import plant_document

LIMITS = {field.name: field.default for field in dataclasses.fields(Limits)}
SETTINGS = ("assumed", "method", "screening", "meters", "cleaning", "dosing")
"""Tables of the plant file that are settings of a train, beside `water`."""


class WrongChoice(AppError):
    """What was chosen cannot be meant; the message names the key as in a plant file."""

    status_code = 422


@dataclass(frozen=True)
class Choices:
    """What is wanted: every limit by name, the reference period or none, `water`, and the tables of `SETTINGS`."""

    limits: Mapping[str, float]
    reference: tuple[date, date] | None
    water: str
    settings: Mapping[str, Mapping[str, Any]]


def change_setup(session: Session, train_id: int, wanted: Choices, *, reason: str, author: str = "") -> bool:
    """Bring the choices of a train to those wanted; True when anything changed.

    Raises
    ------
    WrongChoice
        By the rules of a plant file, such as a limit on the wrong side of its warning.
    Conflict
        Without a reason.
    """
    if not reason.strip():
        raise Conflict("A change of the set-up needs a reason.")
    train = session.get(Train, train_id, with_for_update=True)
    if train is None:
        raise NotFound(f"There is no train with the number {train_id}.")
    before = plant_document(session, train_id)["train"]
    author = writer(session, author)
    _change_limits(session, train_id, before.get("limits", {}), wanted.limits, (reason, author))
    _change_reference(session, train_id, before.get("reference"), wanted.reference, (reason, author))
    _change_settings(session, train, wanted, (reason, author))
    session.flush()
    session.expire_all()
    after = plant_document(session, train_id)
    try:
        plant_from_dict(after)
    except InvalidSettings as error:
        raise WrongChoice(str(error)) from error
    if after["train"] == before:
        return False
    inputs_changed(session, train_id, whole=True)
    return True


def _change_limits(
    session: Session, train_id: int, given: Mapping[str, float], wanted: Mapping[str, float], why: tuple[str, str]
) -> None:
    old, new = changes(LIMITS | dict(given), LIMITS | dict(given) | dict(wanted))
    if new:
        reason, author = why
        session.add_all(
            Limit(train_id=train_id, name=name, value=value, reason=reason, author=author)
            for name, value in new.items()
        )
        record(session, "limits-changed", train_id=train_id, before=old, after=new, reason=reason, author=author)


def _change_reference(
    session: Session,
    train_id: int,
    given: Mapping[str, str] | None,
    wanted: tuple[date, date] | None,
    why: tuple[str, str],
) -> None:
    new = {"start": wanted[0].isoformat(), "end": wanted[1].isoformat()} if wanted else None
    if wanted is None and given:
        raise WrongChoice("A reference that was chosen can be moved, but not taken away.")
    if wanted and new != given:
        reason, author = why
        session.add(Reference(train_id=train_id, start=wanted[0], end=wanted[1], reason=reason, author=author))
        record(session, "reference-changed", train_id=train_id, before=given, after=new, reason=reason, author=author)


def _change_settings(session: Session, train: Train, wanted: Choices, why: tuple[str, str]) -> None:
    settings: dict[str, Any] = dict(train.settings) | {"water": wanted.water}
    settings |= {key: dict(wanted.settings.get(key, {})) for key in SETTINGS}
    old, new = changes(_flat(train.settings), _flat(settings))
    if new:
        train.settings = settings
        record(session, "settings-changed", train_id=train.id, before=old, after=new, reason=why[0], author=why[1])


def _flat(settings: Mapping[str, Any]) -> dict[str, Any]:
    """Settings as one table with the paths of a plant file: `screening.spike_ratio`."""
    found: dict[str, Any] = {"water": settings.get("water")}
    for key in SETTINGS:
        found |= {f"{key}.{name}": value for name, value in (settings.get(key) or {}).items()}
    return found
