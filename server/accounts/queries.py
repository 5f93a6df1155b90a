"""Find people, their roles, links, and tokens of machines."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from server.accounts.models import ApiToken, OneTimeLink, SiteRole, User
from server.accounts.secrets import digest
from server.db import now
from server.errors import NotFound
from server.plants.models import Site


@dataclass(frozen=True)
class Machine:
    """A token that is good: the site that it opens and what it may do there."""

    id: int
    site_id: int
    name: str
    may_read: bool
    may_write: bool
    used_lately: bool


def normal_email(text: str) -> str:
    """An address as it is kept and looked for.

    Examples
    --------
    >>> normal_email("  Ana@Example.ORG ")
    'ana@example.org'
    """
    return text.strip().casefold()


def any_users(session: Session) -> bool:
    """Whether there is anybody at all."""
    return session.scalar(select(User.id).limit(1)) is not None


def user_of_email(session: Session, email: str) -> User | None:
    """The person of an address."""
    return session.scalar(select(User).where(User.email == normal_email(email)))


def user_or_404(session: Session, user_id: int) -> User:
    """One person."""
    found = session.get(User, user_id)
    if found is None:
        raise NotFound(f"There is nobody with the number {user_id}.")
    return found


def list_users(session: Session) -> list[User]:
    """Everybody, by name."""
    return list(session.scalars(select(User).order_by(User.name, User.email)))


def list_sites(session: Session) -> list[Site]:
    """All sites by name."""
    return list(session.scalars(select(Site).order_by(Site.name)))


def site_or_404(session: Session, site_id: int) -> Site:
    """One site."""
    found = session.get(Site, site_id)
    if found is None:
        raise NotFound(f"There is no site with the number {site_id}.")
    return found


def roles_of(session: Session, user_id: int) -> dict[int, str]:
    """Role of a person by site."""
    rows = session.execute(select(SiteRole.site_id, SiteRole.role).where(SiteRole.user_id == user_id))
    return {row.site_id: row.role for row in rows}


def role_counts(session: Session) -> dict[int, int]:
    """At how many sites each person has a role."""
    rows = session.execute(select(SiteRole.user_id, func.count().label("sites")).group_by(SiteRole.user_id))
    return {row.user_id: row.sites for row in rows}


def good_link(session: Session, secret: str) -> tuple[OneTimeLink, User] | None:
    """A link that was not used and has not run out, with its person."""
    row = session.execute(
        select(OneTimeLink, User)
        .join(User, User.id == OneTimeLink.user_id)
        .where(
            OneTimeLink.digest == digest(secret),
            OneTimeLink.used_at.is_(None),
            OneTimeLink.expires_at > now(),
            User.disabled_at.is_(None),
        )
    ).first()
    return (row[0], row[1]) if row is not None else None


def list_tokens(session: Session, site_id: int) -> list[ApiToken]:
    """Tokens of a site, newest first, the revoked ones among them."""
    return list(session.scalars(select(ApiToken).where(ApiToken.site_id == site_id).order_by(ApiToken.id.desc())))


def find_machine(session: Session, secret: str) -> Machine | None:
    """The token that a machine showed, when it is good."""
    row = session.scalar(select(ApiToken).where(ApiToken.digest == digest(secret), ApiToken.revoked_at.is_(None)))
    if row is None:
        return None
    lately = row.last_used_at is not None and (now() - row.last_used_at).total_seconds() < 60
    return Machine(row.id, row.site_id, f"{row.name} (token)", row.may_read, row.may_write, lately)
