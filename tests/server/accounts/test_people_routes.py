"""Administrators invite people, give roles, close accounts; engineers make tokens."""

import html
import re
import smtplib

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.accounts.actions import set_roles
from server.accounts.mail import link_message
from server.accounts.models import User
from server.accounts.queries import roles_of, user_of_email, user_or_404
from server.app import create_app
from server.db import transaction
from server.settings import Settings
from tests.people import signed_in
from tests.server.seen import seen


@pytest.fixture
def keeper(app: FastAPI, ana: int) -> TestClient:
    return signed_in(app, follow_redirects=False)


def test_an_invitation_is_shown_once_and_leads_in(app: FastAPI, keeper: TestClient) -> None:
    given = keeper.post("/people", data={"email": "Ben@example.org", "name": "Ben", "site": "2", "role": "manager"})
    assert given.status_code == 200 and given.headers["cache-control"] == "no-store"
    link = re.search(r"http://localhost(/links/[\w-]+)", given.text)
    assert link is not None and "7 days" in seen(given.text)
    assert link[1] not in keeper.get("/people").text
    with transaction(app.state.engine) as session:
        ben = user_of_email(session, "ben@example.org")
        assert ben is not None and roles_of(session, ben.id) == {2: "manager"}
    assert keeper.get(link[1]).status_code == 200


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"email": "nothing", "name": "Ben"}, "not an address"),
        ({"email": "ben@example.org", "name": " "}, "Write the name"),
        ({"email": "ANA@example.org", "name": "Ana"}, "somebody already"),
        ({"email": "ben@example.org", "name": "B\ten"}, "Write the name"),
    ],
)
def test_what_is_wrong_with_an_invitation_is_said_beside_the_field(keeper: TestClient, data: dict, said: str) -> None:
    given = keeper.post("/people", data=data)
    assert given.status_code == 422 and said in seen(given.text)
    assert f'value="{data["email"]}"' in given.text


def test_roles_and_state_are_changed_on_the_page_of_a_person(app: FastAPI, keeper: TestClient, ana: int) -> None:
    page = keeper.get(f"/people/{ana}")
    assert "Quay Laundry" in page.text and "Weir Mill" in page.text
    data = {"name": "Ana B", "role_1": "", "role_2": "engineer", "role_99": "engineer", "role_x": "y"}
    assert keeper.post(f"/people/{ana}", data=data).status_code == 303
    assert "What you changed is kept." in seen(keeper.get(f"/people/{ana}?done=1").text)
    with transaction(app.state.engine) as session:
        assert roles_of(session, ana) == {2: "engineer"}
        assert user_or_404(session, ana).name == "Ana B"


def test_an_administrator_cannot_shut_the_last_door_behind_oneself(app: FastAPI, keeper: TestClient) -> None:
    with transaction(app.state.engine) as session:
        own = user_of_email(session, "keeper@example.org")
        assert own is not None
    for data in ({"name": "K"}, {"name": "K", "administrator": "1", "disabled": "1"}):
        assert keeper.post(f"/people/{own.id}", data=data).status_code == 409
    assert keeper.get("/people").status_code == 200


def test_an_administrator_signs_somebody_out(app: FastAPI, keeper: TestClient) -> None:
    eva = signed_in(app, roles={1: "engineer"}, email="eva@example.org", follow_redirects=False)
    with transaction(app.state.engine) as session:
        user = user_of_email(session, "eva@example.org")
        assert user is not None
    assert eva.get("/account").status_code == 200
    assert keeper.post(f"/people/{user.id}/sign-out").status_code == 303
    assert eva.get("/account").status_code == 303 and keeper.get("/account").status_code == 200


def test_a_closed_account_gets_no_link(keeper: TestClient, ana: int) -> None:
    assert "2 hours" in seen(keeper.post(f"/people/{ana}/link").text)
    keeper.post(f"/people/{ana}", data={"name": "Ana", "disabled": "1"})
    assert keeper.post(f"/people/{ana}/link").status_code == 409


def test_somebody_who_is_not_there_is_said_so(keeper: TestClient) -> None:
    for number in ("99", "2147483648", "9" * 30, "x"):
        assert keeper.get(f"/people/{number}").status_code == 404, number


class Mailbox:
    """Stands in for a mail server: keeps what would be sent."""

    def __init__(self, *_: object, **__: object) -> None:
        self.sent: list = []
        Mailbox.last = self

    last: "Mailbox"

    def __enter__(self) -> "Mailbox":
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def starttls(self, *, context: object) -> None:
        self.sent.append("starttls")

    def login(self, user: str, password: str) -> None:
        self.sent.append((user, password))

    def send_message(self, message: object) -> None:
        self.sent.append(message)


def test_an_invitation_is_mailed_where_there_is_a_mail_server(
    sqlite_url: str, ana: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(smtplib, "SMTP", Mailbox)
    app = create_app(
        Settings(database_url=sqlite_url, smtp_host="mail.example.org", smtp_from="log@example.org", smtp_user="log",
                 smtp_password="hush")  # type: ignore[arg-type]
    )  # fmt: skip
    given = signed_in(app).post(f"/people/{ana}/link")
    assert "also mailed to ana@example.org" in seen(given.text)
    first, account, message = Mailbox.last.sent
    assert (first, account) == ("starttls", ("log", "hush"))
    link = re.search(r"http://localhost/links/[\w-]+", html.unescape(given.text))
    assert link is not None and link[0] in message.get_content() and message["To"] == "ana@example.org"


def test_a_mail_server_that_fails_does_not_break_the_page(
    sqlite_url: str, ana: int, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise ConnectionRefusedError("no")

    monkeypatch.setattr(smtplib, "SMTP", refuse)
    app = create_app(Settings(database_url=sqlite_url, smtp_host="mail.example.org", smtp_from="log@example.org"))
    given = signed_in(app).post(f"/people/{ana}/link")
    assert given.status_code == 200 and "/links/" in given.text
    assert "ConnectionRefusedError" in caplog.text and "/links/" not in caplog.text


def test_a_name_cannot_bend_the_letter() -> None:
    settings = Settings(smtp_from="log@example.org")
    message = link_message(
        settings, to="ana@example.org", name="Ana\nBcc: x@y.example", address="https://a/links/b", purpose="reset"
    )
    assert message["Bcc"] is None and "Ana Bcc: x@y.example" in message.get_content()


def test_tokens_are_made_shown_once_and_ended(app: FastAPI, ana: int) -> None:
    engineer = signed_in(app, roles={1: "engineer"}, email="eva@example.org", follow_redirects=False)
    given = engineer.post("/sites/1/tokens", data={"name": "gateway", "write": "1"})
    secret = re.search(r"skb_[\w-]{43}", given.text)
    assert given.status_code == 200 and secret is not None and given.headers["cache-control"] == "no-store"
    page = engineer.get("/sites/1/tokens")
    assert secret[0] not in page.text and "gateway" in page.text and "write readings" in seen(page.text)
    assert engineer.post("/sites/1/tokens/1/revoke").status_code == 303
    assert "ended" in seen(engineer.get("/sites/1/tokens").text)
    assert engineer.post("/sites/1/tokens/99/revoke").status_code == 404


@pytest.mark.parametrize(("data", "said"), [({"write": "1"}, "Name the machine"), ({"name": "box"}, "Tick what")])
def test_a_token_without_a_name_or_a_use_is_refused(app: FastAPI, ana: int, data: dict, said: str) -> None:
    given = signed_in(app).post("/sites/1/tokens", data=data)
    assert given.status_code == 422 and said in seen(given.text)


def test_a_token_of_another_site_cannot_be_ended(app: FastAPI, ana: int) -> None:
    keeper = signed_in(app)
    keeper.post("/sites/2/tokens", data={"name": "other", "read": "1"})
    engineer = signed_in(app, roles={1: "engineer"}, email="eva@example.org", follow_redirects=False)
    assert engineer.post("/sites/1/tokens/1/revoke").status_code == 404
    assert "ended" not in seen(keeper.get("/sites/2/tokens").text).replace("can be ended", "")


def test_a_role_that_was_taken_away_is_gone_with_the_next_click(app: FastAPI, ana: int) -> None:
    engineer = signed_in(app, roles={1: "engineer"}, email="eva@example.org")
    assert engineer.get("/sites/1/tokens").status_code == 200
    with transaction(app.state.engine) as session:
        eva: User | None = user_of_email(session, "eva@example.org")
        assert eva is not None
        set_roles(session, eva, {1: ""})
    assert engineer.get("/sites/1/tokens").status_code == 404
