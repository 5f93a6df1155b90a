"""Logs: one line of JSON for each request, with a number to find it by, and without anything about anybody."""

import json
import logging
import sys
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.app import create_app
from server.settings import Settings
from server.watching.logs import JsonLines, PlainLines, describe_error, log, set_up_logs
from tests.people import signed_in
from tests.server.seen import seen


@pytest.fixture
def app(sqlite_url: str) -> FastAPI:
    found = create_app(Settings(database_url=sqlite_url))

    @found.get("/raises")
    def raises() -> None:
        raise ValueError("feed pressure 12.345 of Quay Laundry")

    return found


@pytest.fixture
def lines(capsys: pytest.CaptureFixture[str]) -> Iterator[list[dict[str, object]]]:
    """What was logged, filled in at the end of `with`."""
    root, handlers, level = logging.getLogger(), logging.getLogger().handlers, logging.getLogger().level
    set_up_logs("info", "json")
    found: list[dict[str, object]] = []
    yield found
    root.handlers = handlers
    root.setLevel(level)
    logging.getLogger("skidbook").setLevel(logging.NOTSET)


def _logged(capsys: pytest.CaptureFixture[str]) -> list[dict[str, object]]:
    return [json.loads(line) for line in capsys.readouterr().err.splitlines()]


def test_a_request_is_one_line_with_its_number(app: FastAPI, lines: None, capsys: pytest.CaptureFixture[str]) -> None:
    with signed_in(app) as client:
        answer = client.get("/trains/77/readings?show=secret", headers={"X-Request-ID": "abc-1"})
    (line,) = [line for line in _logged(capsys) if line["event"] == "request"]
    assert answer.headers["x-request-id"] == line["request"] == "abc-1"
    assert (line["method"], line["route"], line["status"]) == ("GET", "/trains/{train_id}/readings", 404)
    assert set(line) == {"time", "level", "logger", "event", "request", "method", "route", "status", "seconds"}


def test_a_number_that_is_no_number_is_replaced(app: FastAPI) -> None:
    with TestClient(app, base_url="http://localhost") as client:
        for given in ("x" * 65, "a b", "é", ""):
            header = {"X-Request-ID": given.encode()}
            number = client.get("/health/live", headers=header).headers["x-request-id"]  # type: ignore[arg-type]
            assert number != given and len(number) == 16


def test_an_error_tells_where_but_not_what_was_in_it(
    app: FastAPI, lines: None, capsys: pytest.CaptureFixture[str]
) -> None:
    with signed_in(app, raise_server_exceptions=False) as client:
        answer = client.get("/raises")
    assert answer.status_code == 500 and "12.345" not in answer.text
    assert answer.headers["x-request-id"] in seen(answer.text)
    text = capsys.readouterr().err
    logged = [json.loads(line) for line in text.splitlines()]
    (failed,) = [line for line in logged if line.get("error")]
    assert failed["error"]["kind"] == "ValueError"
    assert any("test_logs.py" in place for place in failed["error"]["at"])
    assert "12.345" not in text and "Quay" not in text


def test_nothing_of_a_form_a_file_or_a_person_is_logged(
    app: FastAPI, lines: None, capsys: pytest.CaptureFixture[str], plant_text: str
) -> None:
    with signed_in(app, raise_server_exceptions=False) as client:
        client.post("/plants", data={"text": plant_text})
        client.post("/trains/1/imports", files={"file": ("mine.csv", b"time,feed_ph\n2026-01-05,7.654\n")})
        client.post("/imports/1/confirm")
        client.post("/sign-in", data={"email": "ana@example.org", "password": "correct horse battery staple"})
        secret = client.cookies.get("skidbook_session", "")
        client.get("/sign-in?back=/trains/1/secret-place")
    text = capsys.readouterr().err
    assert text.count('"event": "request"') >= 5
    for word in ("7.654", "mine.csv", "Quay", "ana@", "horse", "Keeper", "secret-place", secret or "no-cookie"):
        assert word not in text, word


def test_a_plain_line_is_for_a_person() -> None:
    record = logging.LogRecord("skidbook", logging.WARNING, "", 0, "something %s", ("happened",), None)
    record.fields = {"seconds": 1.5}
    assert PlainLines().format(record) == "warning: something happened (seconds=1.5)"


def test_words_of_an_error_come_with_debug_alone() -> None:
    try:
        raise KeyError("12.345")
    except KeyError as error:
        assert "12.345" not in str(describe_error(error, wordy=False))
        assert "12.345" in str(describe_error(error, wordy=True))
        record = logging.LogRecord("skidbook", logging.ERROR, "", 0, "x", (), sys.exc_info())
        assert "12.345" in JsonLines(wordy=True).format(record)


def test_levels_are_kept(lines: None, capsys: pytest.CaptureFixture[str]) -> None:
    log(logging.DEBUG, "too small")
    log(logging.INFO, "kept", rows=3)
    (line,) = _logged(capsys)
    assert (line["event"], line["rows"]) == ("kept", 3)
