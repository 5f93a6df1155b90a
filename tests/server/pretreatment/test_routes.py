"""Pretreatment: what the log says, and worksheets that answer in sentences."""

from dataclasses import replace
from datetime import date

import pytest
from fastapi.testclient import TestClient

from analytics.decisions.dechlorination import Exposure, OrpBaseline
from analytics.decisions.oxidant_record import OxidantRecord
from analytics.plant import Limits
from server.pretreatment.page import _chlorine, _orp
from server.pretreatment.queries import Pretreatment
from tests.server.seen import seen

PAGE = "/trains/1/pretreatment"
ANTISCALANT = {"product": "10", "density": "1,15", "flow": "20", "target": "3", "active": "100", "column": "",
               "seconds": "", "tank": "", "hours": ""}  # fmt: skip


@pytest.fixture
def train(client: TestClient, plant_text: str) -> TestClient:
    client.post("/plants", data={"text": plant_text.replace("booster = true", "")})
    return client


def test_a_train_without_log_says_what_is_not_known(train: TestClient) -> None:
    text = seen(train.get(PAGE).text)
    assert "is not known" in text and "what the membranes have seen is not known" in text


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"first_time": "30", "second_time": "60", "minutes": "15"}, "SDI15 is 3.33"),
        ({"first_time": "25", "second_time": "100", "minutes": "15"}, "run the test again over 10 minutes"),
        ({"first_time": "60", "second_time": "30", "minutes": "15"}, "are they exchanged?"),
        ({"first_time": "30", "second_time": "60", "minutes": "nan"}, '"nan" is not a number'),
        ({"first_time": "", "second_time": "30", "minutes": "15"}, "First time: enter a number."),
        (
            {"agent": "sodium metabisulfite", "flow": "20", "chlorine": "0.8", "factor": "0.75", "strength": "10",
             "density": "1.07"},
            "leaves 44 %",
        ),
        ({"agent": "x", "flow": "20", "chlorine": "1", "factor": "3", "strength": "10", "density": "1"}, "not known"),
        (ANTISCALANT, "8.70 mL/min"),
        (ANTISCALANT | {"column": "100", "seconds": "115"}, "6.0 times what is meant"),
        (ANTISCALANT | {"tank": "12.5", "hours": "0"}, "must be above zero"),
    ],
)  # fmt: skip
def test_worksheets_answer(train: TestClient, query: dict[str, str], said: str) -> None:
    response = train.get(PAGE, params=query)
    assert response.status_code == 200 and said in seen(response.text)


def pretreatment(**limits: float) -> Pretreatment:
    exposure, orp = Exposure(150.0, 160.0, 2400.0, 0.0), OrpBaseline(180.0, 240.0, 90)
    record = OxidantRecord(date(2026, 1, 1), exposure, orp, orp_holds=True)
    return Pretreatment({}, (), record, Limits(**limits), None, None)


@pytest.mark.parametrize(
    ("limits", "chlorine", "orp"),
    [
        ({}, False, True),
        ({"max_chlorine_exposure_ppm_h": 100.0}, True, True),
        ({"max_orp_rise_mv": 80.0}, False, False),
    ],
)
def test_the_page_warns_at_the_limits_of_the_train_as_the_verdict_does(
    limits: dict[str, float], chlorine: bool, orp: bool
) -> None:
    found = pretreatment(**limits)
    assert [bad for _, bad in (*_chlorine(found), *_orp(found))] == [chlorine, orp]


def test_an_orp_of_weeks_ago_is_not_called_today() -> None:
    found = replace(pretreatment(), oxidants=replace(pretreatment().oxidants, orp_holds=False))
    ((text, alarm),) = _orp(found)
    assert "of more than a week ago" in text and not alarm


def test_a_log_speaks(demo_client: TestClient) -> None:
    """Train 2 logs chlorine and ORP, no filter pressures; flows are its own, in its own unit."""
    response = demo_client.get("/trains/2/pretreatment")
    text = seen(response.text)
    assert response.status_code == 200
    assert "ppm·h of free chlorine" in text and "ORP without chlorine is" in text
    assert "Feed flow, gpm" in text and "its two pressures are not in the log" in text
