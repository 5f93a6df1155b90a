"""What a route needs, declared where the route is: `@router.get(..., dependencies=[needs(Right.SEE)])`.

The site of a right is found from the address. Somebody who has nothing to do with a site gets the very answer that a
number which does not exist gets, so that nobody can learn which sites there are.
"""

import logging
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Annotated, Any

from fastapi import Depends, FastAPI, Request, params
from fastapi.routing import APIRoute, iter_route_contexts
from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from server.accounts.actions import note_token_use, note_token_use_apart
from server.accounts.queries import find_machine
from server.accounts.roles import SITE_RIGHTS, Person, Right
from server.accounts.sessions import find_person, note_use, note_use_apart
from server.assessments.models import PastAssessment
from server.cleanings.models import Cleaning, CleaningPhoto
from server.db import get_session, transaction
from server.elements.models import VesselRound
from server.errors import AppError, NotAllowed, NotFound
from server.events.models import Event
from server.feedwater.models import FeedAnalysis
from server.intake.models import Import
from server.plants.models import Site, Train
from server.readings.models import Reading
from server.security.cookies import SESSION, secret_of
from server.security.form_token import require_token, sent_token
from server.security.rate_limits import address_of
from server.shift.models import GaugePhoto, ShiftEntry
from server.watching.logs import log

SentToken = Annotated[str, Depends(sent_token)]
RequestSession = Annotated[Session, Depends(get_session, scope="function")]
MOST_ID = 2**31 - 1
BEARER = "bearer "


def _of_train(model: Any, key: int) -> Select[Any]:
    return select(Train.site_id).join(model, model.train_id == Train.id).where(model.id == key)


def _of_photo(key: int) -> Select[Any]:
    of_entry = select(Train.site_id).join(ShiftEntry, ShiftEntry.train_id == Train.id)
    return of_entry.join(GaugePhoto, GaugePhoto.entry_id == ShiftEntry.id).where(GaugePhoto.id == key)


def _of_picture(key: int) -> Select[Any]:
    of_cleaning = select(Train.site_id).join(Cleaning, Cleaning.train_id == Train.id)
    return of_cleaning.join(CleaningPhoto, CleaningPhoto.cleaning_id == Cleaning.id).where(CleaningPhoto.id == key)


SITE_OF: dict[str, Callable[[int], Select[Any]]] = {
    "site_id": lambda key: select(Site.id).where(Site.id == key),
    "train_id": lambda key: select(Train.site_id).where(Train.id == key),
    "import_id": lambda key: _of_train(Import, key),
    "reading_id": lambda key: _of_train(Reading, key),
    "event_id": lambda key: _of_train(Event, key),
    "round_id": lambda key: _of_train(VesselRound, key),
    "cleaning_id": lambda key: _of_train(Cleaning, key),
    "analysis_id": lambda key: _of_train(FeedAnalysis, key),
    "entry_id": lambda key: _of_train(ShiftEntry, key),
    "photo_id": _of_photo,
    "picture_id": _of_picture,
    "past_id": lambda key: _of_train(PastAssessment, key),
}
"""How the site is found from each number that an address may hold."""
WORDS = {"past_id": "past verdict", "picture_id": "photo of a cleaning"}
"""What a person calls it, where the name of the number does not say so."""
CHECKED_BY_ITS_ACTION = frozenset({"token_id", "spending_id"})
"""Numbers behind that of a site whose own action looks whether they belong to it."""


class SignInFirst(AppError):
    """Nobody is signed in, or not any more."""

    status_code = 401


class NoToken(AppError):
    """A machine came without a token that is good."""

    status_code = 401


def _is_number(text: str) -> bool:
    """Whether a part of an address can be the number of a row."""
    return text.isascii() and text.isdigit() and len(text) <= 10 and int(text) <= MOST_ID


def _nothing_there(path: Mapping[str, Any]) -> NotFound:
    """The error for a number that leads nowhere, or to where this person must not look: the same in both cases."""
    name = next((name for name in reversed(list(path)) if name in SITE_OF), "")
    word = WORDS.get(name, name.removesuffix("_id"))
    return NotFound(f"There is no {word} with the number {path[name]}." if name else "")


def site_of(session: Session, path: Mapping[str, Any]) -> int:
    """The site that an address is about; raises `NotFound` when there is none, or its parts do not belong together."""
    found: set[int | None] = set()
    for name, query in SITE_OF.items():
        if name in path:
            if not _is_number(str(path[name])):
                raise NotFound("There is no such page.")
            found.add(session.scalar(query(int(path[name]))))
    site = found.pop() if len(found) == 1 else None
    if site is None:
        raise _nothing_there(path)
    return site


def _require(session: Session, request: Request, person: Person, right: Right) -> None:
    """Raise when a person does not have a right where the address leads."""
    for name, value in request.path_params.items():
        if name.endswith("_id") and not _is_number(str(value)):
            raise NotFound("There is no such page.")
    if right in SITE_RIGHTS:
        site_id = site_of_person(session, request, person)
        request.state.site_id = site_id
        allowed = person.may(right, site_id)
    elif right is Right.FLEET_BUDGET:
        allowed = person.may_see_budgets
    elif right is Right.ADD_PLANT:
        allowed = person.may_add_plants
    elif right is Right.ADMINISTER:
        allowed = person.administrator
    else:
        allowed = True
    if not allowed:
        log(logging.WARNING, "not allowed", user=person.id, needed=right.value)
        raise NotAllowed("Your role here does not include this.")


def site_of_person(session: Session, request: Request, person: Person) -> int:
    """The site of the address, if this person may know of it; else the error that a wrong number gets."""
    site_id = site_of(session, request.path_params)
    if not person.knows(site_id):
        log(logging.WARNING, "not allowed", user=person.id, needed="to know the site")
        raise _nothing_there(request.path_params)
    return site_id


def require_engineer(session: Session, person: Person, site: str) -> None:
    """Raise `NotAllowed` unless a person may add trains to a site; the same words for one that is not there."""
    site_id = session.scalar(select(Site.id).where(Site.name == site))
    if not person.administrator and (site_id is None or not person.may(Right.MANAGE, site_id)):
        raise NotAllowed(f'You may add trains to sites where you are engineer; "{site}" is not one of them.')


class PublicGate:
    """Everybody passes; a change needs the token of the form."""

    right = Right.PUBLIC

    def __call__(self, request: Request, sent: SentToken) -> None:
        require_token(request, sent)


class PersonGate:
    """Somebody who is signed in and has the right passes; `request.state.user` is that person from here on."""

    def __init__(self, right: Right) -> None:
        self.right = right

    def __call__(self, request: Request, sent: SentToken, session: RequestSession) -> None:
        self.admit(request, sent, session)

    def admit(self, request: Request, sent: str, session: Session) -> None:
        """Find out who it is and whether that is enough; raises the error to show otherwise."""
        secret = secret_of(request, SESSION)
        found = find_person(session, secret) if secret else None
        if found is None:
            raise SignInFirst("Sign in first; then this is done again.")
        request.state.user = found.person
        require_token(request, sent)
        _require(session, request, found.person, self.right)
        if found.stale and _writes(session):
            note_use(session, found.person.session_id)
        elif found.stale:
            note_use_apart(request.app.state.engine, found.person.session_id)


class ApartGate(PersonGate):
    """The same in a short transaction of its own, for a route that works long and then writes by itself."""

    def __call__(self, request: Request, sent: SentToken) -> None:  # type: ignore[override]
        with transaction(request.app.state.engine, writes=False) as session:
            self.admit(request, sent, session)


def _writes(session: Session) -> bool:
    return bool(session.connection().get_execution_options().get("writes", True))


class MachineGate:
    """A machine passes with a token of the site in the address; cookies are not looked at."""

    def __init__(self, right: Right) -> None:
        self.right = right

    def __call__(self, request: Request, session: RequestSession) -> None:
        limits, header = request.app.state.limits, request.headers.get("authorization", "")
        secret = header[len(BEARER) :].strip() if header.lower().startswith(BEARER) else ""
        machine = find_machine(session, secret) if secret else None
        if machine is None:
            limits.unknown_token.take(address_of(request))
            log(logging.WARNING, "token refused")
            raise NoToken("Send a token of this site as: Authorization: Bearer TOKEN.")
        limits.token.take(str(machine.id))
        request.state.user = machine
        request.state.site_id = machine.site_id
        path = request.path_params
        if any(name in path for name in SITE_OF) and site_of(session, path) != machine.site_id:
            raise _nothing_there(path)
        if not (machine.may_write if self.right is Right.TOKEN_WRITE else machine.may_read):
            raise NotAllowed("This token is not for that.")
        if not machine.used_lately and _writes(session):
            note_token_use(session, machine.id)
        elif not machine.used_lately:
            note_token_use_apart(request.app.state.engine, machine.id)


def needs(right: Right, *, apart: bool = False) -> params.Depends:
    """Declare what a route needs; `apart` finds it out in a transaction of its own."""
    if right is Right.PUBLIC:
        return params.Depends(PublicGate())
    if right in {Right.TOKEN_READ, Right.TOKEN_WRITE}:
        return params.Depends(MachineGate(right))
    return params.Depends(ApartGate(right) if apart else PersonGate(right))


def person_of(request: Request) -> Person:
    """Who makes this request, on a route that needs somebody."""
    person: Person = request.state.user
    return person


def declared_routes(app: FastAPI) -> Iterator[tuple[APIRoute, Right | None]]:
    """Every route of an application with what it needs; None where that was forgotten."""
    for context in iter_route_contexts(app.routes):
        route = getattr(context, "route", context)
        if isinstance(route, APIRoute):
            calls = [dependency.dependency for dependency in route.dependencies]
            rights = [call.right for call in calls if isinstance(call, PublicGate | PersonGate | MachineGate)]
            yield route, rights[0] if rights else None


class Undeclared(RuntimeError):
    """A route does not say what it needs."""


def require_declared(app: FastAPI) -> None:
    """Raise `Undeclared` when any route of an application does not say what it needs, or about which site."""
    for route, right in declared_routes(app):
        if right is None:
            raise Undeclared(f"{sorted(route.methods or ())} {route.path}: add needs(...) to its dependencies")
        if right in SITE_RIGHTS and not any(f"{{{name}}}" in route.path for name in SITE_OF):
            raise Undeclared(f"{route.path}: nothing in this address says which site it is about")
        if right in SITE_RIGHTS or right in {Right.TOKEN_READ, Right.TOKEN_WRITE}:
            _require_known_numbers(route.path)


def _require_known_numbers(path: str) -> None:
    """A number that nobody looks up could belong to another site."""
    for name in re.findall(r"{(\w+_id)(?::\w+)?}", path):
        if name not in SITE_OF and name not in CHECKED_BY_ITS_ACTION:
            raise Undeclared(f"{path}: add {name} to SITE_OF, which says how its site is found")
