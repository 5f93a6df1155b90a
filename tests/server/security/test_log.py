"""Who came in, who was refused: in the log by number, without names, addresses, passwords or secrets."""

import logging

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from tests.people import headers_for, sign_in
from tests.server.security.conftest import Logbook, as_role


def fields(records: list[logging.LogRecord], event: str) -> list[dict]:
    return [record.fields for record in records if record.getMessage() == event]  # type: ignore[attr-defined]


def test_refusals_are_written_down_by_number(
    app: FastAPI, anybody: TestClient, logbook: Logbook, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, "skidbook")
    anybody.post("/trains/1/setup", headers=as_role(app, "operator"))
    anybody.get("/trains/1/readings", headers=as_role(app, "stranger"))
    anybody.get("/api/v1/trains", headers={"authorization": "Bearer skb_guess"})
    headers = headers_for(sign_in(app.state.engine))
    anybody.post("/sign-in", data={"email": "keeper@example.org", "password": "not this one"}, headers=headers)
    anybody.post("/sign-in", data={"email": "nobody@example.org", "password": "not this one"}, headers=headers)
    assert [entry["needed"] for entry in fields(caplog.records, "not allowed")] == ["manage", "to know the site"]
    assert len(fields(caplog.records, "token refused")) == 1
    refused = fields(caplog.records, "sign-in refused")
    assert isinstance(refused[0]["user"], int) and refused[1]["user"] is None
    written = " ".join(
        f"{record.getMessage()} {vars(record)}" for record in caplog.records if record.name == "skidbook"
    )
    for secret in ("skb_guess", "keeper@example.org", "not this one", headers["cookie"].partition("=")[2]):
        assert secret not in written
