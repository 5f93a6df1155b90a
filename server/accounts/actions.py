"""Change who may come in: people, their roles and passwords, one-time links, tokens of machines."""

from collections.abc import Mapping
from datetime import timedelta

from sqlalchemy import Engine, delete, update
from sqlalchemy.orm import Session

from server.accounts.models import ApiToken, OneTimeLink, SiteRole, User
from server.accounts.queries import list_sites, normal_email, roles_of, user_of_email
from server.accounts.roles import ROLES
from server.accounts.secrets import TOKEN_PREFIX, digest, new_secret
from server.accounts.sessions import end_sessions
from server.audit.actions import record
from server.db import now, transaction
from server.errors import Conflict, NotFound
from server.faults import StoreFault

INVITATION, RESET = "invitation", "reset"
GOOD_FOR = {INVITATION: timedelta(days=7), RESET: timedelta(hours=2)}
LONGEST_EMAIL = 254


def email_problem(email: str) -> str:
    """What is wrong with an address, in one sentence; empty when nothing is. Only mail can tell whether it is read.

    Examples
    --------
    >>> email_problem("ana@example.org")
    ''
    """
    name, at, place = normal_email(email).rpartition("@")
    plain = email.strip().isprintable() and not any(sign in email.strip() for sign in " ,;<>\"'")
    if not (name and at and place and plain) or len(email.strip()) > LONGEST_EMAIL:
        return "This is not an address such as ana@example.org."
    return ""


def add_user(session: Session, email: str, *, name: str = "", administrator: bool = False, author: str = "") -> User:
    """Add a person, who cannot sign in before a password is set; raises `Conflict` when the address is known."""
    address = normal_email(email)
    if problem := email_problem(address):
        raise Conflict(problem)
    if user_of_email(session, address) is not None:
        raise Conflict(f"{address} is somebody already.")
    user = User(email=address, name=(name.strip() or address.partition("@")[0])[:200], administrator=administrator)
    session.add(user)
    session.flush()
    after = {"email": user.email, "administrator": user.administrator}
    record(session, "person-added", object_id=user.id, after=after, author=author)
    return user


def set_password(session: Session, user: User, password_hash: str, *, author: str = "") -> None:
    """Give a person a new password; every session and link of theirs ends with it."""
    user.password_hash = password_hash
    end_sessions(session, user.id)
    _end_links(session, user.id)
    record(session, "password-changed", object_id=user.id, author=author)


def new_link(session: Session, user: User, purpose: str) -> str:
    """Make a one-time link for a person; returns its secret. Earlier links of theirs end."""
    _end_links(session, user.id)
    secret = new_secret()
    session.add(
        OneTimeLink(digest=digest(secret), user_id=user.id, purpose=purpose, expires_at=now() + GOOD_FOR[purpose])
    )
    record(session, "link-made", object_id=user.id, after={"purpose": purpose})
    return secret


def use_link(session: Session, link: OneTimeLink) -> None:
    """Use a link up; raises `NotFound` when somebody else was quicker."""
    done = session.execute(
        update(OneTimeLink).where(OneTimeLink.id == link.id, OneTimeLink.used_at.is_(None)).values(used_at=now()),
        execution_options={"synchronize_session": False},
    )
    if done.rowcount != 1:  # type: ignore[attr-defined]
        raise NotFound("This link was used already.")


def _end_links(session: Session, user_id: int) -> None:
    session.execute(
        update(OneTimeLink).where(OneTimeLink.user_id == user_id, OneTimeLink.used_at.is_(None)).values(used_at=now()),
        execution_options={"synchronize_session": False},
    )


def change_user(session: Session, user: User, *, name: str, administrator: bool, disabled: bool) -> None:
    """Change what an administrator may change of a person; whoever is shut out is signed out at once."""
    before = _state(user)
    user.name = name.strip()[:200] or user.name
    user.administrator = administrator
    user.disabled_at = (user.disabled_at or now()) if disabled else None
    if disabled:
        end_sessions(session, user.id)
        _end_links(session, user.id)
    session.flush()
    record(session, "person-changed", object_id=user.id, before=before, after=_state(user))


def _state(user: User) -> dict[str, object]:
    return {"name": user.name, "administrator": user.administrator, "disabled": user.disabled_at is not None}


def set_roles(session: Session, user: User, roles: Mapping[int, str]) -> None:
    """Give a person a role at each named site; an empty one takes it away. Other sites stay as they are."""
    before = roles_of(session, user.id)
    known = {site.id for site in list_sites(session)}
    for site_id, role in roles.items():
        if site_id not in known or (role and role not in ROLES) or before.get(site_id, "") == role:
            continue
        session.execute(delete(SiteRole).where(SiteRole.user_id == user.id, SiteRole.site_id == site_id))
        if role:
            session.add(SiteRole(user_id=user.id, site_id=site_id, role=role))
        session.flush()
        record(
            session, "role-changed", site_id=site_id, object_id=user.id,
            before={"role": before.get(site_id, "")}, after={"email": user.email, "role": role},
        )  # fmt: skip


def add_token(session: Session, site_id: int, name: str, *, may_read: bool, may_write: bool, author: str) -> str:
    """Make a token for a machine of a site; returns its secret, which is not kept."""
    secret = TOKEN_PREFIX + new_secret()
    token = ApiToken(
        digest=digest(secret), site_id=site_id, name=name.strip()[:100], may_read=may_read, may_write=may_write,
        author=author,
    )  # fmt: skip
    session.add(token)
    session.flush()
    record(
        session, "token-added", site_id=site_id, object_id=token.id,
        after={"name": token.name, "may_read": may_read, "may_write": may_write},
    )  # fmt: skip
    return secret


def revoke_token(session: Session, site_id: int, token_id: int) -> None:
    """End a token of a site; raises `NotFound` when it is not one of that site."""
    token = session.get(ApiToken, token_id)
    if token is None or token.site_id != site_id:
        raise NotFound(f"There is no token with the number {token_id}.")
    if token.revoked_at is None:
        token.revoked_at = now()
        record(session, "token-revoked", site_id=site_id, object_id=token.id, before={"name": token.name})


def note_token_use(session: Session, token_id: int) -> None:
    """Write down that a token was used just now."""
    session.execute(
        update(ApiToken).where(ApiToken.id == token_id).values(last_used_at=now()),
        execution_options={"synchronize_session": False},
    )


def note_token_use_apart(engine: Engine, token_id: int) -> None:
    """The same in a transaction of its own, beside one that only reads; where the database is busy, later."""
    try:
        with transaction(engine) as session:
            note_token_use(session, token_id)
    except StoreFault:
        return
