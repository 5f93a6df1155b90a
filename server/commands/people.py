"""`skidbook user`: people, from the machine that the server runs on."""

import os
import sys

import typer

import server.tables  # noqa: F401  # all tables must be known
from server.accounts.actions import INVITATION, RESET, add_user, new_link, set_password
from server.accounts.passwords import hash_password, password_problem
from server.accounts.queries import any_users, list_users, user_of_email
from server.db import make_engine, transaction
from server.errors import AppError
from server.schema import migrate, require_current
from server.settings import Settings, load_settings

PASSWORD = "SKIDBOOK_PASSWORD"


class BadPassword(AppError):
    """A password that cannot be taken."""


def run_user_add(email: str, *, name: str, administrator: bool, password_stdin: bool) -> None:
    """Add a person with a password, or print the link with which they choose one."""
    settings = load_settings()
    engine = make_engine(settings.database_url)
    migrate(engine)
    password = _password(from_stdin=password_stdin)
    if password and (problem := password_problem(password, email=email, name=name)):
        raise BadPassword(problem)
    hashed = hash_password(password) if password else ""
    with transaction(engine) as session:
        user = add_user(session, email, name=name, administrator=administrator)
        what = "administrator" if administrator else "no role yet; an administrator gives one on the page People"
        print(f"{user.name} <{user.email}>: {what}")
        if hashed:
            set_password(session, user, hashed)
        else:
            _print_link(settings, new_link(session, user, INVITATION), "7 days")


def run_user_link(email: str) -> None:
    """Print a link with which a person chooses a new password."""
    settings = load_settings()
    engine = make_engine(settings.database_url)
    require_current(engine)
    with transaction(engine) as session:
        user = user_of_email(session, email)
        if user is None or user.disabled_at is not None:
            raise AppError(f"there is no open account with the address {email}")
        purpose = RESET if user.password_hash else INVITATION
        _print_link(settings, new_link(session, user, purpose), "2 hours" if user.password_hash else "7 days")


def run_user_list() -> None:
    """Print everybody, one a line."""
    engine = make_engine(load_settings().database_url)
    require_current(engine)
    with transaction(engine, writes=False) as session:
        for user in list_users(session):
            state = "closed" if user.disabled_at else "open" if user.password_hash else "invited"
            print(f"{user.email}\t{user.name}\t{state}{', administrator' if user.administrator else ''}")


def nobody_yet(settings: Settings) -> bool:
    """Whether a database has nobody who could sign in."""
    engine = make_engine(settings.database_url)
    with transaction(engine, writes=False) as session:
        found = any_users(session)
    engine.dispose()
    return not found


def _print_link(settings: Settings, secret: str, until: str) -> None:
    named = [name.strip() for name in settings.allowed_hosts.split(",") if name.strip()]
    scheme = "https" if settings.behind_tls else "http"
    place = named[0] if named else f"localhost:{settings.port}"
    print(f"Open this once, within {until}, to choose a password (the server must be running):")
    print(f"  {scheme}://{place}/links/{secret}")


def _password(*, from_stdin: bool) -> str:
    """The password that was given; empty when none was, and then there is a link."""
    if from_stdin:
        return sys.stdin.readline().rstrip("\r\n")
    if given := os.environ.get(PASSWORD, ""):
        return given
    if not sys.stdin.isatty():
        return ""
    return str(typer.prompt("Password (empty for a link)", default="", hide_input=True, show_default=False))
