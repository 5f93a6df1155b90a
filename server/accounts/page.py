"""Pages about people as typed values: sign in, set a password, one's own account, everybody, tokens of machines."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from server.accounts.actions import INVITATION
from server.accounts.models import ApiToken, User, UserSession
from server.accounts.passwords import SHORTEST
from server.accounts.roles import ROLE_WORDS, Person, Right
from server.display import ago, counted
from server.plants.models import Site
from server.templating import Frame

Options = tuple[tuple[str, str], ...]
PASSWORD_HINT = f"At least {SHORTEST} characters. A few unrelated words are easy to remember and hard to guess."
ROLE_OPTIONS: Options = (("", "no access"), *((role, role) for role in ROLE_WORDS))


@dataclass(frozen=True)
class DemoPerson:
    """Somebody of the demo, to be signed in as by one click."""

    role: str
    name: str
    words: str


@dataclass(frozen=True)
class SignInPage:
    """The way in; `empty` while there is nobody at all."""

    frame: Frame
    email: str
    back: str
    error: str
    empty: bool
    demo: tuple[DemoPerson, ...]


@dataclass(frozen=True)
class PasswordPage:
    """Set a password by a one-time link, or the first account of all (`first`)."""

    frame: Frame
    action: str
    name: str
    email: str
    first: bool
    errors: Mapping[str, str]
    hint: str = PASSWORD_HINT


@dataclass(frozen=True)
class SessionLine:
    began: str
    used: str
    this: bool


@dataclass(frozen=True)
class RoleLine:
    """A site and what somebody is there."""

    site_id: int
    site: str
    role: str
    words: str
    tokens: bool


@dataclass(frozen=True)
class AccountPage:
    """What a person sees of the own account."""

    frame: Frame
    name: str
    email: str
    administrator: bool
    roles: tuple[RoleLine, ...]
    sessions: tuple[SessionLine, ...]
    errors: Mapping[str, str]
    done: str
    hint: str = PASSWORD_HINT


def account_page(
    frame: Frame, person: Person, sites: Sequence[Site], sessions: Sequence[UserSession], now: datetime,
    *, errors: Mapping[str, str] | None = None, done: str = "",
) -> AccountPage:  # fmt: skip
    """Put the page of one's own account together."""
    return AccountPage(
        frame=frame,
        name=person.name,
        email=person.email,
        administrator=person.administrator,
        roles=tuple(_role(site, person) for site in sites if person.knows(site.id)),
        sessions=tuple(
            SessionLine(ago(s.created_at, now), ago(s.last_used_at, now), s.id == person.session_id) for s in sessions
        ),
        errors=errors or {},
        done=done,
    )


def _role(site: Site, person: Person) -> RoleLine:
    role = person.roles.get(site.id, "administrator" if person.administrator else "")
    words = ROLE_WORDS.get(role, "may do everything")
    return RoleLine(site.id, site.name, role, words, person.may(Right.MANAGE, site.id))


@dataclass(frozen=True)
class PersonLine:
    user_id: int
    name: str
    email: str
    what: str
    sites: str
    last: str


@dataclass(frozen=True)
class PeoplePage:
    """Everybody, and the form to invite one more."""

    frame: Frame
    lines: tuple[PersonLine, ...]
    sites: Options
    roles: Options
    values: Mapping[str, str]
    errors: Mapping[str, str]


def people_page(
    frame: Frame, users: Sequence[User], counts: Mapping[int, int], sites: Sequence[Site], now: datetime,
    *, values: Mapping[str, str] | None = None, errors: Mapping[str, str] | None = None,
) -> PeoplePage:  # fmt: skip
    """Put the list of people together."""
    return PeoplePage(
        frame=frame,
        lines=tuple(_line(user, counts.get(user.id, 0), now) for user in users),
        sites=(("", "none yet"), *((str(site.id), site.name) for site in sites)),
        roles=ROLE_OPTIONS[1:],
        values={"name": "", "email": "", "site": "", "role": "operator"} | dict(values or {}),
        errors=errors or {},
    )


def _line(user: User, sites: int, now: datetime) -> PersonLine:
    if user.disabled_at is not None:
        what = "closed"
    elif not user.password_hash:
        what = "invited"
    else:
        what = "administrator" if user.administrator else "open"
    last = ago(user.last_sign_in_at, now) if user.last_sign_in_at else "never"
    everywhere = "all sites" if user.administrator else counted(sites, "site")
    return PersonLine(user.id, user.name, user.email, what, everywhere, last)


@dataclass(frozen=True)
class PersonPage:
    """One person, as an administrator sees and changes them."""

    frame: Frame
    user_id: int
    name: str
    email: str
    administrator: bool
    closed: bool
    has_password: bool
    own: bool
    last: str
    sites: tuple[RoleLine, ...]
    roles: Options
    role_words: Options
    done: str


def person_page(
    frame: Frame, user: User, roles: Mapping[int, str], sites: Sequence[Site], now: datetime, *, own: bool, done: str
) -> PersonPage:
    """Put the page of one person together."""
    return PersonPage(
        frame=frame,
        user_id=user.id,
        name=user.name,
        email=user.email,
        administrator=user.administrator,
        closed=user.disabled_at is not None,
        has_password=bool(user.password_hash),
        own=own,
        last=ago(user.last_sign_in_at, now) if user.last_sign_in_at else "never",
        sites=tuple(RoleLine(site.id, site.name, roles.get(site.id, ""), "", False) for site in sites),
        roles=ROLE_OPTIONS,
        role_words=tuple(ROLE_WORDS.items()),
        done=done,
    )


@dataclass(frozen=True)
class SecretPage:
    """Something that is shown once: a link for a person, or a token for a machine."""

    frame: Frame
    headline: str
    words: str
    secret: str
    label: str
    notes: tuple[str, ...]
    onward: str
    onward_label: str


def link_page(frame: Frame, user: User, *, address: str, purpose: str, mailed: bool) -> SecretPage:
    """Show a one-time link to the administrator."""
    invited = purpose == INVITATION
    until = "7 days" if invited else "2 hours"
    notes: tuple[str, ...] = (
        f"It works once, within {until}.",
        "Whoever has it can sign in as this person: hand it on with care.",
    )
    if mailed:
        notes = (f"It is also mailed to {user.email}.", *notes)
    return SecretPage(
        frame=frame,
        headline=f"{user.name} is invited." if invited else f"A new password for {user.name}.",
        words="With this link a password is chosen. It is shown only now.",
        secret=address,
        label="The link",
        notes=notes,
        onward=f"/people/{user.id}",
        onward_label=f"To {user.name}",
    )


@dataclass(frozen=True)
class TokenLine:
    token_id: int
    name: str
    may: str
    made: str
    used: str
    revoked: bool


@dataclass(frozen=True)
class TokensPage:
    """Tokens of one site, and the form to make one more."""

    frame: Frame
    site_id: int
    site: str
    lines: tuple[TokenLine, ...]
    name: str
    errors: Mapping[str, str]


def tokens_page(
    frame: Frame, site: Site, tokens: Sequence[ApiToken], now: datetime, *, name: str = "",
    errors: Mapping[str, str] | None = None,
) -> TokensPage:  # fmt: skip
    """Put the tokens of a site together."""
    return TokensPage(frame, site.id, site.name, tuple(_token(t, now) for t in tokens), name, errors or {})


def _token(token: ApiToken, now: datetime) -> TokenLine:
    may = [word for word, given in (("read", token.may_read), ("write readings", token.may_write)) if given]
    return TokenLine(
        token_id=token.id,
        name=token.name,
        may=", ".join(may),
        made=f"{ago(token.created_at, now)}{f' by {token.author}' if token.author else ''}",
        used=ago(token.last_used_at, now) if token.last_used_at else "never",
        revoked=token.revoked_at is not None,
    )


def token_page(frame: Frame, site: Site, name: str, secret: str) -> SecretPage:
    """Show a new token once."""
    return SecretPage(
        frame=frame,
        headline=f"A token for {name}.",
        words=f"It opens {site.name} to a machine, within what was ticked. It is shown only now.",
        secret=secret,
        label="The token",
        notes=("The machine sends it as: Authorization: Bearer TOKEN.", "End it here as soon as it is not needed."),
        onward=f"/sites/{site.id}/tokens",
        onward_label="To the tokens of this site",
    )
