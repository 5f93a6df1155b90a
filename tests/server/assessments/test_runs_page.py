"""Runs in words, and other limits tried on a stored answer."""

from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from analytics.events import Event
from analytics.judgement.grounds import Grounds, Verdict
from analytics.judgement.meters import Meter
from analytics.plant import Limits
from server.assessments.graphs import run_charts
from server.assessments.grounds import grounds_document, grounds_of
from server.assessments.history import History
from server.assessments.meters_page import balance_lines
from server.assessments.runs_page import runs_page
from server.assessments.what_if import Slider, _moved, sliders_of, verdict_with
from server.templating import Frame


def entry(name: str, value: float, limit: float, **more: Any) -> dict[str, Any]:
    return {
        "scope": "train", "name": name, "value": value, "low": value - 0.01, "high": value + 0.01, "limit": limit,
        "warn": 1 + 0.7 * (limit - 1), "too_late": 0.8 if limit < 1 else 1.5, "season_allowance": 0.0, "closure": 0.0,
        "change_per_30_days": None, "change_low": None, "change_high": None, "temperature_corrected": True, "days": 90,
    } | more  # fmt: skip


def moving(name: str, value: float, slope: float, **more: Any) -> dict[str, Any]:
    """A trend with its level and slope today, on its way for two months."""
    recent = [value - slope * (29 - day) for day in range(30)]
    today = {
        "value": value, "low": value - 0.005, "high": value + 0.005, "slope": slope, "slope_low": slope - 1e-4,
        "slope_high": slope + 1e-4, "growth": 0.0, "days": 60, "first": "2026-01-01", "last": "2026-03-01",
        "recent": recent,
    }  # fmt: skip
    return {"scope": "train", "name": name, "segments": [], "forecast": None, "today": today | more}


GROUNDS = grounds_document(Grounds(date(2026, 3, 1)))
DOCUMENT = {
    "as_of": "2026-03-01T06:00:00Z",
    "verdict": {"level": "watch", "headline": "", "reasons": [], "grounds": GROUNDS},
    "indicators": [entry("permeate_flow", 0.93, 0.90)],
    "trends": [moving("permeate_flow", 0.93, -0.0002)],
}


def tried(document: dict[str, Any] = DOCUMENT, **asked: str) -> Verdict:
    found = verdict_with(document, sliders_of(document, asked))
    assert found is not None
    return found


def test_sliders_stand_at_the_limits_of_the_plant_for_what_was_judged() -> None:
    document = DOCUMENT | {"indicators": [entry("permeate_flow", 0.93, 0.88), entry("pressure_drop", 1.02, 1.15)]}
    assert [(one.name, one.value) for one in sliders_of(document, {})] == [("permeate_flow", 12), ("pressure_drop", 15)]


def test_other_limits_give_another_verdict() -> None:
    levels = [tried(permeate_flow=text).level for text in ("5", "", "20")]
    assert levels == ["plan cleaning", "watch", "steady"]


def test_what_makes_no_sense_is_drawn_back_into_the_range() -> None:
    values = [sliders_of(DOCUMENT, {"permeate_flow": text})[0].value for text in ("-4", "900", "ten", "")]
    assert values == [2, 30, 10, 10]


def test_a_warning_keeps_its_share_of_the_way_and_too_late_is_never_before_the_limit() -> None:
    found = _moved(Limits(), Slider("permeate_flow", "", 2, 30, 25, 10))
    assert (found.permeate_flow_warn, found.permeate_flow_clean) == pytest.approx((1 - 0.7 * 0.25, 0.75))
    assert found.permeate_flow_too_late == 0.75
    assert (found.salt_passage_clean, found.pressure_drop_warn) == (1.15, 1.10)


def test_a_limit_is_passed_by_two_levels_in_a_row_under_any_limits() -> None:
    """The last of the levels alone is past 7 %: the same steadiness as on the page of the train."""
    recent = [0.94] * 29 + [0.928]
    one_day = DOCUMENT | {"trends": [moving("permeate_flow", 0.928, -0.0002, recent=recent)]}
    two_days = DOCUMENT | {"trends": [moving("permeate_flow", 0.928, -0.0002, recent=[*recent[1:], 0.928])]}
    assert [tried(one, permeate_flow="7").level for one in (one_day, two_days)] == ["watch", "plan cleaning"]


def test_meters_and_dangers_count_under_any_limits() -> None:
    off = Meter("permeate_flow", -0.08, -0.1, -0.06, suspect=True, evidence="the flow balance has moved by +6.0 %")
    grounds = grounds_document(Grounds(date(2026, 3, 1), meters=(off,), doubted=off))
    document = DOCUMENT | {"verdict": DOCUMENT["verdict"] | {"grounds": grounds}}
    assert {tried(document, permeate_flow=text).level for text in ("5", "10", "30")} == {"check a meter"}
    assert grounds_of(document) == Grounds(date(2026, 3, 1), meters=(off,), doubted=off)


def test_what_is_tried_is_told_beside_what_is() -> None:
    def beside(document: dict[str, Any], **asked: str) -> str:
        page = runs_page(Frame("Runs", "SI", "/"), "Site", "Train", document, asked)
        assert page.what_if is not None
        return page.what_if.beside

    headline = tried().headline
    document = DOCUMENT | {"verdict": DOCUMENT["verdict"] | {"headline": headline}}
    assert beside(document).startswith("These are the limits of the plant")
    five = beside(document, permeate_flow="5")
    assert five == (
        "With loss of permeate flow 5\u202f% instead of 10\u202f%, the verdict changes from “watch” to “plan cleaning”."
    )
    assert beside(document, permeate_flow="9").endswith("the verdict is still “watch”, in other words.")
    longer = {name: document[name] for name in ("as_of", "verdict", "trends")}
    both = longer | {"indicators": [*document["indicators"], entry("pressure_drop", 1.0, 1.15)],
                     "trends": [*document["trends"], moving("pressure_drop", 1.0, 0.0)]}  # fmt: skip
    assert beside(both, pressure_drop="20").endswith("the verdict stays as it is.")


def test_an_answer_kept_without_its_grounds_is_not_tried() -> None:
    bare = DOCUMENT | {"verdict": {"level": "watch", "headline": "", "reasons": []}}
    assert runs_page(Frame("Runs", "SI", "/"), "Site", "Train", bare, {}).what_if is None


def test_runs_are_told_with_what_a_cleaning_gave_back() -> None:
    fact = {
        "scope": "stage1", "name": "permeate_flow", "start": "2026-01-01", "end": "2026-03-01",
        "opened_by": "cleaning", "days": 55, "growth": "linear", "valid": True, "why": "", "start_level": 0.97,
        "start_low": 0.96, "start_high": 0.98, "end_level": 0.93, "lasting_loss": 0.03, "given_back": 0.786,
        "change_per_30_days": -0.02, "change_low": -0.024, "change_high": -0.016,
    }  # fmt: skip
    page = runs_page(Frame("Runs", "SI", "/"), "Site", "Train", DOCUMENT | {"run_facts": [fact]}, {})
    (run,) = page.runs
    (row,) = run.rows
    assert run.opened_by == "Cleaning" and row.indicator == "Permeate flow, stage 1"
    assert row.start == "0.970 (0.960 to 0.980)" and row.growth == "Linear"
    assert (row.given_back, row.lasting) == ("79\u202f%", "3\u202f%")
    assert row.change == "−2.0 (−2.4 to −1.6) points" and row.why == ""


def test_what_a_run_cannot_tell_is_unknown_and_says_why() -> None:
    fact = {
        "scope": "train", "name": "permeate_flow", "start": "2026-01-01", "end": "2026-03-01", "opened_by": "cleaning",
        "days": 10, "growth": "", "valid": False, "why": "too few", "start_level": 0.97, "start_low": 0.96,
        "start_high": 0.98, "end_level": 0.93, "lasting_loss": 0.03, "given_back": None, "given_back_why": "little",
        "lasting_loss_why": "", "change_per_30_days": None, "change_low": None, "change_high": None,
    }  # fmt: skip
    cold = fact | {"why": "", "lasting_loss": None, "lasting_loss_why": "no meter", "given_back_why": "no meter"}
    first = cold | {"given_back_why": ""}
    page = runs_page(Frame("Runs", "SI", "/"), "Site", "Train", DOCUMENT | {"run_facts": [fact, cold, first]}, {})
    rows = page.runs[0].rows
    assert [(row.given_back, row.lasting) for row in rows] == [
        ("Unknown", "3\u202f%"),
        ("Unknown",) * 2,
        ("", "Unknown"),
    ]
    assert [row.why for row in rows] == [
        "too few; given back: little", "given back and lost for good: no meter", "lost for good: no meter",
    ]  # fmt: skip


def test_balances_are_said_to_hold_or_not() -> None:
    one = {"name": "flow balance", "drift": 0.06, "days": 21, "tolerance": 0.03, "holds": False}
    assert balance_lines({"balances": [one]})[0].holds == "Does not hold"
    assert balance_lines({}) == ()


def test_a_chart_is_drawn_for_the_train_and_for_each_stage_that_is_judged() -> None:
    days = np.linspace(1.0, 0.93, 90)
    columns = {f"{scope}_permeate_flow": days for scope in ("train", "stage1", "stage2")}
    history = History(date(2025, 12, 1), 90, columns)
    trends = [{"scope": scope, "name": "permeate_flow", "segments": []} for scope in ("train", "stage1")]
    judged = [entry("permeate_flow", 0.93, 0.90) | {"scope": one["scope"]} for one in trends]
    cleaned = Event(datetime(2026, 1, 10, tzinfo=UTC), "cleaning", 1, "citric acid")
    charts = run_charts(DOCUMENT | {"indicators": judged, "trends": trends}, history, [cleaned], ZoneInfo("UTC"), 2)
    assert [(box.title, box.panels) for box in charts.boxes] == [("Train", 1), ("Stage 1", 1)]
    assert [(mark.number, mark.label) for mark in charts.marks] == [(1, "Cleaning, stage 1")]
    assert run_charts(DOCUMENT, History(date(2025, 12, 1), 0, {}), [], ZoneInfo("UTC"), 2).boxes == ()
