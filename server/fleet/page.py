"""The fleet page as typed values: one line a train, the most urgent first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from analytics.judgement.judged import STALE_DAYS
from analytics.judgement.words import all_of
from server.assessments.figures import figure_title, is_over, shown_indicators
from server.assessments.levels import Level, level_of
from server.assessments.queries import FleetLine
from server.display import ago, in_words, number, sentence
from server.reader_words import in_reader_words
from server.templating import Frame

NO_READINGS = "No readings yet: bring in a log."
BRIEF = ("Why", "When", "What next")
"""What is said of a train in the list, of the answers in brief."""
BEING_WORKED_OUT = "The first verdict is being worked out."


@dataclass(frozen=True)
class FleetFigure:
    """One indicator in a line; `over` when it is past its warning."""

    title: str
    value: str
    limit: str
    over: bool


@dataclass(frozen=True)
class TrainLine:
    """One train with what it needs; `calm` when that is nothing, and then without figures."""

    train_id: int
    place: str
    level: Level
    headline: str
    calm: bool
    brief: tuple[tuple[str, str], ...]
    silent: bool
    figures: tuple[FleetFigure, ...]
    last_reading: str
    may_enter: bool
    due: bool


@dataclass(frozen=True)
class FleetPage:
    """All trains, or none yet."""

    frame: Frame
    headline: str
    first: str
    lines: tuple[TrainLine, ...]


def fleet_page(
    frame: Frame, lines: Sequence[FleetLine], now: datetime, *, enters: frozenset[int] = frozenset()
) -> FleetPage:
    """Put the fleet in the order of urgency: by level, then by the day on which a limit may be reached.

    `enters` are the sites where the reader may log a shift.
    """
    ordered = sorted(lines, key=lambda line: (level_of(line.level).rank, _next_limit(line), line.site, line.train))
    return FleetPage(
        frame, _headline(ordered), _first(ordered), tuple(_line(line, now, enters, frame.units) for line in ordered)
    )


def _line(line: FleetLine, now: datetime, enters: frozenset[int], units: str) -> TrainLine:
    summary = line.summary or {}
    span, level = summary.get("span"), level_of(line.level)
    calm = level.name == "steady"
    return TrainLine(
        train_id=line.train_id,
        place=f"{line.site} · {line.train}",
        level=level,
        headline=in_reader_words(line.headline, units)
        if line.summary
        else BEING_WORKED_OUT
        if line.due
        else NO_READINGS,
        calm=calm,
        brief=() if calm else _brief(summary.get("brief", {}), units),
        silent=span is not None and now - datetime.fromisoformat(span["last"]) > timedelta(days=STALE_DAYS),
        figures=() if calm else _figures(summary.get("indicators", [])),
        last_reading=ago(datetime.fromisoformat(span["last"]), now) if span else "",
        may_enter=line.site_id in enters,
        due=line.due and line.summary is not None,
    )


def _brief(said: Mapping[str, str], units: str) -> tuple[tuple[str, str], ...]:
    return tuple((name, in_reader_words(words, units)) for name, words in said.items() if name in BRIEF)


def _figures(indicators: Sequence[Mapping[str, Any]]) -> tuple[FleetFigure, ...]:
    return tuple(
        FleetFigure(figure_title(e), number(e["value"], 2), number(e["limit"], 2), is_over(e))
        for e in shown_indicators(indicators)
    )


def _first(lines: Sequence[FleetLine]) -> str:
    """Which train comes first of all, and why; nothing where none needs anybody."""
    if not lines or lines[0].level not in _BECAUSE:
        return ""
    line = lines[0]
    alike = sum(other.level == line.level for other in lines)
    reason = _BECAUSE[line.level]
    if alike > 1 and _next_limit(line) != date.max.isoformat():
        reason = f"{reason}, and of {in_words(alike)} such trains its limit comes first"
    return f"First, {line.site} · {line.train}: {reason}."


def _next_limit(line: FleetLine) -> str:
    """First day on which a limit is likely to be reached; far ahead where none is."""
    entries = (line.summary or {}).get("indicators", [])
    return min((e["reaches_limit"]["likely"] for e in entries if e["reaches_limit"]), default=date.max.isoformat())


def _headline(lines: Sequence[FleetLine]) -> str:
    """What needs somebody today, counted by level."""
    counts = {level: sum(line.level == level for line in lines) for level in _NEEDS}
    parts = [f"{in_words(count)} {_NEEDS[level][count > 1]}" for level, count in counts.items() if count]
    if parts:
        return f"{sentence(all_of(parts))}."
    steady = all(line.level == "steady" for line in lines)
    return "Nothing needs to be done." if steady else "Nothing is known to need you."


_BECAUSE = {
    "act now": "elements may be harmed while it waits",
    "check a meter": "nothing can be said of its membranes before its meter is checked",
    "plan cleaning": "a cleaning has its best days, and they are foreseen",
    "watch": "it is nearest to needing something",
}
"""Why a train of this level goes before all that follow."""
_NEEDS = {
    "act now": ("train to act on now", "trains to act on now"),
    "check a meter": ("meter to check", "meters to check"),
    "plan cleaning": ("cleaning to plan", "cleanings to plan"),
    "watch": ("train to watch", "trains to watch"),
}
