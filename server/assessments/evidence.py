"""The tables of the train page: what the verdict rests on, in words and rounded as people read it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

import numpy as np
import pandas as pd

from analytics.judgement.words import all_of, not_foreseen
from analytics.quantities import COLUMNS, QUANTITIES
from server.assessments.cause_words import cause_name, causes_in_order, check_words, probability_words
from server.assessments.figures import is_judged, trend_words
from server.assessments.history import Floats, History
from server.assessments.levels import INDICATORS, KINDS, REASONS, scope_words
from server.assessments.meter_words import meter_name, off_between, off_by
from server.assessments.panels import reach_of
from server.display import (
    THIN,
    days_between,
    in_reader_units,
    measured,
    number,
    reader_unit,
    sentence,
    uncapitalized,
    unit_symbol,
    with_unit,
)

Document = Mapping[str, Any]
LIKELY = 0.1
"""Causes below this probability are only named."""


@dataclass(frozen=True)
class IndicatorRow:
    """One indicator with everything that was found out about it."""

    name: str
    scope: str
    value: str
    interval: str
    trend: str
    limit: str
    reaches: str
    method: str
    by_standard: str


@dataclass(frozen=True)
class GaugeValue:
    """The newest value of one quantity."""

    label: str
    value: str
    unit: str


@dataclass(frozen=True)
class CauseRow:
    """A possible cause and how likely it is."""

    name: str
    probability: str
    share: float


@dataclass(frozen=True)
class Causes:
    """The likely causes one by one, the check that is made first, and the rest in one sentence."""

    likely: tuple[CauseRow, ...]
    check: str
    others: str


@dataclass(frozen=True)
class MeterRow:
    name: str
    bias: str
    interval: str
    words: str


@dataclass(frozen=True)
class RunRow:
    days: str
    opened_by: str


@dataclass(frozen=True)
class AsideRow:
    """How many readings one reason sets aside, or how many are used; `query` asks the list for them."""

    label: str
    meaning: str
    count: str
    query: str


@dataclass(frozen=True)
class MissingRow:
    """A meter that is not there, and what could not be known without it."""

    meter: str
    effect: str


@dataclass(frozen=True)
class MonthTable:
    """Monthly medians of the daily values: the chart as a table."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


def indicator_rows(document: Document) -> tuple[IndicatorRow, ...]:
    """All indicators, train first, then stage by stage, each with what the standard method says."""
    standard = {(e["scope"], e["name"]): e["value"] for e in document.get("standard", {}).get("indicators", [])}
    return tuple(_indicator_row(e, standard.get((e["scope"], e["name"]))) for e in document["indicators"])


def _indicator_row(entry: Mapping[str, Any], by_standard: float | None) -> IndicatorRow:
    reach = reach_of(entry)
    standing = entry.get("standing", "fine")
    missing = not_foreseen(entry.get("days_needed"))
    reaches = reach.text if reach else "passed" if standing in ("clean", "too late") else missing
    return IndicatorRow(
        name=sentence(INDICATORS[entry["name"]]),
        scope=scope_words(entry["scope"]),
        value=number(entry["value"], 2),
        interval=f"{number(entry['low'], 2)} to {number(entry['high'], 2)}",
        trend=trend_words(entry),
        limit=number(entry["limit"], 2),
        reaches=reaches if is_judged(entry) else "not judged",
        method=sentence(entry.get("method", "standard method")),
        by_standard=number(by_standard, 2),
    )


def gauge_values(latest: Mapping[str, float], units: str) -> tuple[GaugeValue, ...]:
    """The newest values in the order of the glossary, which is that of the water."""
    return tuple(
        GaugeValue(quantity.label, in_reader_units(latest[name], quantity, units), reader_unit(quantity, units))
        for name, quantity in COLUMNS.items()
        if name in latest
    )


def causes_of(document: Document) -> Causes | None:
    """What may be behind the change, the likeliest first; None where nothing was weighed."""
    causes, meters = causes_in_order(document), document["meters"]
    likely = tuple(
        CauseRow(cause_name(cause, meters), probability_words(cause), round(100 * cause["probability"], 1))
        for cause in causes
        if cause["probability"] >= LIKELY
    )
    others = [
        f"{uncapitalized(cause_name(cause, meters))} ({probability_words(cause)})"
        for cause in causes
        if cause["probability"] < LIKELY
    ]
    return (
        Causes(likely, check_words(document), f"Less likely: {all_of(others)}." if others else "") if causes else None
    )


def _with_symbol(value: float, unit: str) -> str:
    symbol = unit_symbol(unit)
    return f"{measured(value)}{THIN}{symbol}" if symbol else measured(value)


def learned_words(document: Document) -> tuple[str, ...]:
    """What was learned from the plant's own readings, beside what was known before."""
    return tuple(_learned(one) for one in document.get("learned", []))


def _learned(one: Mapping[str, Any]) -> str:
    found, before = _with_symbol(one["after"], one["unit"]), measured(one["before"])
    where = f"{sentence(one['what'])} of {scope_words(one['scope'])}"
    return f"{where}: {found}, give or take {measured(one['error'])}; before, {before}."


def meter_rows(document: Document, units: str) -> tuple[MeterRow, ...]:
    """Meters that may be off."""
    return tuple(
        MeterRow(
            name=meter_name(m["quantity"]),
            bias=off_by(m, units),
            interval=off_between(m, units),
            words="Suspected" if m["suspect"] else "One of several that could explain it",
        )
        for m in document["meters"]
    )


def run_rows(document: Document) -> tuple[RunRow, ...]:
    """Runs, the present one first."""
    rows = []
    for run in reversed(document["runs"]):
        days = days_between(date.fromisoformat(run["start"]), date.fromisoformat(run["end"]))
        opened = KINDS.get(run["opened_by"], sentence(run["opened_by"]))
        rows.append(RunRow(days, f"{opened}, stage {run['stage']}" if run["stage"] else opened))
    return tuple(rows)


def aside_rows(document: Document) -> tuple[AsideRow, ...]:
    """Used readings, then those set aside by reason; the counts add up to the total."""
    readings = document["readings"]
    used = AsideRow("Used", "in trends and in the verdict", number(readings["used"]), "show=used")
    rows = [
        AsideRow(sentence(reason), REASONS.get(reason, ""), number(count), urlencode({"show": reason}))
        for reason, count in sorted(readings["set_aside"].items(), key=lambda entry: -entry[1])
    ]
    return (used, *rows)


def missing_rows(document: Document) -> tuple[MissingRow, ...]:
    """What could not be known, and which meter would help."""
    return tuple(
        MissingRow(QUANTITIES[m["quantity"]].label if m["quantity"] in QUANTITIES else m["quantity"], m["effect"])
        for m in document["missing"]
    )


def compare_words(document: Document, history: History, units: str) -> str:
    """One sentence on why the gauge and the normalized flow differ, over the last fortnight."""
    flow = history.of("raw_permeate_flow_m3h")
    usual = document["reference"]["conditions"]["permeate_flow_m3h"]
    now = next((e for e in document["indicators"] if (e["scope"], e["name"]) == ("train", "permeate_flow")), None)
    if flow is None or now is None:
        return ""
    reference = document["reference"]
    changes = []
    for name in ("feed_temperature_c", "feed_pressure_bar"):
        values, quantity = history.of(f"raw_{name}"), COLUMNS[name]
        if values is not None:
            then = with_unit(history.between(values, reference["start"], reference["end"]), quantity, units)
            read = with_unit(recent(values), quantity, units)
            changes.append(f"{uncapitalized(quantity.label)} ({read} now, {then} then)")
    corrected = all_of(changes) or "the pressure and the salt of the feed"
    return (
        f"As read, permeate flow of the last fortnight is {number(recent(flow) / usual, 2)} of what it was "
        "in the reference. "
        f"Corrected for {corrected}, it is {number(now['value'], 2)}."
    )


def recent(values: Floats) -> float:
    """Median of the last fortnight that has values."""
    known = values[np.isfinite(values)]
    return float(np.median(known[-14:]))


def month_table(history: History, stages: int) -> MonthTable | None:
    """Monthly medians of the indicators."""
    names = [
        (f"{scope}_{name}", f"{sentence(label)}, {scope_words(scope)}")
        for name, label in INDICATORS.items()
        for scope in ("train", *(f"stage{n}" for n in range(1, stages + 1)))
        if history.of(f"{scope}_{name}") is not None
        and not (name == "pressure_drop" and scope == "train" and stages > 1)
    ]
    if not names:
        return None
    days = pd.date_range(pd.Timestamp(history.first), periods=history.days, freq="D")
    frame = pd.DataFrame({key: history.columns[key] for key, _ in names}, index=days)
    months = frame.groupby([days.year, days.month]).median().dropna(how="all")
    rows = tuple(
        (f"{date(year, month, 1):%B} {year}", tuple(number(value, 2) for value in values))
        for (year, month), values in zip(months.index, months.to_numpy().tolist(), strict=True)
    )
    return MonthTable(tuple(label for _, label in names), rows[::-1])
