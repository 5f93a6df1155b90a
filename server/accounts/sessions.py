"""Sessions: begin one at sign-in, find the person of a request, end one or all."""

from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import Engine, delete, select, update
from sqlalchemy.orm import Session

from server.accounts.models import SiteRole, User, UserSession
from server.accounts.roles import Person
from server.accounts.secrets import digest, new_secret
from server.db import now, transaction
from server.faults import StoreFault

IDLE, LONGEST = timedelta(hours=12), timedelta(days=14)
NOTED_EVERY = timedelta(minutes=10)
"""How exactly the last use is known: writing it with every page would make every page a writer."""


@dataclass(frozen=True)
class Found:
    """The person of a session, and whether its last use is to be written down again."""

    person: Person
    stale: bool


def begin_session(session: Session, user: User) -> str:
    """Sign a person in; returns the secret for the cookie. Sessions that have run out go at the same time."""
    moment, secret = now(), new_secret()
    ended = (UserSession.expires_at < moment) | (UserSession.last_used_at < moment - IDLE)
    session.execute(delete(UserSession).where(ended), execution_options={"synchronize_session": False})
    session.add(UserSession(digest=digest(secret), user_id=user.id, expires_at=moment + LONGEST))
    user.last_sign_in_at = moment
    session.flush()
    return secret


def find_person(session: Session, secret: str) -> Found | None:
    """The person of a session that is still good."""
    moment = now()
    row = session.execute(
        select(UserSession, User).join(User, User.id == UserSession.user_id).where(UserSession.digest == digest(secret))
    ).first()
    if row is None:
        return None
    held, user = row
    if held.expires_at <= moment or held.last_used_at <= moment - IDLE or user.disabled_at is not None:
        return None
    roles = session.execute(select(SiteRole.site_id, SiteRole.role).where(SiteRole.user_id == user.id))
    person = Person(
        id=user.id,
        session_id=held.id,
        name=user.name,
        email=user.email,
        administrator=user.administrator,
        roles={row.site_id: row.role for row in roles},
    )
    return Found(person, held.last_used_at <= moment - NOTED_EVERY)


def note_use(session: Session, session_id: int) -> None:
    """Write down that a session was used just now."""
    session.execute(
        update(UserSession).where(UserSession.id == session_id).values(last_used_at=now()),
        execution_options={"synchronize_session": False},
    )


def note_use_apart(engine: Engine, session_id: int) -> None:
    """The same in a transaction of its own, beside one that only reads; where the database is busy, later."""
    try:
        with transaction(engine) as session:
            note_use(session, session_id)
    except StoreFault:
        return


def end_session(session: Session, session_id: int) -> None:
    """Sign one browser out."""
    session.execute(
        delete(UserSession).where(UserSession.id == session_id), execution_options={"synchronize_session": False}
    )


def end_secret(session: Session, secret: str) -> None:
    """Sign out the browser that holds a secret, if any does."""
    session.execute(
        delete(UserSession).where(UserSession.digest == digest(secret)),
        execution_options={"synchronize_session": False},
    )


def end_sessions(session: Session, user_id: int) -> None:
    """Sign a person out everywhere."""
    session.execute(
        delete(UserSession).where(UserSession.user_id == user_id), execution_options={"synchronize_session": False}
    )


def open_sessions(session: Session, user_id: int) -> list[UserSession]:
    """Sessions of a person that are still good, the latest used first."""
    moment = now()
    query = select(UserSession).where(
        UserSession.user_id == user_id, UserSession.expires_at > moment, UserSession.last_used_at > moment - IDLE
    )
    return list(session.scalars(query.order_by(UserSession.last_used_at.desc(), UserSession.id.desc())))
