"""An empty logbook with nobody in it, and a browser that is nobody."""

import re
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.accounts.actions import add_user, set_password, set_roles
from server.accounts.passwords import hash_password
from server.app import create_app
from server.db import transaction
from server.plants.models import Site
from server.settings import Settings
from tests.people import BASE_URL

PASSWORD = "seven grey pumps hum"
EMAIL = "ana@example.org"


@pytest.fixture(scope="session")
def password_hash() -> str:
    """One hash for all tests: making it is slow on purpose."""
    return hash_password(PASSWORD)


@pytest.fixture
def app(sqlite_url: str) -> FastAPI:
    return create_app(Settings(database_url=sqlite_url), setup_key="the key")


@pytest.fixture
def ana(app: FastAPI, password_hash: str) -> int:
    """Ana, operator of site 1, with a password."""
    with transaction(app.state.engine) as session:
        session.add_all([Site(name="Quay Laundry", timezone="UTC"), Site(name="Weir Mill", timezone="UTC")])
        session.flush()
        user = add_user(session, EMAIL, name="Ana")
        set_roles(session, user, {1: "operator"})
        set_password(session, user, password_hash)
        return user.id


@pytest.fixture
def browser(app: FastAPI) -> Iterator[TestClient]:
    """A browser on the same machine that nobody is signed in with."""
    with TestClient(app, base_url=BASE_URL, client=("127.0.0.1", 5000), follow_redirects=False) as found:
        yield found


def token_on(browser: TestClient, path: str) -> str:
    """The token of the forms of a page."""
    found = re.search(r'name="form_token" value="(\w+)"', browser.get(path, follow_redirects=True).text)
    assert found is not None, path
    return found[1]


def send(browser: TestClient, path: str, form_page: str = "", **data: str):
    """Fill a form in and send it, as from the page that shows it."""
    return browser.post(path, data={"form_token": token_on(browser, form_page or path), **data})


def sign_in(browser: TestClient, email: str = EMAIL, password: str = PASSWORD, **data: str):
    return send(browser, "/sign-in", email=email, password=password, **data)
