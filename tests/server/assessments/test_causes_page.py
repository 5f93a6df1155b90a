"""The page of the causes: what a person reads there, and that its table says what the weighing itself uses."""

import math
import re
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient

from analytics.judgement.signatures import SIGNATURES
from server.assessments.cause_words import check_words
from server.assessments.causes_page import _cell, _headline
from server.assessments.graphs import cause_charts
from server.assessments.history import history_from_series
from server.assessments.queries import latest_assessment
from server.db import transaction
from server.display import THIN
from tests.server.assessments.example import example_document, example_plant
from tests.server.assessments.test_routes import counted_queries, own_queries
from tests.server.seen import seen


def test_the_page_leads_with_the_causes_and_the_check_that_separates_them(demo_client: TestClient) -> None:
    page = demo_client.get("/trains/1/causes").text
    text = seen(page)
    order = ["Check first:", "For and against", "A class of remedy is not an instruction", "What was seen",
             "In numbers", "The table of signatures", "Sources: published tables"]  # fmt: skip
    places = [text.index(part) for part in order]
    assert places == sorted(places)
    assert page.count("<h1>") == 1 and "minutes)" in text and "local codes come first" in text
    assert page.count('type="application/json"') == page.count("data-figure=") == 1


def test_every_row_of_the_table_of_signatures_is_shown(demo_client: TestClient) -> None:
    table = demo_client.get("/trains/1/causes").text.split('class="signatures"')[1].split("</table>")[0]
    body = table.split("<tbody>")[1]
    assert body.count("<tr>") == len(SIGNATURES)
    headings = table.split("</tr>")[0].count("<th ")
    for row in body.split("</tr>")[:-1]:
        assert row.count("<td") + row.count("<th ") == headings
    assert "A leaking seal, stage\u00a01" in body and "A leaking seal, stage\u00a02" in body


def test_the_page_takes_few_queries(demo_client: TestClient) -> None:
    with counted_queries(demo_client.app.state.engine) as queries:
        demo_client.get("/trains/1/causes")
    assert len(own_queries(queries)) <= 12


@pytest.mark.parametrize(
    ("expected", "change", "arrow", "answer"),
    [(-1.0, -0.1, "↓↓", "fits"), (-1.0, 0.1, "↓↓", "does not fit"), (0.0, 0.1, "·", "does not fit"),
     (0.3, 0.01, "↑", ""), (1.0, 0.01, "↑↑", "does not fit")],
)  # fmt: skip
def test_a_cell_says_what_a_cause_does_and_whether_that_was_seen(
    expected: float, change: float, arrow: str, answer: str
) -> None:
    cell = _cell(expected, change, 0.02)
    assert (cell.arrow, cell.answer) == (arrow, answer)


def test_the_check_says_what_it_tells() -> None:
    check = {"cause": "biofouling", "other": "colloidal", "check": "look", "minutes": 15, "shared": False}
    assert check_words({"causes": [], "separating_check": check}) == (
        "Look (about 15 minutes). It tells biofouling from colloids: what the one loses, the other gains."
    )
    assert "whether there is biofouling at all" in check_words(
        {"causes": [], "separating_check": check | {"other": "none"}}
    )
    assert "which of the two" in check_words({"causes": [], "separating_check": check | {"shared": True}})


def test_the_chart_shows_the_stages_and_not_the_train_they_make_up() -> None:
    document = example_document()
    zone = ZoneInfo(example_plant().site.timezone)
    (box,) = cause_charts(document, history_from_series(document["series"]), [], zone, 2).boxes
    assert box.panels == 3 and "of stage 1" in box.words and "of stage 2" in box.words


def test_numbers_of_the_page_are_those_of_the_answer(demo_client: TestClient) -> None:
    with transaction(demo_client.app.state.engine) as session:
        record = latest_assessment(session, 1)
        assert record is not None
        document = record.document
    seen_first = next(one for one in document["observed"] if one["place"] == "first" and one["what"] == "friction")
    shown = f"{100 * math.expm1(seen_first['change']):+.1f}".replace("-", "−")
    text = seen(demo_client.get("/trains/1/causes").text)
    assert re.search(rf"Channel friction, stage 1 {re.escape(shown)} %", text)


def test_a_meter_is_called_by_its_name_and_nothing_is_certain() -> None:
    causes = [{"cause": "meter", "stage": None, "probability": 0.998}]
    document = {"causes": causes, "meters": [{"quantity": "permeate_flow"}]}
    assert _headline(document).replace(THIN, " ") == "Permeate flow meter (over 99 %)."
    assert _headline({**document, "meters": []}).replace(THIN, " ") == "A meter (over 99 %)."
