"""The page of the shift log through HTTP: what a person sees, sends, and is told."""

import re
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import func, select

from server.app import create_app
from server.db import transaction
from server.readings.models import Reading
from server.settings import Settings
from server.shift.models import GaugePhoto, ShiftEntry
from tests.people import signed_in

PATH = "/trains/1/shift"
JSON = {"accept": "application/json"}
VALUES = {
    "feed_temperature_c": "18,2", "feed_conductivity_us_cm": "2 420", "feed_pressure_bar": "12.3",
    "stage1_concentrate_pressure_bar": "10.8", "stage1_permeate_flow_m3h": "35.7", "concentrate_pressure_bar": "9.5",
    "concentrate_flow_m3h": "16.0", "permeate_flow_m3h": "47.3", "permeate_conductivity_us_cm": "45.3",
    "permeate_pressure_bar": "0.4",
}  # fmt: skip
PNG = b"\x89PNG\r\n\x1a\n" + bytes(30) + b"IEND\xaeB`\x82"


def sent(key: str = "key-00000001", time: str = "2026-11-02T06:10", **other: str) -> dict[str, str]:
    units = {f"unit.{name}": {"c": "degC", "bar": "bar", "m3h": "m3/h"}.get(name.rsplit("_", 1)[1], "uS/cm")
             for name in VALUES}  # fmt: skip
    return VALUES | units | {"key": key, "time": time, "state": "running", "confirmed": "yes"} | other


@pytest.fixture
def copy(demo_copy: str) -> Iterator[TestClient]:
    with signed_in(create_app(Settings(database_url=demo_copy)), follow_redirects=False) as client:
        yield client


def app_of(client: TestClient) -> FastAPI:
    app = client.app
    assert isinstance(app, FastAPI)
    return app


def counted(client: TestClient, model: type) -> int:
    with transaction(app_of(client).state.engine, writes=False) as session:
        return session.scalar(select(func.count()).select_from(model)) or 0


def test_the_page_asks_in_the_order_of_the_walk_and_shows_what_was_read_last(demo_client: TestClient) -> None:
    text = demo_client.get(PATH).text
    names = re.findall(r'data-column="(\w+)"', text)
    assert names.index("feed_temperature_c") < names.index("feed_pressure_bar") < names.index("permeate_flow_m3h")
    assert names.index("stage1_concentrate_pressure_bar") < names.index("concentrate_pressure_bar")
    assert text.count('inputmode="decimal"') == len(names) == 12
    assert len(re.findall(r"<b>[\d.\u202f]+</b> <span>[^<]+ ago", text)) == 12
    assert "Clock of Europe/Madrid" in text and text.count('type="radio"') == 3


def test_an_entry_becomes_a_reading_in_canonical_units_and_is_answered_in_one_sentence(copy: TestClient) -> None:
    before = counted(copy, Reading)
    given = copy.post(PATH, data=sent(**{"feed_pressure_bar": "178", "unit.feed_pressure_bar": "psi"}))
    assert given.status_code == 303
    page = copy.get(given.headers["location"]).text
    assert re.search(r"Saved\. The verdict (stays|went from) &#34;", page)
    with transaction(app_of(copy).state.engine, writes=False) as session:
        reading = session.scalars(select(Reading).order_by(Reading.id.desc())).first()
        assert reading is not None
        assert reading.feed_pressure_bar == pytest.approx(12.273, abs=1e-3)  # 178 psi / 14.5038
        assert reading.feed_temperature_c == 18.2
        assert reading.taken_at.isoformat() == "2026-11-02T05:10:00+00:00"  # Madrid is an hour ahead in winter
        assert reading.typed["feed_pressure_bar"] == "psi"
    assert counted(copy, Reading) == before + 1


def test_the_same_key_is_answered_the_same_and_stored_once(copy: TestClient) -> None:
    before = counted(copy, Reading)
    first = copy.post(PATH, data=sent(), headers=JSON).json()
    again = copy.post(PATH, data=sent(feed_pressure_bar="99"), headers=JSON).json()
    assert first == again and first["outcome"] == "saved"
    assert (counted(copy, Reading), counted(copy, ShiftEntry)) == (before + 1, 1)
    other = copy.post(PATH, data=sent(key="key-00000002"), headers=JSON).json()
    assert other["outcome"] == "same"
    assert counted(copy, Reading) == before + 1


def test_what_is_no_number_is_named_and_nothing_is_stored(copy: TestClient) -> None:
    before = counted(copy, Reading)
    given = copy.post(PATH, data=sent(feed_pressure_bar="ten", time="soon", state="?", key="x"))
    assert given.status_code == 422
    for words in ("This is not a number; write it like 12.5 or 12,5.", "Enter a day and a time", 'value="ten"'):
        assert words in given.text
    refused = copy.post(PATH, data=sent(time="2126-01-01T00:00"), headers=JSON)
    assert refused.status_code == 422 and "future" in refused.json()["errors"]["time"]
    assert counted(copy, Reading) == before


def test_a_photo_is_kept_by_its_content_and_shown_to_those_who_see_the_site(copy: TestClient) -> None:
    given = copy.post(PATH, data=sent(), files={"photo": ("x.exe", PNG, "text/html")}, headers=JSON)
    assert given.status_code == 200 and counted(copy, GaugePhoto) == 1
    photo = copy.get(f"{PATH}/photos/1")
    assert (photo.content, photo.headers["content-type"]) == (PNG, "image/png")
    assert photo.headers["x-content-type-options"] == "nosniff"
    assert copy.get("/trains/2/shift/photos/1").status_code == 404
    wrong = copy.post(PATH, data=sent(key="key-00000009"), files={"photo": ("x.png", b"<svg/>", "image/png")})
    assert wrong.status_code == 422 and "not a JPEG, PNG or WebP" in wrong.text
