"""What comes back from a worksheet is kept as it was ticked, once, and whatever else comes is no sheet."""

import json

import pytest
from fastapi.testclient import TestClient

from analytics.decisions.cleaning_solution import programme_for
from analytics.decisions.cleaning_worksheet import plan_worksheet
from analytics.plant import CleaningSystem, Membrane, Stage
from server.cleanings.fields import HEAD_BY_NAME, STEP_BY_NAME
from server.cleanings.sheet_steps import read_sheet, step_lines
from tests.server.cleanings.test_routes import ENTERED, LIST
from tests.server.seen import seen

MIXED = {"title": "Mix", "bath": "Sodium hydroxide", "at": "2026-07-25T06:10:00.000Z", "note": "two bags",
         "values": [["pH at the start", "11.4", ""], ["Temperature at the start", "33", "°C"]]}  # fmt: skip
SHEET = {"id": "a1", "told": [MIXED, {"title": "Soak", "bath": "", "at": "", "note": "over night", "values": []}]}


@pytest.fixture
def train(client: TestClient, plant_text: str) -> TestClient:
    client.post("/plants", data={"text": plant_text})
    return client


def test_every_measured_value_of_every_sheet_is_a_field_of_the_record_and_asked_for_once() -> None:
    stage = Stage(4, 6, Membrane(37.0))
    for cause in ("biofouling", "scaling", "metal-oxide", "unknown"):
        sheet = plan_worksheet(stage, 1, CleaningSystem(), programme_for(cause))
        names = [one.name for line in step_lines(sheet.steps, "SI") for one in line.measured]
        assert len(names) == len(set(names)) > 10
        assert {name.partition(".")[2] or name for name in names} <= {*HEAD_BY_NAME, *STEP_BY_NAME}


def test_the_sheet_stands_with_the_record_also_after_a_correction(train: TestClient) -> None:
    train.post(LIST, data=ENTERED | {"sheet": json.dumps(SHEET)})
    for _ in range(2):
        text = seen(train.get("/cleanings/1").text)
        assert "Mix, Sodium hydroxide 25 July 2026, 07:10" in text  # by the clock of the site, an hour ahead
        assert "pH at the start 11.4; Temperature at the start 33 °C; two bags" in text
        assert "Soak not ticked over night" in text
        changed = ENTERED | {"revision": "1", "why": "a slip", "bath1.ph_start": "11.5", "sheet": "{}"}
        train.post("/cleanings/1/amend", data=changed)


def test_a_sheet_that_comes_twice_is_one_record(train: TestClient) -> None:
    sent = ENTERED | {"sheet": json.dumps(SHEET)}
    places = {train.post(LIST, data=sent, follow_redirects=False).headers["location"] for _ in range(3)}
    assert places == {"/cleanings/1"}
    other = ENTERED | {"sheet": json.dumps(SHEET | {"id": "b2"})}
    assert train.post(LIST, data=other, follow_redirects=False).headers["location"] == "/cleanings/2"


@pytest.mark.parametrize(
    "sent",
    ["", "null", "[]", "{", '{"told": 1}', '{"told": [1, null]}', '{"told": []}', "[" * 50_000, "x" * 70_000],
)
def test_what_is_no_sheet_is_left_out(train: TestClient, sent: str) -> None:
    assert read_sheet(sent) is None
    assert train.post(LIST, data=ENTERED | {"sheet": sent}, follow_redirects=False).status_code == 303
    assert "The worksheet" not in seen(train.get("/cleanings/1").text)


def test_odd_sheets_are_cut_to_size_and_escaped(train: TestClient) -> None:
    odd = {
        "id": 7,
        "told": [{"title": "<b>" + "x" * 299, "at": "soon", "note": None, "values": [1, ["<i>"], [[]]]}] * 99,
    }
    kept = read_sheet(json.dumps(odd))
    assert kept is not None and len(kept["steps"]) == 60 and kept["id"] == ""
    assert kept["steps"][0]["at"] == "" and len(kept["steps"][0]["title"]) == 200
    train.post(LIST, data=ENTERED | {"sheet": json.dumps(odd)})
    assert "<b>" not in train.get("/cleanings/1").text and "<i>" not in train.get("/cleanings/1").text


def test_the_record_opens_in_the_units_that_the_sheet_was_written_in(train: TestClient) -> None:
    sheet = train.get(f"{LIST}/worksheet?stage=1&cause=biofouling&units=US").text
    assert 'data-units="US"' in sheet and "stage=1&amp;cause=biofouling&amp;units=US" in sheet and "°F" in sheet
    form = train.get(f"{LIST}/new?stage=1&cause=biofouling&units=US").text
    assert 'name="units" value="US"' in form and 'data-sheet="worksheet-1-1-biofouling"' in form
