"""Requests that another site asks for, and requests under a foreign name."""

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from starlette.datastructures import Headers

from server.app import create_app
from server.security.hosts import host_name
from server.security.loopback import from_this_machine
from server.security.origin import comes_from_elsewhere
from server.settings import Settings
from tests.server.security.conftest import Logbook, as_role


@pytest.mark.parametrize(
    ("said", "elsewhere"),
    [
        ({}, False),
        ({"origin": "http://localhost"}, False),
        ({"origin": "https://localhost"}, False),
        ({"origin": "http://localhost:1234"}, True),
        ({"origin": "https://evil.example"}, True),
        ({"origin": "null"}, True),
        ({"origin": "http://["}, True),
        ({"referer": "http://localhost/trains/1"}, False),
        ({"referer": "https://evil.example/localhost"}, True),
        ({"sec-fetch-site": "cross-site"}, True),
        ({"sec-fetch-site": "same-site", "origin": "http://localhost"}, True),
        ({"sec-fetch-site": "same-origin", "origin": "http://localhost"}, False),
        ({"authorization": "Bearer x", "origin": "https://evil.example"}, False),
        ({"authorization": "Basic x", "origin": "https://evil.example"}, True),
    ],
)
def test_where_a_request_comes_from(said: dict[str, str], elsewhere: bool) -> None:
    assert comes_from_elsewhere(Headers({"host": "localhost"} | said)) is elsewhere


def test_a_change_that_another_site_asks_for_is_refused_even_with_the_token(app: FastAPI, anybody: TestClient) -> None:
    headers = as_role(app, "administrator")
    foreign = {"origin": "https://evil.example"}
    assert anybody.post("/sign-out", headers=headers | foreign).status_code == 403
    assert anybody.get("/account", headers=headers | foreign).status_code == 200, "looking changes nothing"
    assert anybody.post("/sign-out", headers=headers).status_code == 303


def test_with_a_bearer_token_the_cookie_opens_nothing(app: FastAPI, anybody: TestClient, logbook: Logbook) -> None:
    both = as_role(app, "administrator") | {"authorization": "Bearer skb_made_up"}
    assert anybody.get("/api/v1/trains", headers=both).status_code == 401
    elsewhere = both | {"origin": "https://evil.example"}
    elsewhere.pop("x-form-token")
    assert anybody.post("/sign-out", headers=elsewhere).status_code == 403, "and it spares no form its token"


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("localhost", 200), ("LOCALHOST:8420", 200), ("127.0.0.1:8420", 200), ("[::1]:8420", 200), ("10.0.0.7", 200),
        ("skid.example.org", 200), ("skid.example.org:443", 200), ("Skid.Example.Org", 200),
        ("evil.example", 421), ("skid.example.org.evil.example", 421), ("", 421), ("localhost.evil.example", 421),
    ],
)  # fmt: skip
def test_only_the_names_of_this_server_are_answered(logbook: Logbook, host: str, status: int) -> None:
    app = create_app(Settings(database_url=logbook.url, allowed_hosts="skid.example.org, other.example"))
    with TestClient(app, base_url="http://localhost") as client:
        assert client.get("/sign-in", headers={"host": host}).status_code == status


def test_a_name_is_taken_out_of_a_host_header() -> None:
    assert host_name(" A.b:1 ") == "a.b" and host_name("[fe80::1]") == "fe80::1" and host_name("[") == ""


class _Request:
    def __init__(self, address: str | None, **headers: str) -> None:
        self.client = type("Client", (), {"host": address}) if address else None
        self.headers = {"host": "localhost"} | {name.replace("_", "-"): value for name, value in headers.items()}


@pytest.mark.parametrize(
    ("request_", "near"),
    [
        (_Request("127.0.0.1"), True),
        (_Request("::1"), True),
        (_Request("127.0.0.1", host="127.0.0.1:8420"), True),
        (_Request("10.0.0.7"), False),
        (_Request(None), False),
        (_Request("testclient"), False),
        (_Request("127.0.0.1", host="skid.example.org"), False),
        (_Request("127.0.0.1", host="10.0.0.7"), False),
        (_Request("127.0.0.1", x_forwarded_for="127.0.0.1"), False),
        (_Request("127.0.0.1", via="1.1 proxy"), False),
    ],
)
def test_only_this_machine_itself_is_near(request_: _Request, near: bool) -> None:
    assert from_this_machine(request_) is near  # type: ignore[arg-type]
