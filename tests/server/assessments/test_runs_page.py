"""Runs in words, and other limits tried on a stored answer."""

from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from analytics.events import Event
from server.assessments.graphs import run_charts
from server.assessments.history import History
from server.assessments.meters_page import balance_lines
from server.assessments.runs_page import runs_page
from server.assessments.what_if import sliders_of, verdict_with
from server.templating import Frame


def entry(name: str, value: float, limit: float, **more: Any) -> dict[str, Any]:
    return {
        "scope": "train", "name": name, "value": value, "low": value - 0.01, "high": value + 0.01, "limit": limit,
        "warn": 1.0, "too_late": 0.8 if limit < 1 else 1.5, "season_allowance": 0.0, "change_per_30_days": None,
        "change_low": None, "change_high": None, "temperature_corrected": True, "days": 90,
    } | more  # fmt: skip


DOCUMENT = {"as_of": "2026-03-01T06:00:00Z", "indicators": [entry("permeate_flow", 0.93, 0.90)]}


def tried(**asked: str) -> str:
    return verdict_with(DOCUMENT, sliders_of(DOCUMENT, asked)).level


def test_sliders_stand_at_the_limits_of_the_plant() -> None:
    assert [one.value for one in sliders_of(DOCUMENT, {})] == [10, 15, 15]


def test_other_limits_give_another_verdict() -> None:
    assert (tried(permeate_flow="5"), tried(), tried(permeate_flow="20")) == ("plan cleaning", "watch", "steady")


def test_what_makes_no_sense_is_drawn_back_into_the_range() -> None:
    values = [sliders_of(DOCUMENT, {"permeate_flow": text})[0].value for text in ("-4", "900", "ten", "")]
    assert values == [5, 30, 10, 10]


def test_runs_are_told_with_what_a_cleaning_gave_back() -> None:
    fact = {
        "scope": "stage1", "name": "permeate_flow", "start": "2026-01-01", "end": "2026-03-01",
        "opened_by": "cleaning", "days": 55, "growth": "linear", "valid": True, "why": "", "start_level": 0.97,
        "start_low": 0.96, "start_high": 0.98, "end_level": 0.93, "lasting_loss": 0.03, "given_back": 0.786,
        "change_per_30_days": -0.02, "change_low": -0.024, "change_high": -0.016,
    }  # fmt: skip
    page = runs_page(Frame.__new__(Frame), "Site", "Train", DOCUMENT | {"run_facts": [fact]}, {})
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
    page = runs_page(Frame.__new__(Frame), "Site", "Train", DOCUMENT | {"run_facts": [fact, cold, first]}, {})
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
