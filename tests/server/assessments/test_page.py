"""The train page as typed values, and what its template makes of documents with more and with less in them."""

from datetime import UTC, datetime
from typing import Any

import pytest

from analytics.events import Event
from server.assessments.page import LatestReading, TrainPage, train_page
from server.readings.queries import LatestValue
from server.templating import Frame, TrainTabs, render
from tests.server.assessments.example import LATEST, example_document, example_plant
from tests.server.seen import seen

READ = datetime(2026, 3, 2, 6, 10, tzinfo=UTC)
EVENTS = [Event(datetime(2025, 7, 17, 9, tzinfo=UTC), "cleaning", 2, "Acid first, then alkaline.")]


def page_of(document: dict[str, Any], units: str = "SI", **changes: Any) -> TrainPage:
    frame = Frame("Skid 2", units, "/trains/1/assessment", TrainTabs(1, "Tarn Quay Nurseries", "Skid 2", "assessment"))
    given: dict[str, Any] = {
        "latest": LatestReading(LATEST, READ), "events": EVENTS, "now": datetime(2026, 3, 2, 11, tzinfo=UTC),
    }  # fmt: skip
    return train_page(frame, example_plant(), document, document["series"], **(given | changes))


def shown(page: TrainPage) -> str:
    return seen(bytes(render("assessments/show.html", page).body).decode())


def test_the_verdict_comes_first_then_its_reasons_then_the_figures() -> None:
    text = shown(page_of(example_document()))
    order = [
        "Plan cleaning", "Plan a cleaning of stage 2 between", "Normalized permeate flow is 7.8 %", "Key figures",
        "The way of the water", "What has changed", "Stage by stage", "Likely causes",
        "Seems to be off by", "What could not be known", "What this rests on",
    ]  # fmt: skip
    places = [text.index(part) for part in order]
    assert places == sorted(places)
    assert "last reading 4 hours ago" in text


def test_counts_of_readings_add_up_to_the_total() -> None:
    page = page_of(example_document())
    counts = [int(row.count.replace("\u202f", "")) for row in page.evidence.aside]
    assert sum(counts) == 1284 and page.evidence.total == "1\u202f284\u00a0readings"
    assert "Stage 1 permeate conductivity: frozen value (130)" in page.evidence.values_aside


def test_causes_meters_missing_and_notes_stand_only_where_there_are_any() -> None:
    document = example_document() | {"causes": [], "meters": [], "missing": [], "notes": []}
    text = shown(page_of(document))
    for heading in ("Likely causes", "Seems to be off by", "What could not be known", "Notes"):
        assert heading not in text


def test_a_steady_train_keeps_its_evidence_folded() -> None:
    document = example_document()
    document["verdict"] = {"level": "steady", "headline": "All is within limits.", "reasons": ["All is within limits."]}
    page = page_of(document)
    html = bytes(render("assessments/show.html", page).body).decode()
    assert page.calm and page.reasons == ()
    assert '<details class="evidence">' in html and "All indicators as a table" not in html


def test_a_document_without_reference_or_indicators_is_a_page_and_no_error() -> None:
    document = example_document() | {"indicators": [], "trends": [], "reference": None, "runs": [], "span": None}
    document["series"] = {"day": []}
    document["verdict"] = {"level": "not enough data", "headline": "There is no answer yet.", "reasons": []}
    document["readings"] = {"total": 0, "used": 0, "set_aside": {}, "values_set_aside": {}}
    text = shown(page_of(document, latest=LatestReading({}, None), events=[]))
    assert "Not enough data" in text and "There is no answer yet." in text and "Key figures" not in text


def test_events_beside_the_chart_are_numbered_with_their_day() -> None:
    assert "1 Cleaning, stage 2, 17 July 2025. Acid first, then alkaline." in shown(page_of(example_document()))


def test_as_read_stands_beside_normalized_with_one_sentence() -> None:
    document = example_document()
    days = len(document["series"]["day"])
    document["series"]["raw"] = {
        "permeate_flow_m3h": [14.4] * days, "feed_pressure_bar": [12.1] * 30 + [13.6] * (days - 30),
    }  # fmt: skip
    text = shown(page_of(document, units="US"))
    # 13.6 bar = 197 psi, 12.1 bar = 175 psi; 14.4 m3/h is the reference's own flow
    assert "permeate flow of the last fortnight is 1.00 of what it was" in text
    assert "feed pressure (197 psi now, 175 psi then), it is 0.92." in text


def test_without_a_raw_series_there_is_nothing_to_compare() -> None:
    assert "As read and normalized" not in shown(page_of(example_document()))


def test_values_by_month_say_the_same_as_the_chart() -> None:
    page = page_of(example_document())
    assert page.months is not None
    assert page.months.columns[0] == "Permeate flow, train"
    newest, oldest = page.months.rows[0], page.months.rows[-1]
    assert (newest[0], oldest[0]) == ("March 2026", "January 2025")
    assert oldest[1][0] == "1.00" and newest[1][0] == "0.92"


def test_what_people_wrote_is_escaped() -> None:
    events = [Event(EVENTS[0].time, "cleaning", 2, "</script><img src=x>")]
    html = bytes(render("assessments/show.html", page_of(example_document(), events=events)).body).decode()
    assert "<img src=x>" not in html


@pytest.mark.parametrize("level", ["steady", "watch", "plan cleaning", "act now", "check a meter", "not enough data"])
def test_each_level_has_a_mark_of_its_own(level: str) -> None:
    document = example_document()
    document["verdict"]["level"] = level
    html = bytes(render("assessments/show.html", page_of(document)).body).decode()
    mark = html.split('<p class="level">', 1)[1].split("</svg>", 1)[0]
    others = {"steady": 1, "watch": 2, "plan cleaning": 1, "act now": 1, "check a meter": 1, "not enough data": 2}
    assert mark.count("<circle") + mark.count("<path") + mark.count("<rect") == others[level]
    assert level.capitalize() in seen(html)


def test_the_newest_of_all_values_dates_the_reading() -> None:
    latest = LatestReading.of({"a": LatestValue(1.0, READ), "b": LatestValue(2.0, READ.replace(hour=5))})
    assert latest.taken_at == READ and dict(latest.values) == {"a": 1.0, "b": 2.0}
    assert LatestReading.of({}).taken_at is None


def test_both_methods_are_named_and_shown() -> None:
    document = example_document()
    for entry in document["indicators"]:
        entry["method"] = "membrane model"
    document["method"] = "membrane model"
    document["standard"] = {"indicators": [document["indicators"][0] | {"value": 0.95}], "trends": []}
    document["learned"] = [
        {"scope": "stage1", "what": "flow exponent", "unit": "-", "before": 1.65, "after": 1.712, "error": 0.05},
        {"scope": "stage2", "what": "salt temperature slope", "unit": "K", "before": 2900, "after": 2602, "error": 53},
    ]  # fmt: skip
    text = shown(page_of(document))
    assert "By the membrane model, relative to the reference." in text
    assert "Permeate flow, train 0.92 0.91 to 0.93 0.95 0.90" in text
    assert "Flow exponent of stage 1: 1.71, give or take 0.05; before, 1.65." in text
    assert "Salt temperature slope of stage 2: 2 602 K, give or take 53.0; before, 2 900." in text


def test_causes_say_what_to_check_first_and_the_unlikely_are_only_named() -> None:
    document = example_document()
    unlikely = {"cause": "seal-leak", "stage": None, "probability": 0.05, "evidence": [], "next_check": "x"}
    document["causes"].append(unlikely)
    text = shown(page_of(document))
    assert "Scale, stage 2 71 %" in text and "Check first: Weigh the last element of stage 2." in text
    assert "Less likely: a leaking seal (5 %)." in text
