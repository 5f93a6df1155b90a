"""Pretreatment: what the log says, and worksheets that answer in sentences."""

from dataclasses import replace
from datetime import date

import pytest
from fastapi.testclient import TestClient

from analytics.decisions.dechlorination import Exposure, OrpBaseline
from analytics.decisions.oxidant_record import OxidantRecord
from analytics.plant import DosingSystem, Limits
from server.pretreatment.page import _chlorine, _dosing, _orp, _perhaps_spent, _sdi
from server.pretreatment.queries import LastTests, Pretreatment
from tests.server.seen import seen
from tests.server.shift.test_routes import YESTERDAY, copy, filled

__all__ = ["copy", "filled"]

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


@pytest.mark.parametrize(("limit", "perhaps"), [(140.0, True), (155.0, True), (170.0, False), (320.0, False)])
def test_chlorine_that_may_be_past_its_limit_is_not_passed_over(limit: float, perhaps: bool) -> None:
    # 150 ppm h are certain, 160 possible.
    assert _perhaps_spent(pretreatment(max_chlorine_exposure_ppm_h=limit)) is perhaps


def test_a_year_of_tests_without_any_chlorine_does_not_doubt_the_membranes() -> None:
    # By hand: 12000 h below a detection limit of 0.02 mg/L are at most 240 ppm h, past 200; but none is certain.
    record = replace(pretreatment().oxidants, exposure=Exposure(0.0, 240.0, 12000.0, 0.0))
    assert not _perhaps_spent(replace(pretreatment(max_chlorine_exposure_ppm_h=200.0), oxidants=record))


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


def test_a_walk_before_the_membranes_alone_is_seen_on_the_page(copy: TestClient) -> None:
    """On that day nobody read the train itself."""
    walk = {"key": "walk-000001", "time": YESTERDAY, "state": "running", "feed_sdi": "5.4", "confirmed": "yes"}
    assert copy.post("/trains/1/shift", data=walk, headers={"accept": "application/json"}).json()["outcome"] == "saved"
    assert "SDI 5.4 on" in seen(copy.get(PAGE).text)


@pytest.mark.parametrize(("newest", "alarm"), [(4.2, False), (5.0, False), (5.4, True)])
def test_sdi_is_told_and_warned_of_above_what_makers_accept(newest: float, alarm: bool) -> None:
    found = replace(pretreatment(), sdi=LastTests(date(2026, 10, 26), newest, 3.1, 5.4))
    ((text, bad),) = _sdi(found)
    assert text.startswith(f"SDI {newest:.1f} on 26\u00a0October 2026; the last tests lay between 3.1 and 5.4.")
    assert bad is alarm and ("Above 5" in text) is alarm
    assert "No SDI stands in the log" in _sdi(pretreatment())[0][0]


def test_doses_are_held_against_what_is_meant_and_what_the_chlorine_takes() -> None:
    # By hand: 2.4 of 3 is 20 % too little; 1.2 is under 1.34, the molar masses of metabisulfite and chlorine.
    day = date(2026, 10, 26)
    tests = {"antiscalant_mg_l": LastTests(day, 2.4, 2.4, 3.1), "bisulfite_factor": LastTests(day, 1.2, 1.2, 2.9)}
    low = replace(pretreatment(), **tests, dosing=DosingSystem(3.0))
    antiscalant, sulfite = _dosing(low)
    assert antiscalant == (
        "Antiscalant 2.4 mg/L on 26\u00a0October 2026, lately between 2.4 and 3.1; 3 are meant: draw the pump down.",
        True,
    )  # fmt: skip
    assert sulfite == (
        "Sulfite is 1.2 times the chlorine before it, lately between 1.2 and 2.9; the reaction takes 1.34.", True
    )  # fmt: skip
    assert [bad for _, bad in _dosing(replace(low, dosing=DosingSystem()))] == [False, True]
