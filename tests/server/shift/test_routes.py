"""The page of the shift log through HTTP: what a person sees, sends, and is told."""

import re
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import func, select

from analytics.quantities import COLUMNS
from server.app import create_app
from server.db import transaction
from server.readings.models import Reading
from server.settings import Settings
from server.shift.forms import TWICE
from server.shift.models import GaugePhoto, ShiftEntry
from tests.people import signed_in
from tests.server.shift.small_log import SHIFT, fill_logbook

PATH = "/trains/1/shift"
JSON = {"accept": "application/json"}
PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108000000003a7e9b550000000a49444154789c6368"
    "00000082008177cd72b60000000049454e44ae426082"
)
"""One grey point."""


ZONE = ZoneInfo("Europe/Madrid")
YESTERDAY = f"{datetime.now(ZONE) - timedelta(days=1):%Y-%m-%dT06:10}"


def sent(key: str = "key-00000001", time: str = YESTERDAY, **other: str) -> dict[str, str]:
    units = {f"unit.{name}": COLUMNS[name].unit for name in SHIFT}
    return SHIFT | units | {"key": key, "time": time, "state": "running", "confirmed": "yes"} | other


@pytest.fixture(scope="module")
def filled(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("shift") / "filled.db"
    shutil.copyfile(sqlite_template, path)
    fill_logbook(f"sqlite:///{path}")
    return path


@pytest.fixture
def copy(filled: Path, tmp_path: Path) -> Iterator[TestClient]:
    """The application over a logbook of one train with a history, to be changed."""
    path = tmp_path / "copy.db"
    shutil.copyfile(filled, path)
    with signed_in(create_app(Settings(database_url=f"sqlite:///{path}")), follow_redirects=False) as client:
        yield client


def plain(page: str) -> str:
    """A page in which numbers and their units may be parted."""
    return page.replace("\u00a0", " ")


def app_of(client: TestClient) -> FastAPI:
    app = client.app
    assert isinstance(app, FastAPI)
    return app


def counted(client: TestClient, model: type) -> int:
    with transaction(app_of(client).state.engine, writes=False) as session:
        return session.scalar(select(func.count()).select_from(model)) or 0


def test_the_page_asks_in_the_order_of_the_walk_and_shows_what_was_read_last(copy: TestClient) -> None:
    text = copy.get(PATH).text
    names = re.findall(r'data-column="(\w+)"', text)
    assert names.index("feed_temperature_c") < names.index("feed_pressure_bar") < names.index("permeate_flow_m3h")
    assert names.index("stage1_concentrate_pressure_bar") < names.index("concentrate_pressure_bar")
    assert text.count('inputmode="decimal"') == len(names) == 15
    assert len(re.findall(r"<b>[\d.\u202f]+</b> <span>[^<]+ ago", text)) == 15
    assert "Clock of Europe/Madrid" in text and text.count('type="radio"') == 3


def test_an_entry_becomes_a_reading_in_canonical_units_and_is_answered_in_one_sentence(copy: TestClient) -> None:
    before = counted(copy, Reading)
    given = copy.post(
        PATH, data=sent(feed_temperature_c="25,2", **{"feed_pressure_bar": "178", "unit.feed_pressure_bar": "psi"})
    )
    assert given.status_code == 303
    page = copy.get(given.headers["location"]).text
    assert re.search(r"Saved\. The verdict (stays|went from) &#34;", page)
    with transaction(app_of(copy).state.engine, writes=False) as session:
        reading = session.scalars(select(Reading).order_by(Reading.id.desc())).first()
        assert reading is not None
        assert reading.feed_pressure_bar == pytest.approx(12.273, abs=1e-3)  # 178 psi / 14.5038
        assert reading.feed_temperature_c == 25.2
        assert reading.taken_at == datetime.fromisoformat(YESTERDAY).replace(tzinfo=ZONE).astimezone(UTC)
        assert reading.typed["feed_pressure_bar"] == "psi"
    assert counted(copy, Reading) == before + 1


def test_the_same_key_is_answered_the_same_and_stored_once(copy: TestClient) -> None:
    before = counted(copy, Reading)
    first = copy.post(PATH, data=sent(), headers=JSON).json()
    again = copy.post(PATH, data=sent(confirmed="", queued="yes"), headers=JSON).json()
    assert first == again and first["outcome"] == "saved"
    assert (counted(copy, Reading), counted(copy, ShiftEntry)) == (before + 1, 1)
    other = copy.post(PATH, data=sent(key="key-00000002"), headers=JSON).json()
    assert other["outcome"] == "same"
    assert counted(copy, Reading) == before + 1


def test_what_was_changed_and_sent_with_the_key_of_before_is_not_taken_for_what_was_sent_before(
    copy: TestClient,
) -> None:
    before = counted(copy, Reading)
    first = copy.post(PATH, data=sent(), headers=JSON).json()
    changed = sent(feed_pressure_bar="12.3")  # gone back to, corrected, and sent again
    assert copy.post(PATH, data=changed, headers=JSON).json()["outcome"] == "conflict"  # a person says which is right
    later = sent(feed_pressure_bar="12.3", time=YESTERDAY[:-5] + "07:30")
    answers = [copy.post(PATH, data=later, headers=JSON).json() for _ in range(2)]
    assert answers[0] == answers[1] and answers[0]["outcome"] == "saved"
    assert copy.post(PATH, data=sent(), headers=JSON).json() == first
    assert (counted(copy, Reading), counted(copy, ShiftEntry)) == (before + 2, 3)


def test_what_is_no_number_is_named_and_nothing_is_stored(copy: TestClient) -> None:
    before = counted(copy, Reading)
    given = copy.post(PATH, data=sent(feed_pressure_bar="ten", time="soon", state="?", key="x"))
    assert given.status_code == 422
    for words in (
        "This is not a number; write it like 12.5 or 12,5, without a unit.",
        "Enter a day and a time",
        'value="ten"',
    ):
        assert words in given.text
    refused = copy.post(PATH, data=sent(time="2126-01-01T00:00"), headers=JSON)
    assert refused.status_code == 422 and "future" in refused.json()["errors"]["time"]
    assert counted(copy, Reading) == before


@pytest.mark.parametrize(("time", "instant", "told"), [
    ("2026-10-25T02:30", "", True),
    ("2026-10-25T02:30", "2026-10-25T01:30:20Z", False),
    ("2026-10-25T02:30", "2026-10-25T05:30:00Z", True),
    ("2026-10-25T03:30", "", False),
    ("2026-03-29T01:30", "", False),
])  # fmt: skip
def test_a_time_that_the_clocks_showed_twice_is_told(copy: TestClient, time: str, instant: str, told: bool) -> None:
    answer = copy.post(PATH, data=sent(time=time, instant=instant), headers=JSON).json()
    assert (TWICE in answer["sentence"]) is told


def test_a_time_that_the_clocks_skipped_is_not_moved_silently(copy: TestClient) -> None:
    """At Madrid 02:30 of 29 March 2026 was never shown."""
    refused = copy.post(PATH, data=sent(time="2026-03-29T02:30"), headers=JSON)
    assert refused.status_code == 422 and "write 03:30 instead" in refused.json()["errors"]["time"]


def test_a_photo_that_comes_with_an_entry_sent_again_is_kept_once(copy: TestClient) -> None:
    first = copy.post(PATH, data=sent(), headers=JSON).json()
    for _ in range(2):
        again = copy.post(PATH, data=sent(), files={"photo": ("x.png", PNG, "image/png")}, headers=JSON)
        assert again.json() == first
    assert copy.get(f"{PATH}/photos/1").content == PNG and counted(copy, GaugePhoto) == 1


def test_a_photo_is_kept_by_its_content_and_shown_to_those_who_see_the_site(copy: TestClient) -> None:
    given = copy.post(PATH, data=sent(), files={"photo": ("x.exe", PNG, "text/html")}, headers=JSON)
    assert given.status_code == 200 and counted(copy, GaugePhoto) == 1
    photo = copy.get(f"{PATH}/photos/1")
    assert (photo.content, photo.headers["content-type"]) == (PNG, "image/png")
    assert photo.headers["x-content-type-options"] == "nosniff"
    assert copy.get("/trains/2/shift/photos/1").status_code == 404
    wrong = copy.post(PATH, data=sent(key="key-00000009"), files={"photo": ("x.png", b"<svg/>", "image/png")})
    assert wrong.status_code == 422 and "not a JPEG, PNG or WebP" in wrong.text


def test_odd_values_are_asked_about_once_more_on_the_server_and_kept_when_they_are_meant(copy: TestClient) -> None:
    before = counted(copy, Reading)
    odd = sent(permeate_flow_m3h="52.5", confirmed="")
    given = copy.post(PATH, data=odd, headers=JSON)
    assert (given.status_code, given.json()["outcome"]) == (422, "asked")
    assert [(one["code"], one["columns"]) for one in given.json()["findings"]] == [("jump", ["permeate_flow_m3h"])]
    page = plain(copy.post(PATH, data=odd).text)
    assert '<a href="#f-permeate_flow_m3h">Permeate flow 52.5 m³/h stands apart' in page  # at the top, where it is seen
    assert (
        '<p class="odd">Permeate flow 52.5 m³/h stands apart' in page
        and 'name="confirmed"' in page
        and 'value="52.5"' in page
    )
    assert counted(copy, Reading) == before
    assert copy.post(PATH, data=odd | {"confirmed": "yes"}, headers=JSON).json()["outcome"] == "saved"
    assert counted(copy, Reading) == before + 1


def test_what_cannot_be_is_kept_only_with_a_reason_which_stays_with_the_reading(copy: TestClient) -> None:
    impossible = sent(feed_pressure_bar="178")
    asked = copy.post(PATH, data=impossible, headers=JSON).json()
    assert [one["severity"] for one in asked["findings"]] == ["confirm"]
    assert "Did you mean 12.3 bar (read in psi)?" in plain(copy.post(PATH, data=impossible).text)
    reason = {"reason.feed_pressure_bar": "burst disc test"}
    assert copy.post(PATH, data=impossible | reason, headers=JSON).json()["outcome"] == "saved"
    with transaction(app_of(copy).state.engine, writes=False) as session:
        reading = session.scalars(select(Reading).order_by(Reading.id.desc())).first()
        assert reading is not None and reading.remark == "Feed pressure 178 bar confirmed: burst disc test"


def test_an_entry_that_waited_is_kept_whatever_is_odd_and_the_question_stays_open(copy: TestClient) -> None:
    waited = sent(feed_pressure_bar="178", queued="yes", entered_by="Mirel")
    answer = copy.post(PATH, data=waited, headers=JSON).json()
    assert answer["outcome"] == "saved"
    page = plain(copy.get(f"{PATH}/entries/{answer['entry']}").text)
    assert "Nobody has answered yet: Feed pressure cannot be 178 bar" in page
    assert "Entered by Mirel, sent by The Keeper" in page


def test_a_contradiction_is_shown_side_by_side_and_decided_by_a_person(copy: TestClient) -> None:
    copy.post(PATH, data=sent(), headers=JSON)
    other = copy.post(PATH, data=sent(key="key-00000002", permeate_flow_m3h="30.4"), headers=JSON).json()
    assert other["outcome"] == "conflict"
    link = f"{PATH}/entries/{other['entry']}"
    assert link in copy.get(PATH).text
    page = plain(copy.get(link).text)
    assert "Which of the two is right?" in page and "30.4 m³/h" in page and "30.1 m³/h" in page
    assert page.count("(differs)") == 1
    assert copy.post(f"{link}/settle", data={"right": "neither"}).status_code == 422
    assert copy.post(f"{link}/settle", data={"right": "entry"}).status_code == 303
    assert link not in copy.get(PATH).text
    assert copy.post(f"{link}/settle", data={"right": "entry"}).status_code == 409


def test_both_are_right_when_one_was_read_at_another_time(copy: TestClient) -> None:
    first = copy.post(PATH, data=sent(), headers=JSON).json()
    other = copy.post(PATH, data=sent(key="key-00000002", permeate_flow_m3h="30.4"), headers=JSON).json()
    link = f"{PATH}/entries/{other['entry']}"
    same_time = re.search(r'name="time" type="datetime-local" value="([^"]+)"', copy.get(link).text)
    assert same_time is not None
    refused = copy.post(f"{link}/settle", data={"right": "both", "time": same_time[1]})
    assert refused.status_code == 422 and "This is the time of the other reading" in refused.text
    earlier = f"{same_time[1][:-2]}{(int(same_time[1][-2:]) + 7) % 60:02d}"
    assert copy.post(f"{link}/settle", data={"right": "both", "time": earlier}).status_code == 303
    with transaction(app_of(copy).state.engine, writes=False) as session:
        newest = session.scalars(select(Reading).order_by(Reading.id.desc())).all()[:2]
    assert [reading.permeate_flow_m3h for reading in newest] == [30.4, 30.1]  # type: ignore[attr-defined]
    assert newest[1].id == first["reading"] and newest[0].id != first["reading"]
    assert link not in copy.get(PATH).text


def test_an_engineer_lays_the_log_out(copy: TestClient) -> None:
    layout = f"{PATH}/layout"
    assert "Lay out the shift log" in copy.get(layout).text
    form = {"column": ["permeate_flow_m3h", "feed_pressure_bar"], "ask.permeate_flow_m3h": "1",
            "ask.feed_pressure_bar": "1", "tag.permeate_flow_m3h": "FI-7", "unit.permeate_flow_m3h": "gpm"}  # fmt: skip
    assert copy.post(layout, data=form).headers["location"] == PATH
    text = copy.get(PATH).text
    assert re.findall(r'data-column="(\w+)"', text)[:2] == ["permeate_flow_m3h", "feed_pressure_bar"]
    assert "FI-7" in text and 'name="unit.permeate_flow_m3h" value="gpm"' in text
    moved = copy.post(layout, data=form | {"move": "down:permeate_flow_m3h"})
    assert moved.headers["location"] == f"{layout}#row-permeate_flow_m3h"
    assert re.findall(r'data-column="(\w+)"', copy.get(PATH).text)[:2] == ["feed_pressure_bar", "permeate_flow_m3h"]


def test_the_worker_names_the_files_of_the_page_and_stands_before_all_trains(copy: TestClient) -> None:
    given = copy.get("/shift-worker.js")
    assert given.headers["content-type"].startswith("text/javascript")
    listed = re.findall(r"/static/[\w.-]+\?v=\w+", given.text.splitlines()[0])
    page = copy.get(PATH).text
    scripts = re.findall(r'src="(/static/shift[^"]+)"', page)
    assert len(scripts) == 3 and set(scripts) <= set(listed)


def test_the_book_comes_with_a_token_that_sends(copy: TestClient) -> None:
    given = copy.get(f"{PATH}/book").json()
    assert given["zone"] == "Europe/Madrid" and given["siblings"] == [PATH]
    headers = JSON | {"x-form-token": given["token"]}
    assert copy.post(PATH, data=sent(), headers=headers).json()["outcome"] == "saved"
