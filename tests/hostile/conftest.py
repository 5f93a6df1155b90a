"""The logbook of two sites again, for whoever means no good."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, settings

from server.security.rate_limits import Buckets, RateLimits
from tests.people import BASE_URL
from tests.server.security.conftest import Logbook, app, as_role, logbook, two_sites

__all__ = ["app", "logbook", "two_sites"]

settings.register_profile(
    "hostile", deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large,
                           HealthCheck.filter_too_much],
)  # fmt: skip
HOSTILE = settings.get_profile("hostile")
TELLTALE = re.compile(r"Traceback|File \"|site-packages|sqlalchemy|sqlite3|psycopg|RuntimeError|ValueError|KeyError")
SECRET = "Quay Laundry"
"""The site that a stranger must not hear of."""


@pytest.fixture
def stranger_free(app: FastAPI, monkeypatch: pytest.MonkeyPatch) -> FastAPI:
    """The application without brakes: nobody has to wait, and no password is hashed."""
    plenty = Buckets(10**9, 10**9)
    app.state.limits = RateLimits(plenty, plenty, plenty, plenty)
    monkeypatch.setattr("server.accounts.routes.password_fits", lambda *_: False)
    monkeypatch.setattr("server.accounts.routes.hash_password", lambda _password: "hash")
    return app


@pytest.fixture
def attacker(stranger_free: FastAPI) -> Iterator[TestClient]:
    with TestClient(
        stranger_free, base_url=BASE_URL, follow_redirects=False, raise_server_exceptions=False, client=("127.0.0.1", 1)
    ) as client:
        yield client


def check_answer(given: Any, *, stranger: bool, sent: str = "") -> None:
    """No error of ours, nothing about how it is built, nothing of a site that is not one's own."""
    assert given.status_code < 500, (given.status_code, sent)
    if not given.headers.get("content-type", "").startswith(("text/html", "application/json")):
        return
    assert not TELLTALE.search(given.text.replace(sent, "")), (TELLTALE.search(given.text), sent)
    if stranger:
        assert SECRET not in given.text, sent


def who(app: FastAPI, role: str, logbook: Logbook | None = None) -> dict[str, str]:
    return as_role(app, role, logbook)
