"""The front page: the most urgent train first, and what to do when there is none."""

from datetime import UTC, datetime
from time import process_time

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import select

from server.app import create_app
from server.assessments.models import AssessmentRecord
from server.assessments.queries import FleetLine
from server.db import make_engine, transaction
from server.fleet.page import fleet_page
from server.plants.models import Train
from server.settings import Settings
from server.templating import Frame
from tests.people import signed_in
from tests.server.assessments.example import example_document
from tests.server.seen import seen

NOW = datetime(2026, 3, 4, 6, 10, tzinfo=UTC)


def line(number: int, level: str, likely: str | None = None) -> FleetLine:
    document = example_document()
    for entry in document["indicators"]:
        entry["reaches_limit"] = {"earliest": likely, "likely": likely, "latest": None} if likely else None
    return FleetLine(number, "Site", f"Train {number}", "UTC", "SI", level, f"Headline {number}.", NOW, document)


def test_an_empty_logbook_says_what_to_do_first(client: TestClient) -> None:
    response = client.get("/")
    assert "Add a plant, then bring in its log." in seen(response.text)
    assert 'href="/plants/new"' in response.text


def test_the_demo_fleet_shows_each_train_with_its_verdict(demo_client: TestClient) -> None:
    text = seen(demo_client.get("/").text)
    assert "Tolmera Glasshouses · RO 2" in text and "Pell Harrow Hospital · RO East" in text
    assert "last reading" in text and "limit 1.15" in text
    assert "First, Pell Harrow Hospital · RO East: elements may be harmed" in text and "What next" in text


def test_the_most_urgent_train_comes_first_then_the_nearest_limit() -> None:
    lines = [
        line(1, "steady"), line(2, "plan cleaning", "2026-09-01"), line(3, "watch"), line(4, "act now"),
        line(5, "plan cleaning", "2026-04-01"), line(6, "check a meter"), line(7, "not enough data"),
    ]  # fmt: skip
    page = fleet_page(Frame("Fleet", "SI", "/"), lines, NOW)
    assert [shown.train_id for shown in page.lines] == [4, 6, 5, 2, 3, 7, 1]
    assert page.headline == "One train to act on now, one meter to check, two cleanings to plan and one train to watch."
    assert page.lines[0].last_reading == "2 days ago"


def test_the_first_train_is_named_with_the_reason_why_it_goes_before_the_others() -> None:
    frame = Frame("Fleet", "SI", "/")
    plans = [line(2, "plan cleaning", "2026-09-01"), line(5, "plan cleaning", "2026-04-01"), line(1, "steady")]
    first = fleet_page(frame, plans, NOW).first
    assert first.startswith("First, Site · Train 5: a cleaning") and "of two such trains its limit comes first" in first
    assert fleet_page(frame, [line(4, "act now")], NOW).first.endswith("elements may be harmed while it waits.")
    assert fleet_page(frame, [line(1, "steady")], NOW).first == ""


def test_a_train_that_has_gone_silent_is_said_to_be_judged_by_what_was() -> None:
    shown = fleet_page(Frame("Fleet", "SI", "/"), [line(1, "watch")], datetime(2026, 5, 4, tzinfo=UTC)).lines[0]
    assert shown.silent and not fleet_page(Frame("Fleet", "SI", "/"), [line(1, "watch")], NOW).lines[0].silent


def test_a_quiet_fleet_says_that_nothing_needs_to_be_done() -> None:
    frame = Frame("Fleet", "SI", "/")
    assert fleet_page(frame, [line(1, "steady")], NOW).headline == "Nothing needs to be done."
    unknown = [line(1, "steady"), line(2, "not enough data")]
    assert fleet_page(frame, unknown, NOW).headline == "Nothing is known to need you."


@pytest.mark.alone
def test_a_thousand_trains_are_listed_quickly(demo_copy: str) -> None:
    """Bar: 250 ms on a machine of its own. CPU time at its best of three, doubled for slower machines."""
    engine = make_engine(demo_copy)
    with transaction(engine) as session:
        known = session.scalars(select(AssessmentRecord).limit(1)).one()
        fields = ("as_of", "level", "headline", "summary", "document", "version", "inputs_version")
        common = {name: getattr(known, name) for name in fields} | {"series": {}}
        trains = [Train(site_id=1, name=f"Train {number}") for number in range(998)]
        session.add_all(trains)
        session.flush()
        session.add_all(AssessmentRecord(train_id=train.id, **common) for train in trains)
    engine.dispose()
    times = []
    client = signed_in(create_app(Settings(database_url=demo_copy)), headers={"accept-encoding": "identity"})
    for _ in range(3):  # not entered: no worker assesses a thousand trains beside it
        start = process_time()
        response = client.get("/")
        times.append(process_time() - start)
    assert response.text.count('<li class="train') == 1_000
    assert min(times) <= 0.5, times


def test_units_that_are_not_known_change_nothing(client: TestClient) -> None:
    response = client.post("/units", data={"units": "imperial", "back": "//elsewhere.example"}, follow_redirects=False)
    assert response.headers["location"] == "/" and "set-cookie" not in response.headers


def test_a_page_that_is_not_there_says_so_in_plain_words(client: TestClient) -> None:
    response = client.get("/nowhere")
    assert response.status_code == 404
    assert "There is no such page." in seen(response.text) and "error" not in seen(response.text).lower()


def test_the_charting_script_comes_from_here_and_is_kept(client: TestClient) -> None:
    response = client.get("/static/plotly.min.js")
    assert response.status_code == 200 and "immutable" in response.headers["cache-control"]
    assert client.get("/static/skidbook.css").status_code == 200
