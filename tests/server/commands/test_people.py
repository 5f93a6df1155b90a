"""`skidbook user`: from the machine that the server runs on."""

import io
import re
import sys
from collections.abc import Callable

import pytest
from sqlalchemy import select

from server.accounts.models import User
from server.accounts.passwords import password_fits
from server.accounts.queries import good_link
from server.cli import app as cli
from server.db import make_engine, transaction
from server.errors import AppError

PASSWORD = "seven grey pumps hum"
Run = Callable[..., str]


@pytest.fixture
def run(sqlite_url: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.setenv("SKIDBOOK_DATABASE_URL", sqlite_url)
    monkeypatch.delenv("SKIDBOOK_PASSWORD", raising=False)

    def ran(*arguments: str, typed: str = "") -> str:
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        cli(list(arguments), standalone_mode=False)
        return capsys.readouterr().out

    return ran


def test_a_password_is_read_from_standard_input(run: Run, sqlite_url: str) -> None:
    said = run("user", "add", "Ana@Example.org", "--administrator", "--password-stdin", typed=f"{PASSWORD}\n")
    assert "administrator" in said and "/links/" not in said and PASSWORD not in said
    engine = make_engine(sqlite_url)
    with transaction(engine) as session:
        user = session.scalars(select(User)).one()
        assert user.email == "ana@example.org" and user.administrator and password_fits(user.password_hash, PASSWORD)
    engine.dispose()
    assert "ana@example.org\tana\topen, administrator" in run("user", "list")


def test_a_password_is_read_from_the_environment(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SKIDBOOK_PASSWORD", PASSWORD)
    assert "/links/" not in run("user", "add", "ana@example.org")


def test_without_a_password_a_link_is_printed_that_works(run: Run, sqlite_url: str) -> None:
    for arguments in (["add", "ana@example.org", "--name", "Ana"], ["link", "ana@example.org"]):
        said = run("user", *arguments)
        link = re.search(r"http://localhost:8420/links/([\w-]+)", said)
        assert link is not None
        engine = make_engine(sqlite_url)
        with transaction(engine) as session:
            assert good_link(session, link[1]) is not None
        engine.dispose()


def test_the_link_names_the_server_as_browsers_do(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SKIDBOOK_ALLOWED_HOSTS", "skid.example.org")
    monkeypatch.setenv("SKIDBOOK_BEHIND_TLS", "true")
    assert "https://skid.example.org/links/" in run("user", "add", "ana@example.org")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["user", "add", "nothing"], "not an address"),
        (["user", "add", "ana@example.org", "--password-stdin"], "at least 12"),
        (["user", "link", "nobody@example.org"], "no open account"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_line_and_changes_nothing(
    run: Run, sqlite_url: str, arguments: list[str], said: str
) -> None:
    with pytest.raises(AppError, match=said):
        run(*arguments, typed="short\n")
    engine = make_engine(sqlite_url)
    with transaction(engine) as session:
        assert session.scalars(select(User)).all() == []
    engine.dispose()
