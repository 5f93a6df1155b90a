"""The page of the meters: what a person reads there."""

from typing import Any

import pandas as pd
import pytest
from fastapi.testclient import TestClient

from analytics.judgement.meter_history import MeterHistories
from server.assessments.meters_page import DEPARTS, _meters, _thermometer, balance_lines
from server.assessments.worker import refresh_due
from tests.server.assessments.test_routes import counted_queries, own_queries
from tests.server.seen import seen


def test_every_meter_of_the_log_has_its_row_and_the_charts_their_tables(demo_client: TestClient) -> None:
    page = demo_client.get("/trains/2/meters").text
    text = seen(page)
    order = ["If it alone were off", "The same as a table", "What the balances say", "Balance by balance",
             "Meter by meter", "The thermometer", "Calibration", "What could not be known"]  # fmt: skip
    places = [text.index(part) for part in order]
    assert places == sorted(places)
    assert "No meter is accused: the balances hold." in text and "One meter more would help most" in text
    assert page.count('type="application/json"') == page.count("data-figure=") == 2
    table = page.split('id="h-each"')[1].split("<tbody>")[1].split("</tbody>")[0]
    rows = [seen(f"<main>{row}</main>") for row in table.split("</tr>")[:-1]]
    assert any("Feed temperature no balance holds it" in row for row in rows)
    assert any("Feed conductivity" in row and "salt balance" in row and "%" in row for row in rows)
    assert "9 December 2025 Calibrated" in text
    assert "no calibration is on record since" in text and "portable meter" in text


def test_a_train_without_balances_says_so(demo_client: TestClient) -> None:
    text = seen(demo_client.get("/trains/1/meters").text)
    assert "No balance can be drawn up" in text and "None has been written down" in text


@pytest.mark.parametrize("page", ["causes", "runs", "meters"])
def test_a_train_without_readings_says_what_to_do_first(client: TestClient, plant_text: str, page: str) -> None:
    client.post("/plants", data={"text": plant_text})
    response = client.get(f"/trains/1/{page}")
    assert response.status_code == 200 and "No readings yet." in seen(response.text)


@pytest.mark.parametrize("page", ["causes", "runs", "meters", "assessment"])
def test_a_log_that_is_too_short_is_no_error_on_any_page(client: TestClient, plant_text: str, page: str) -> None:
    client.post("/plants", data={"text": plant_text.replace("booster = true", "")})
    log = "time,permeate_flow [m3/h]\n2026-01-01 06:00,10\n2026-01-02 06:00,11\n"
    client.post("/trains/1/imports", files={"file": ("log.csv", log)})
    client.post("/imports/1/confirm")
    refresh_due(client.app.state.engine)
    response = client.get(f"/trains/1/{page}")
    assert response.status_code == 200 and "No readings yet." not in response.text
    assert "first verdict is being worked out" not in response.text


def test_the_page_takes_few_queries(demo_client: TestClient) -> None:
    with counted_queries(demo_client.app.state.engine) as queries:
        demo_client.get("/trains/2/meters")
    assert len(own_queries(queries)) <= 13


def test_meters_in_question_come_first_and_lost_values_are_counted() -> None:
    meter = {"quantity": "permeate_flow", "suspect": True, "bias": -0.08, "low": -0.1, "high": -0.06, "evidence": "x"}
    lost = {"feed_ph": {"out of range": 2, "spike": 1}}
    document: dict[str, Any] = {"meters": [meter], "readings": {"values_set_aside": lost}}
    days = pd.DataFrame({"raw_feed_ph": [7.0], "raw_permeate_flow_m3h": [10.0], "raw_feed_orp_mv": [float("nan")]})
    first, second = _meters(document, MeterHistories((), ()), days)
    assert (first.name, first.suspicion) == ("Permeate flow", "suspected")
    assert (second.name, second.lost, second.suspicion) == ("Feed pH", "out of range 2 and spike 1", "")


def test_the_thermometer_is_held_against_its_season() -> None:
    """What a warm year would do is said only where the thermometer departs; a document from before says nothing."""
    keeps = {"sentences": ["it keeps"], "departs": False, "departure_c": 0.2, "unknown": ""}
    assert _thermometer({"thermometer": keeps}) == ("It keeps.",)
    assert _thermometer({"thermometer": keeps | {"departs": True}}) == ("It keeps.", DEPARTS)
    unknown = {"sentences": [], "departs": False, "departure_c": None, "unknown": "it takes 14 months"}
    assert _thermometer({"thermometer": unknown}) == ("Not known yet: it takes 14 months.",)
    assert _thermometer({}) == ()


def test_a_balance_names_its_meters() -> None:
    one = {"name": "flow balance", "drift": 0.06, "days": 21, "tolerance": 0.03, "holds": False,
           "meters": ["feed_flow", "permeate_flow"]}  # fmt: skip
    (line,) = balance_lines({"balances": [one]})
    assert (line.holds, line.meters) == ("Does not hold", "feed flow and permeate flow")
