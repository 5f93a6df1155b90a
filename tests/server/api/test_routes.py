"""What machines ask and send, with a token of one site."""

import gzip
import math
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import select

from server.accounts.models import ApiToken
from server.api.examples import CURL, PYTHON
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


def counts(response: Any) -> tuple[int, int, int, int]:
    answer = response.json()
    return answer["stored"], answer["same"], answer["different"], answer["refused"]


def test_trains_readings_days_and_the_assessment_are_told(machine: TestClient, logbook: Logbook) -> None:
    headers = bearer(logbook.reading)
    trains = machine.get("/api/v1/trains", headers=headers).json()
    assert [(train["id"], train["name"]) for train in trains] == [(1, "RO 1")]
    readings = machine.get("/api/v1/trains/1/readings", headers=headers).json()["readings"]
    assert [entry["values"]["feed_pressure_bar"] for entry in readings] == [12.1, 12.2]
    later = machine.get("/api/v1/trains/1/readings?since=2026-02-02T00:00:00Z&limit=5", headers=headers).json()[
        "readings"
    ]
    assert [entry["values"]["feed_pressure_bar"] for entry in later] == [12.2]
    assert machine.get("/api/v1/trains/1/daily", headers=headers).json()["next"] is None
    assessment = machine.get("/api/v1/trains/1/assessment", headers=headers).json()
    assert assessment["format"].startswith("skidbook-assessment") and not assessment["being_worked_out"]
    verdicts = machine.get("/api/v1/trains/1/assessments", headers=headers).json()["assessments"]
    assert [verdict["level"] for verdict in verdicts] == ["not enough data"]


def test_readings_are_stored_under_the_name_of_the_token(machine: TestClient, logbook: Logbook, app: FastAPI) -> None:
    sent = {"readings": [reading(feed_pressure_bar=12.4, permeate_flow_m3h=None)]}
    first = machine.post("/api/v1/trains/1/readings", json=sent, headers=bearer(logbook.writing))
    assert (first.status_code, counts(first)) == (201, (1, 0, 0, 0))
    assert first.json()["assessment"] == "being worked out"
    again = machine.post("/api/v1/trains/1/readings", json=sent, headers=bearer(logbook.writing))
    assert counts(again) == (0, 1, 0, 0)
    other = {"readings": [reading(feed_pressure_bar=99.0)]}
    contradicted = machine.post("/api/v1/trains/1/readings", json=other, headers=bearer(logbook.writing))
    assert counts(contradicted) == (0, 0, 1, 0)
    assert contradicted.json()["differences"] == [
        {
            "row": 1,
            "taken_at": "2026-02-03T06:00:00+00:00",
            "column": "feed_pressure_bar",
            "stored": 12.4,
            "given": 99.0,
        }
    ]
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


def test_the_answer_names_what_is_wrong_with_a_document_and_with_every_value(
    machine: TestClient, logbook: Logbook
) -> None:
    headers = bearer(logbook.writing) | {"content-type": "application/json"}
    given = machine.post("/api/v1/trains/1/readings", content=b"{bad", headers=headers)
    assert given.json()["error"] == "The body is not JSON: it cannot be read from sign 1 on."
    wrong = {"readings": [{"taken_at": TIME, "values": {"feed_pressure_bar": "x", "nonsense": 1}}]}
    errors = machine.post("/api/v1/trains/1/readings", json=wrong, headers=headers).json()["errors"]
    assert {error["field"] for error in errors} == {"values.feed_pressure_bar", "values.nonsense"}


@pytest.mark.parametrize("number", [math.inf, -math.inf, math.nan])
def test_numbers_that_are_none_are_refused(machine: TestClient, logbook: Logbook, number: float) -> None:
    body = f'{{"readings": [{{"taken_at": "{TIME}", "values": {{"feed_pressure_bar": {number}}}}}]}}'
    body = body.replace("inf", "Infinity").replace("nan", "NaN")
    headers = bearer(logbook.writing) | {"content-type": "application/json"}
    assert machine.post("/api/v1/trains/1/readings", content=body, headers=headers).status_code in {400, 422}


@pytest.mark.parametrize("time", ["20260203", "1770098400", 1770098400, "2026-02-03", "2026", True, None, "06:00"])
def test_a_time_is_a_day_with_a_time_of_day_and_nothing_is_guessed(
    machine: TestClient, logbook: Logbook, time: object
) -> None:
    sent = {"readings": [{"taken_at": time, "values": {"feed_pressure_bar": 12.4}}]}
    given = machine.post("/api/v1/trains/1/readings", json=sent, headers=bearer(logbook.writing))
    assert given.status_code == 422
    assert [(one["row"], one["field"], one["error"]) for one in given.json()["errors"]] == [
        (1, "taken_at", "is no day with a time")
    ]


def test_true_is_no_pressure(machine: TestClient, logbook: Logbook) -> None:
    sent = {"readings": [{"taken_at": TIME, "values": {"feed_pressure_bar": True}}]}
    errors = machine.post("/api/v1/trains/1/readings", json=sent, headers=bearer(logbook.writing)).json()["errors"]
    assert errors[0]["error"] == "is true or false, not a number"


def test_how_odd_hours_were_understood_is_told(machine: TestClient, logbook: Logbook) -> None:
    """The clocks of Lisbon, where the site is, went from 01:00 to 02:00 on 29 March 2026."""
    sent = {"readings": [{"taken_at": "2026-03-29T01:30:00", "values": {"feed_pressure_bar": 12.4}}]}
    answer = machine.post("/api/v1/trains/1/readings", json=sent, headers=bearer(logbook.writing)).json()
    assert answer["stored"] == 1 and "skipped" in answer["notes"][0]
    plain = {"readings": [reading(feed_pressure_bar=12.4)]}
    assert machine.post("/api/v1/trains/1/readings", json=plain, headers=bearer(logbook.writing)).json()["notes"] == []


def test_a_compressed_body_is_told_what_it_is(machine: TestClient, logbook: Logbook) -> None:
    headers = bearer(logbook.writing) | {"content-type": "application/json", "content-encoding": "gzip"}
    given = machine.post("/api/v1/trains/1/readings", content=gzip.compress(b'{"readings": []}'), headers=headers)
    assert given.status_code == 415 and "compressed" in given.json()["error"]


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


BAD = [
    reading(feed_pressure_bar=12.4),
    {"taken_at": "2026-02-03T07:00:00Z", "values": {"feed_pressure_bar": "lots"}},
    {"taken_at": "2126-01-01T00:00:00Z", "values": {"feed_pressure_bar": 12}},
    {"taken_at": "1960-01-01T00:00:00Z", "values": {"feed_pressure_bar": 12}},
    {"taken_at": "yesterday", "values": {}},
    {"taken_at": "2026-02-03T08:00:00Z", "values": {"no_such_column": 1}},
    {"taken_at": "2026-02-03T09:00:00Z", "values": {"feed_pressure_bar": 12}, "state": "flying"},
    "not a reading",
    {"taken_at": "2026-02-03T10:00:00Z", "values": {"feed_pressure_bar": 180.0}, "state": "Running"},
]
FIELDS = [
    (2, "values.feed_pressure_bar", "lots"), (3, "taken_at", "2126-01-01T00:00:00+00:00"),
    (4, "taken_at", "1960-01-01T00:00:00+00:00"), (5, "taken_at", "yesterday"), (6, "values.no_such_column", "1.0"),
    (7, "state", "flying"), (8, "", "not a reading"),
]  # fmt: skip


def test_errors_name_row_field_and_value_and_nothing_is_stored(machine: TestClient, logbook: Logbook) -> None:
    given = machine.post("/api/v1/trains/1/readings", json={"readings": BAD}, headers=bearer(logbook.writing))
    assert given.status_code == 422
    answer = given.json()
    first = 'reading 2, values.feed_pressure_bar: "lots"'
    assert answer["error"].startswith(f"7 of 9 readings cannot be used, so none was stored. {first}")
    assert [(error["row"], error["field"], error["value"]) for error in answer["errors"]] == FIELDS
    assert all(error["error"] and error["expected"] for error in answer["errors"])


def test_in_part_what_can_be_used_is_stored_in_the_unit_that_it_came_in(
    machine: TestClient, logbook: Logbook, app: FastAPI
) -> None:
    body = {"readings": BAD, "units": {"feed_pressure_bar": "psi"}}
    given = machine.post("/api/v1/trains/1/readings?partial=true", json=body, headers=bearer(logbook.writing))
    assert (given.status_code, counts(given)) == (201, (2, 0, 0, 7))
    assert [(error["row"], error["field"], error["value"]) for error in given.json()["errors"]] == FIELDS
    with transaction(app.state.engine) as session:
        kept = session.scalars(select(Reading).where(Reading.source == "api").order_by(Reading.taken_at)).all()
        # 1 psi is 0.0689476 bar
        assert [row.feed_pressure_bar for row in kept] == pytest.approx([0.854950, 12.410563], abs=1e-5)  # type: ignore[attr-defined]
        assert kept[0].typed["feed_pressure_bar"] == "psi"


@pytest.mark.parametrize(("column", "unit"), [("feed_pressure_bar", "gpm"), ("feed_pressure_bar", "x"), ("no", "psi")])
def test_units_that_do_not_fit_are_told(machine: TestClient, logbook: Logbook, column: str, unit: str) -> None:
    body = {"readings": [reading(feed_pressure_bar=12.4)], "units": {column: unit}}
    given = machine.post("/api/v1/trains/1/readings?partial=true", json=body, headers=bearer(logbook.writing))
    assert given.status_code == 422 and "units" in given.json()["errors"][0]["field"]


def test_the_same_key_gets_the_same_answer_and_never_another_batch(machine: TestClient, logbook: Logbook) -> None:
    headers = bearer(logbook.writing) | {"idempotency-key": "shift 7"}
    sent = {"readings": [reading(feed_pressure_bar=12.4)]}
    first = machine.post("/api/v1/trains/1/readings", json=sent, headers=headers)
    again = machine.post("/api/v1/trains/1/readings", json=sent, headers=headers)
    assert (again.status_code, again.json()) == (201, first.json())
    other = {"readings": [reading(feed_pressure_bar=12.5)]}
    assert machine.post("/api/v1/trains/1/readings", json=other, headers=headers).status_code == 409


def test_lists_come_a_page_at_a_time(machine: TestClient, logbook: Logbook) -> None:
    seen: list[str] = []
    cursor: str | None = ""
    while cursor is not None:
        address = f"/api/v1/trains/1/readings?limit=1&cursor={cursor}"
        page = machine.get(address, headers=bearer(logbook.reading)).json()
        seen += [entry["taken_at"] for entry in page["readings"]]
        cursor = page["next"]
    assert seen == ["2026-02-01T06:00:00Z", "2026-02-02T06:00:00Z"]
    for what in ("readings", "daily", "assessments"):
        given = machine.get(f"/api/v1/trains/1/{what}?cursor=x", headers=bearer(logbook.reading))
        assert given.status_code == 422 and "cursor" in given.json()["error"]


def test_the_verdict_follows_in_the_background(logbook: Logbook, app: FastAPI) -> None:
    headers = bearer(logbook.reading)
    with TestClient(app, base_url=BASE_URL) as machine:
        sent = {"readings": [reading(feed_pressure_bar=12.4)]}
        machine.post("/api/v1/trains/1/readings", json=sent, headers=bearer(logbook.writing))
        for _ in range(200):
            assessment = machine.get("/api/v1/trains/1/assessment", headers=headers).json()
            if not assessment["being_worked_out"]:
                break
            time.sleep(0.05)
    assert assessment["span"]["last"] == TIME


def test_the_description_shows_how_to_call_each_route(app: FastAPI) -> None:
    description = TestClient(app, base_url=BASE_URL).get("/api/v1/openapi.json").json()
    guide = (Path(__file__).parents[3] / "docs" / "api.md").read_text(encoding="utf-8")
    assert len(description["paths"]) == 5
    assert description["security"] == [{"token": []}]
    assert description["components"]["securitySchemes"]["token"]["scheme"] == "bearer"
    for path, operations in description["paths"].items():
        for method, operation in operations.items():
            assert {"401", "403", "404", "422", "429"} <= operation["responses"].keys()
            assert [sample["lang"] for sample in operation["x-codeSamples"]] == ["Shell", "Python"]
            assert f"`{method.upper()} {path}`" in guide
            for sample in operation["x-codeSamples"]:
                assert path.replace("{train_id}", "1") in sample["source"]
    for source in (CURL["send"], PYTHON["send"], CURL["readings"], PYTHON["readings"]):
        assert source in guide
