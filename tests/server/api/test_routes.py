"""What machines ask and send, with a token of one site."""

import math
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import select

from server.accounts.models import ApiToken
from server.db import transaction
from server.readings.models import Reading
from tests.people import BASE_URL
from tests.server.security.conftest import Logbook, app, logbook, two_sites

__all__ = ["app", "logbook", "two_sites"]
TIME = "2026-02-03T06:00:00Z"


@pytest.fixture
def machine(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(app, base_url=BASE_URL, raise_server_exceptions=False) as client:
        yield client


def bearer(token: str) -> dict[str, str]:
    return {"authorization": f"Bearer {token}"}


def reading(**values: float | None) -> dict:
    return {"taken_at": TIME, "values": values, "remark": "from the box"}


def test_trains_readings_days_and_the_assessment_are_told(machine: TestClient, logbook: Logbook) -> None:
    headers = bearer(logbook.reading)
    trains = machine.get("/api/v1/trains", headers=headers).json()
    assert [(train["id"], train["name"]) for train in trains] == [(1, "RO 1")]
    readings = machine.get("/api/v1/trains/1/readings", headers=headers).json()
    assert [entry["values"]["feed_pressure_bar"] for entry in readings] == [12.1, 12.2]
    later = machine.get("/api/v1/trains/1/readings?since=2026-02-02T00:00:00Z&limit=5", headers=headers).json()
    assert [entry["values"]["feed_pressure_bar"] for entry in later] == [12.2]
    assert isinstance(machine.get("/api/v1/trains/1/daily", headers=headers).json(), list)
    assert (
        machine.get("/api/v1/trains/1/assessment", headers=headers).json()["format"].startswith("skidbook-assessment")
    )


def test_readings_are_stored_under_the_name_of_the_token(machine: TestClient, logbook: Logbook, app: FastAPI) -> None:
    sent = {"readings": [reading(feed_pressure_bar=12.4, permeate_flow_m3h=None)]}
    first = machine.post("/api/v1/trains/1/readings", json=sent, headers=bearer(logbook.writing))
    assert (first.status_code, first.json()) == (201, {"stored": 1, "same": 0, "different": 0})
    again = machine.post("/api/v1/trains/1/readings", json=sent, headers=bearer(logbook.writing))
    assert again.json() == {"stored": 0, "same": 1, "different": 0}
    with transaction(app.state.engine) as session:
        kept = session.scalars(select(Reading).where(Reading.source == "api")).one()
        assert kept.author == "Quay Laundry box (token)" and kept.feed_pressure_bar == 12.4  # type: ignore[attr-defined]
        assert kept.remark == "from the box"
        used = session.scalars(select(ApiToken).where(ApiToken.may_write, ApiToken.site_id == 1)).one()
        assert used.last_used_at is not None


@pytest.mark.parametrize(
    "body",
    [
        {"readings": []},
        {"readings": [{"taken_at": "yesterday", "values": {}}]},
        {"readings": [reading(no_such_column=1.0)]},
        {"readings": [{"taken_at": "2126-01-01T00:00:00Z", "values": {"feed_pressure_bar": 12}}]},
        {"readings": [{"taken_at": TIME, "values": {"feed_pressure_bar": 12}, "state": "flying"}]},
        {"readings": [{"taken_at": TIME, "values": {"feed_pressure_bar": 12}, "remark": "x" * 2000}]},
        {"readings": [{"taken_at": TIME, "values": {"feed_pressure_bar": 12}, "more": 1}]},
        {},
        [],
        None,
    ],
)
def test_what_cannot_be_used_is_refused_and_stores_nothing(
    machine: TestClient, logbook: Logbook, body: object, app: FastAPI
) -> None:
    given = machine.post("/api/v1/trains/1/readings", json=body, headers=bearer(logbook.writing))
    assert given.status_code == 422 and given.json()["error"], given.text
    with transaction(app.state.engine) as session:
        assert session.scalars(select(Reading.id).where(Reading.source == "api")).all() == []


@pytest.mark.parametrize(
    "body", [b"{", b"[" * 100_000, b'{"readings": NaN}', b'{"readings":' + b"9" * 5000 + b"}", b"\xff\xfe", b""]
)
def test_what_is_no_document_is_refused(machine: TestClient, logbook: Logbook, body: bytes) -> None:
    headers = bearer(logbook.writing) | {"content-type": "application/json"}
    given = machine.post("/api/v1/trains/1/readings", content=body, headers=headers)
    assert given.status_code in {400, 422} and given.headers["content-type"] == "application/json"


@pytest.mark.parametrize("number", [math.inf, -math.inf, math.nan])
def test_numbers_that_are_none_are_refused(machine: TestClient, logbook: Logbook, number: float) -> None:
    body = f'{{"readings": [{{"taken_at": "{TIME}", "values": {{"feed_pressure_bar": {number}}}}}]}}'
    body = body.replace("inf", "Infinity").replace("nan", "NaN")
    headers = bearer(logbook.writing) | {"content-type": "application/json"}
    assert machine.post("/api/v1/trains/1/readings", content=body, headers=headers).status_code in {400, 422}


def test_a_token_does_only_what_it_is_for(machine: TestClient, logbook: Logbook) -> None:
    assert machine.get("/api/v1/trains", headers=bearer(logbook.writing)).status_code == 403
    sent = {"readings": [reading(feed_pressure_bar=12.4)]}
    assert machine.post("/api/v1/trains/1/readings", json=sent, headers=bearer(logbook.reading)).status_code == 403
    assert machine.get("/api/v1/trains/2/readings", headers=bearer(logbook.reading)).status_code == 404
    foreign = machine.get("/api/v1/trains", headers=bearer(logbook.foreign)).json()
    assert [train["id"] for train in foreign] == [2]


@pytest.mark.parametrize(
    "header", ["", "Bearer", "Bearer ", "Basic eDp5", "Bearer skb_x", "bearer \xe9", "Bearer " + "x" * 9000]
)
def test_without_a_good_token_nothing_is_told(machine: TestClient, header: str) -> None:
    given = machine.get("/api/v1/trains", headers=[(b"authorization", header.encode("latin-1"))])
    assert given.status_code == 401 and given.headers["www-authenticate"] == "Bearer"
    assert given.json()["error"].startswith("Send a token")
