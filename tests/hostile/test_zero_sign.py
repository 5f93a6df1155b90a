"""The sign with number 0, which PostgreSQL cannot keep and SQLite can: refused or left out, on both."""

import io
import re
from collections.abc import Iterator

import pytest
import xlsxwriter
from fastapi.testclient import TestClient
from sqlalchemy import Engine

from server.accounts.actions import add_token
from server.app import create_app
from server.db import transaction
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.settings import Settings
from tests.hostile.conftest import check_answer
from tests.people import signed_in


@pytest.fixture
def client(engine: Engine, database_url: str, plant_text: str) -> Iterator[TestClient]:
    with transaction(engine) as session:
        add_plant(session, plant_from_text(plant_text, file="a"), plant_text)
    app = create_app(Settings(database_url=database_url))
    with signed_in(app, raise_server_exceptions=False) as found:
        yield found


def workbook(remark: str) -> bytes:
    stream = io.BytesIO()
    made = xlsxwriter.Workbook(stream)
    sheet = made.add_worksheet()
    sheet.write_row(0, 0, ["time", "feed_pressure [bar]", "remark"])
    sheet.write_row(1, 0, ["2026-02-01T06:00Z", 12.1, remark])
    made.close()
    return stream.getvalue()


@pytest.mark.parametrize(
    ("path", "data"),
    [
        ("/trains/1/events", {"kind": "note", "when": "2026-02-01T06:00", "detail": "a\x00b"}),
        ("/people", {"email": "a\x00@b.c", "name": "A"}),
        ("/people", {"email": "a@b.c", "name": "A\x00"}),
        ("/sign-in", {"email": "a\x00@b.c", "password": "x"}),
        ("/people/1", {"name": "A\x00", "administrator": "1"}),
        ("/sites/1/tokens", {"name": "b\x00x", "read": "1"}),
        ("/units", {"units": "\x00"}),
    ],
)
def test_in_a_form_it_is_refused(client: TestClient, path: str, data: dict[str, str]) -> None:
    given = client.post(path, data=data)
    check_answer(given, stranger=False, sent=path)
    assert given.status_code == 400
    del client.headers["x-form-token"]
    token = re.search(r'name="form_token" value="(\w+)"', client.get("/").text)
    assert token is not None
    assert client.post(path, data=data | {"form_token": token[1]}).status_code == 400


@pytest.mark.parametrize(
    "content",
    [
        b"time,feed_pressure [bar],remark\n2026-02-01T06:00Z,12.1,a\x00b\n",
        b"time,feed_pressure [bar],remark\n" + b"2026-02-01T06:00Z,12.1,a\n" * 400 + b"2026-02-02T06:00Z,12.1,a\x00b\n",
        workbook("a_x0000_b"),
        workbook("plain"),
    ],
    ids=["early", "late", "workbook", "harmless"],
)
def test_in_a_file_it_is_refused_or_left_out(client: TestClient, content: bytes) -> None:
    given = client.post("/trains/1/imports", files={"file": ("a\x00.csv", content)})
    check_answer(given, stranger=False)
    if given.status_code == 200:
        check_answer(client.post(f"{given.url.path}/confirm"), stranger=False)
        check_answer(client.get("/trains/1/readings"), stranger=False)


def test_in_a_plant_file_it_is_refused(client: TestClient, plant_text: str) -> None:
    text = plant_text.replace("RO 1", "RO\\u0000 2")
    given = client.post("/plants", files={"file": ("p.toml", text.encode())})
    assert given.status_code == 422 and "U+0000" in given.text


def test_from_a_machine_it_is_left_out(client: TestClient) -> None:
    with transaction(client.app.state.engine) as session:  # type: ignore[attr-defined]
        token = add_token(session, 1, "box", may_read=True, may_write=True, author="x")
    reading = b'{"taken_at": "2026-02-01T06:00:00Z", "values": {"feed_pressure_bar": 12}, "remark": "a\\u0000b"}'
    body = b'{"readings": [' + reading + b"]}"
    headers = {"authorization": f"Bearer {token}", "content-type": "application/json"}
    given = client.post("/api/v1/trains/1/readings", content=body, headers=headers)
    check_answer(given, stranger=False)
    assert given.status_code == 201
    assert client.get("/api/v1/trains/1/readings", headers=headers).json()["readings"][0]["remark"] == "a b"


def test_in_an_address_it_leads_nowhere(client: TestClient) -> None:
    for path in ("/links/%00", "/sign-in?back=%00", "/set-up?key=%00", "/trains/1/readings?show=%00", "/%00"):
        check_answer(client.get(path), stranger=False, sent=path)
    given = client.get("/api/v1/trains", headers={"authorization": "Bearer a\x7fb"})
    assert given.status_code == 401
