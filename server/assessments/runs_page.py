"""The page of the runs: what each did to each indicator, and what the verdict would be with other limits."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from analytics.judgement.grounds import Verdict
from analytics.judgement.words import all_of
from server.assessments.graphs import MarkedCharts
from server.assessments.levels import INDICATORS, KINDS, Level, level_of, scope_words
from server.assessments.page import EventRow, event_rows
from server.assessments.what_if import Slider, sliders_of, verdict_with
from server.display import THIN, day, days_between, number, sentence, signed, uncapitalized
from server.reader_words import in_reader_words
from server.templating import Frame

Document = Mapping[str, Any]
NO_CHARTS = MarkedCharts()


@dataclass(frozen=True)
class FactRow:
    """One indicator over one run, in words."""

    indicator: str
    start: str
    end: str
    change: str
    growth: str
    given_back: str
    lasting: str
    why: str


@dataclass(frozen=True)
class RunPart:
    """One run with its indicators."""

    days: str
    opened_by: str
    rows: tuple[FactRow, ...]


@dataclass(frozen=True)
class WhatIf:
    """The limits that are tried, and what the verdict would be with them."""

    sliders: tuple[Slider, ...]
    tried: Verdict
    level: Level
    beside: str


@dataclass(frozen=True)
class RunsPage:
    """Runs, the present one first, and what other limits would say; without those where that cannot be told."""

    frame: Frame
    site: str
    train: str
    headline: str
    charts: MarkedCharts
    events: tuple[EventRow, ...]
    runs: tuple[RunPart, ...]
    what_if: WhatIf | None


def runs_page(
    frame: Frame, site: str, train: str, document: Document, asked: Mapping[str, str], charts: MarkedCharts = NO_CHARTS
) -> RunsPage:
    """Put the page together from a stored document, its charts, and the limits that are tried."""
    facts = document.get("run_facts", [])
    runs = _runs(facts)
    events = event_rows(charts.marks)
    return RunsPage(
        frame, site, train, _headline(facts), charts, events, runs, _what_if(document, asked, frame.units)
    )  # fmt: skip


def _headline(facts: Sequence[Mapping[str, Any]]) -> str:
    """When the present run began, and with what."""
    if not facts:
        return "No run has been told yet."
    first = max(facts, key=lambda fact: str(fact["start"]))
    opened_by = KINDS.get(first["opened_by"], first["opened_by"])
    return f"The present run began on {day(date.fromisoformat(first['start']))}: {uncapitalized(opened_by)}."


def _what_if(document: Document, asked: Mapping[str, str], units: str) -> WhatIf | None:
    sliders = sliders_of(document, asked)
    tried = verdict_with(document, sliders)
    if tried is None or not sliders:
        return None
    tried = replace(tried, headline=in_reader_words(tried.headline, units))
    return WhatIf(sliders, tried, level_of(tried.level), _beside(document["verdict"], tried, sliders))


def _beside(verdict: Mapping[str, Any], tried: Verdict, sliders: Sequence[Slider]) -> str:
    """What the tried limits change."""
    moved = [
        f"{uncapitalized(one.label)} {one.value}{THIN}% instead of {one.now}{THIN}%"
        for one in sliders
        if one.value != one.now
    ]
    if not moved:
        return "These are the limits of the plant, and this is its verdict. Move a limit to try another."
    return f"With {all_of(moved)}, the verdict {_outcome(verdict, tried)}."


def _outcome(verdict: Mapping[str, Any], tried: Verdict) -> str:
    if verdict["level"] != tried.level:
        return f"changes from “{verdict['level']}” to “{tried.level}”"
    return "stays as it is" if verdict["headline"] == tried.headline else f"is still “{tried.level}”, in other words"


def _runs(facts: Sequence[Mapping[str, Any]]) -> tuple[RunPart, ...]:
    spans: dict[tuple[str, str], list[Mapping[str, Any]]] = {}
    for fact in facts:
        spans.setdefault((fact["start"], fact["end"]), []).append(fact)
    return tuple(
        RunPart(
            days_between(date.fromisoformat(start), date.fromisoformat(end)),
            KINDS.get(found[0]["opened_by"], sentence(found[0]["opened_by"])),
            tuple(_row(fact) for fact in found),
        )
        for (start, end), found in sorted(spans.items(), reverse=True)
    )


def _row(fact: Mapping[str, Any]) -> FactRow:
    where = "" if fact["scope"] == "train" else f", {scope_words(fact['scope'])}"
    return FactRow(
        indicator=f"{sentence(INDICATORS[fact['name']])}{where}",
        start=_range(fact),
        end=_ratio(fact["end_level"]),
        change=_change(fact),
        growth=sentence(fact["growth"]) if fact["growth"] else "",
        given_back=_share(fact, "given_back"),
        lasting=_share(fact, "lasting_loss"),
        why=_why(fact),
    )


def _ratio(value: float | None) -> str:
    return "" if value is None or math.isnan(value) else number(value, 3)


def _range(fact: Mapping[str, Any]) -> str:
    if fact["start_level"] is None:
        return ""
    return f"{_ratio(fact['start_level'])} ({_ratio(fact['start_low'])} to {_ratio(fact['start_high'])})"


def _share(fact: Mapping[str, Any], name: str) -> str:
    if fact[name] is None:
        return "Unknown" if fact.get(f"{name}_why") else ""
    return f"{number(100 * fact[name])}{THIN}%"


def _why(fact: Mapping[str, Any]) -> str:
    """Why something of a row is not known, each reason once."""
    reasons: dict[str, list[str]] = {}
    for name, words in (("given_back", "given back"), ("lasting_loss", "lost for good")):
        reasons.setdefault(fact.get(f"{name}_why", ""), []).append(words)
    told = [f"{' and '.join(words)}: {reason}" for reason, words in reasons.items() if reason]
    return "; ".join([fact["why"], *told] if fact["why"] else told)


def _change(fact: Mapping[str, Any]) -> str:
    if fact["change_per_30_days"] is None:
        return ""
    low, high = (signed(100 * fact[key], 1) for key in ("change_low", "change_high"))
    return f"{signed(100 * fact['change_per_30_days'], 1)} ({low} to {high}) points"
