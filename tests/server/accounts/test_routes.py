"""The way in and out, as a browser goes it: with cookies and the token of each form."""

import re

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import select

from server.accounts.actions import INVITATION, new_link
from server.accounts.demo import add_demo_people
from server.accounts.models import User, UserSession
from server.accounts.queries import user_or_404
from server.app import create_app
from server.db import transaction
from server.settings import Settings
from tests.people import BASE_URL
from tests.server.accounts.conftest import EMAIL, PASSWORD, send, sign_in, token_on
from tests.server.seen import seen

NEW = "nine blue valves sing"


def test_whoever_is_not_signed_in_is_led_to_the_way_in_and_back(browser: TestClient, ana: int) -> None:
    away = browser.get("/trains/1/readings?show=used")
    assert away.headers["location"] == "/sign-in?back=%2Ftrains%2F1%2Freadings%3Fshow%3Dused"
    given = sign_in(browser, back="/trains/1/readings?show=used")
    assert given.status_code == 303 and given.headers["location"] == "/trains/1/readings?show=used"
    assert "Ana" in seen(browser.get("/account").text)


def test_the_cookie_is_kept_from_scripts_and_other_sites(browser: TestClient, ana: int) -> None:
    cookie = next(c for c in sign_in(browser).headers.get_list("set-cookie") if c.startswith("skidbook_session="))
    assert "HttpOnly" in cookie and "SameSite=lax" in cookie and "Path=/" in cookie and "Max-Age=1209600" in cookie
    assert "Secure" not in cookie, "plain http on this machine"


@pytest.mark.parametrize("how", ["by setting", "by the connection"])
def test_behind_tls_the_cookie_is_secure_and_bound_to_the_host(
    sqlite_url: str, ana: int, app: FastAPI, how: str
) -> None:
    app = create_app(Settings(database_url=sqlite_url, behind_tls=how == "by setting"))
    base = "https://localhost" if how == "by the connection" else BASE_URL
    with TestClient(app, base_url=base, follow_redirects=False) as browser:
        page = browser.get("/sign-in")
        token = re.search(r'name="form_token" value="(\w+)"', page.text)
        visit = re.search(r"__Host-skidbook_visit=([^;]+)", page.headers["set-cookie"])
        assert token is not None and visit is not None
        headers = {"cookie": f"__Host-skidbook_visit={visit[1]}"}
        form = {"email": EMAIL, "password": PASSWORD, "form_token": token[1]}
        given = browser.post("/sign-in", data=form, headers=headers)
    cookies = given.headers.get_list("set-cookie")
    assert any(c.startswith("__Host-skidbook_session=") and "Secure" in c for c in cookies)
    assert given.headers["strict-transport-security"].startswith("max-age=")


@pytest.mark.parametrize(("email", "password"), [(EMAIL, "not this one at all"), ("nobody@example.org", PASSWORD)])
def test_a_wrong_password_and_an_unknown_address_get_the_same_answer(
    browser: TestClient, ana: int, email: str, password: str
) -> None:
    given = sign_in(browser, email, password)
    assert given.status_code == 401
    assert "This address and this password do not belong together." in seen(given.text)
    assert browser.get("/account").status_code == 303


def test_somebody_who_was_invited_but_has_no_password_cannot_sign_in_with_none(
    browser: TestClient, app: FastAPI
) -> None:
    with transaction(app.state.engine) as session:
        session.add(User(email="ben@example.org", name="Ben"))
    assert sign_in(browser, "ben@example.org", "").status_code == 401


def test_signing_in_begins_a_new_session_and_ends_the_old_one(browser: TestClient, app: FastAPI, ana: int) -> None:
    sign_in(browser)
    first = browser.cookies["skidbook_session"]
    sign_in(browser)
    second = browser.cookies["skidbook_session"]
    assert first != second
    with transaction(app.state.engine) as session:
        assert len(session.scalars(select(UserSession)).all()) == 1
    browser.cookies.clear()
    browser.cookies.set("skidbook_session", first)
    assert browser.get("/account").status_code == 303


def test_a_session_that_somebody_planted_is_not_taken_over(browser: TestClient, ana: int) -> None:
    browser.cookies.set("skidbook_session", "planted by somebody else")
    sign_in(browser)
    browser.cookies.clear()
    browser.cookies.set("skidbook_session", "planted by somebody else")
    assert browser.get("/account").status_code == 303


def test_sign_out_here_and_everywhere(app: FastAPI, browser: TestClient, ana: int) -> None:
    with TestClient(app, base_url=BASE_URL, follow_redirects=False) as other:
        sign_in(browser), sign_in(other)
        kept = browser.cookies["skidbook_session"]
        given = send(browser, "/sign-out", "/account")
        assert given.headers["location"] == "/sign-in" and given.headers["clear-site-data"] == '"cache"'
        browser.cookies.set("skidbook_session", kept)
        assert browser.get("/account").status_code == 303, "the session is gone, not only its cookie"
        assert other.get("/account").status_code == 200
        browser.cookies.clear()
        sign_in(browser)
        send(other, "/account/sign-out-everywhere", "/account")
        assert browser.get("/account").status_code == 303


def test_a_password_is_changed_with_the_present_one_only(app: FastAPI, browser: TestClient, ana: int) -> None:
    with TestClient(app, base_url=BASE_URL, follow_redirects=False) as other:
        sign_in(browser), sign_in(other)
        wrong = send(browser, "/account/password", "/account", current="not this one", password=NEW)
        assert wrong.status_code == 422 and "not your present password" in seen(wrong.text)
        short = send(browser, "/account/password", "/account", current=PASSWORD, password="short")
        assert short.status_code == 422 and "at least 12" in seen(short.text)
        before = browser.cookies["skidbook_session"]
        done = send(browser, "/account/password", "/account", current=PASSWORD, password=NEW)
        assert done.headers["location"] == "/account?done=password"
        assert "signed out" in seen(browser.get("/account?done=password").text)
        assert browser.cookies["skidbook_session"] != before
        assert other.get("/account").status_code == 303
        assert sign_in(other).status_code == 401
        assert sign_in(other, password=NEW).status_code == 303


def test_an_invitation_leads_in_once(app: FastAPI, browser: TestClient, ana: int) -> None:
    with transaction(app.state.engine) as session:
        path = f"/links/{new_link(session, user_or_404(session, ana), INVITATION)}"
    page = browser.get(path)
    assert "Choose a password" in seen(page.text) and page.headers["cache-control"] == "no-store"
    refused = send(browser, path, password="password1234")
    assert refused.status_code == 422 and "tried first" in seen(refused.text)
    assert send(browser, path, password=NEW).headers["location"] == "/"
    assert browser.get("/account").status_code == 200
    gone = browser.get(path)
    assert gone.status_code == 404 and "used already" in seen(gone.text)
    assert browser.get("/links/made-up").status_code == 404


def test_the_first_account_is_made_on_this_machine_with_the_printed_key(app: FastAPI, browser: TestClient) -> None:
    path = "/set-up?key=the key"
    assert browser.get("/set-up").status_code == 404 and browser.get("/set-up?key=wrong").status_code == 404
    assert browser.get(path, headers={"x-forwarded-for": "203.0.113.9"}).status_code == 404
    assert browser.get(path, headers={"host": "10.0.0.7"}).status_code == 404
    with TestClient(app, base_url=BASE_URL, client=("203.0.113.9", 5000)) as far:
        assert far.get(path).status_code == 404
    wrong = send(browser, path, email="x", name="X", password="short")
    assert wrong.status_code == 422 and "skidbook_session" not in browser.cookies
    assert send(browser, path, email=EMAIL, name="Ana", password=PASSWORD).headers["location"] == "/"
    assert browser.get("/people").status_code == 200
    assert browser.get(path).status_code == 404, "it is gone once there is somebody"


def test_without_a_key_there_is_no_set_up_page(sqlite_url: str) -> None:
    with TestClient(create_app(Settings(database_url=sqlite_url)), base_url=BASE_URL, client=("127.0.0.1", 1)) as one:
        assert one.get("/set-up?key=").status_code == 404


def test_the_demo_offers_its_people_on_this_machine_only(sqlite_url: str, ana: int) -> None:
    app = create_app(Settings(database_url=sqlite_url), demo=True)
    with transaction(app.state.engine) as session:
        add_demo_people(session)
    for address, reached in (("127.0.0.1", True), ("203.0.113.9", False)):
        with TestClient(app, base_url=BASE_URL, client=(address, 5000), follow_redirects=False) as browser:
            for role in ("operator", "engineer", "manager"):
                browser.cookies.clear()
                assert (f"As {role}" in seen(browser.get("/sign-in").text)) == reached
                given = send(browser, f"/demo/{role}", "/sign-in")
                assert given.status_code == (303 if reached else 404)
                assert (browser.get("/account").status_code == 200) == reached
            assert send(browser, "/demo/nobody", "/sign-in").status_code == 404


def test_outside_of_the_demo_nobody_comes_in_by_one_click(app: FastAPI, browser: TestClient, ana: int) -> None:
    with transaction(app.state.engine) as session:
        add_demo_people(session)
    assert "As operator" not in browser.get("/sign-in").text
    assert send(browser, "/demo/operator", "/sign-in").status_code == 404


def test_who_tries_too_often_has_to_wait(browser: TestClient, ana: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("server.accounts.routes.password_fits", lambda *_: False)
    statuses = [sign_in(browser, EMAIL, "wrong").status_code for _ in range(11)]
    assert statuses == [401] * 10 + [429]
    given = sign_in(browser, EMAIL, PASSWORD)
    assert given.status_code == 429 and 0 < int(given.headers["retry-after"]) <= 30
    assert sign_in(browser, "other@example.org", "wrong").status_code == 401, "another account is not held up"


def test_who_tries_many_accounts_from_one_place_has_to_wait(
    browser: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("server.accounts.routes.password_fits", lambda *_: False)
    statuses = [sign_in(browser, f"a{number}@example.org", "wrong").status_code for number in range(31)]
    assert statuses == [401] * 30 + [429]


def test_nobody_yet_is_said_with_what_to_do(browser: TestClient) -> None:
    assert "skidbook user add" in seen(browser.get("/sign-in").text)


def test_a_way_back_to_elsewhere_leads_to_the_front_page(browser: TestClient, ana: int) -> None:
    assert sign_in(browser, back="https://elsewhere.example/").headers["location"] == "/"


def test_fields_say_what_they_are_to_a_password_manager(browser: TestClient, ana: int) -> None:
    text = browser.get("/sign-in").text
    assert 'autocomplete="username"' in text and 'autocomplete="current-password"' in text
    sign_in(browser)
    assert browser.get("/account").text.count('autocomplete="new-password"') == 1


def test_a_token_of_the_page_is_needed_to_sign_in(browser: TestClient, ana: int) -> None:
    token_on(browser, "/sign-in")
    given = browser.post("/sign-in", data={"email": EMAIL, "password": PASSWORD})
    assert given.status_code == 403
