"""The history of a train as typed values: how its verdict changed, and who changed what, when and why."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from server.assessments.levels import Level, level_of
from server.assessments.models import PastAssessment
from server.assessments.past import MOST_PAST, WorkedOutAgain
from server.audit.models import KINDS, AuditEntry
from server.audit.queries import AuditPage
from server.audit.why import Settings, figure_name, flat, why_changed
from server.display import moment, number
from server.plants.labels import path_label
from server.plants.models import Train
from server.reader_words import in_reader_words
from server.templating import Frame

PER_PAGE = 50
LONGEST_TEXT = 200
LINKS = {"reading-": "/readings/", "import-": "/imports/", "event-": "/events/", "cleaning-": "/cleanings/"}


@dataclass(frozen=True)
class ChangeLine:
    name: str
    before: str
    after: str


@dataclass(frozen=True)
class EntryLine:
    """One entry of the record; `link` leads to what it is about, where that has a page."""

    at: str
    author: str
    title: str
    reason: str
    link: str
    changes: tuple[ChangeLine, ...]


@dataclass(frozen=True)
class VerdictLine:
    """One verdict that differed from the one before it."""

    since: str
    level: Level
    headline: str
    why: str
    version: str
    link: str


@dataclass(frozen=True)
class HistoryPage:
    """One leaf of the record of a train, and how its verdict changed."""

    frame: Frame
    site: str
    train: str
    verdicts: tuple[VerdictLine, ...]
    entries: tuple[EntryLine, ...]
    place: str
    newer: str
    older: str


def history_page(
    frame: Frame, train: Train, past: Sequence[PastAssessment], settings: Settings, found: AuditPage, leaf: int
) -> HistoryPage:
    """Put the record of a train together."""
    zone, link = ZoneInfo(train.site.timezone), f"/trains/{train.id}/history"
    whys = why_changed(past, settings, zone, whole=len(past) < MOST_PAST)
    last = (leaf - 1) * PER_PAGE + len(found.entries)
    return HistoryPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        verdicts=tuple(_verdict(one, why, link, zone, frame.units) for one, why in zip(past, whys, strict=True)),
        entries=tuple(_entry(entry, zone) for entry in found.entries),
        place=f"{number(last - len(found.entries) + 1)} to {number(last)} of {number(found.total)}"
        if found.entries
        else "none",
        newer=f"{link}?leaf={leaf - 1}" if leaf > 1 else "",
        older=f"{link}?leaf={leaf + 1}" if last < found.total else "",
    )


def _verdict(one: PastAssessment, why: str, link: str, zone: ZoneInfo, units: str) -> VerdictLine:
    address = f"{link}/verdicts/{one.id}" if one.settings_id else ""
    since, level = moment(one.created_at, zone), level_of(one.level)
    return VerdictLine(since, level, in_reader_words(one.headline, units), why, one.version, address)


def _entry(entry: AuditEntry, zone: ZoneInfo) -> EntryLine:
    folder = next((link for start, link in LINKS.items() if entry.kind.startswith(start)), "")
    whole = entry.kind == "plant-added"  # the plant file says it better
    return EntryLine(
        at=moment(entry.at, zone),
        author=entry.author,
        title=KINDS.get(entry.kind, entry.kind),
        reason=entry.reason,
        link=f"{folder}{entry.object_id}" if folder and entry.object_id else "",
        changes=() if whole else _changes(entry.before or {}, entry.after or {}),
    )


def _changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[ChangeLine, ...]:
    names = list({**before, **after})
    return tuple(ChangeLine(path_label(name), _said(before.get(name)), _said(after.get(name))) for name in names)


def _said(value: Any) -> str:
    if value is None or value == "":
        return ""
    if isinstance(value, float):
        return f"{value:.6g}" if math.isfinite(value) else ""
    if isinstance(value, Mapping):
        value = ", ".join(f"{name.replace('_', ' ')} {_said(one)}" for name, one in value.items() if _said(one))
    if isinstance(value, list):
        value = "; ".join(_said(one) for one in value)
    text = str(value)
    return text if len(text) <= LONGEST_TEXT else f"{text[:LONGEST_TEXT]}…"


@dataclass(frozen=True)
class FigureLine:
    name: str
    then: str
    now: str


@dataclass(frozen=True)
class VerdictPage:
    """One verdict of the past, what it rested on, and what today's program makes of the same."""

    frame: Frame
    site: str
    train: str
    back: str
    since: str
    level: Level
    headline: str
    reasons: tuple[str, ...]
    rests_on: str
    again: str
    figures: tuple[FigureLine, ...]
    settings: tuple[ChangeLine, ...]


def verdict_page(
    frame: Frame, train: Train, found: WorkedOutAgain, settings: Mapping[str, Any], readings: int
) -> VerdictPage:
    """Put one verdict of the past beside what the same comes to today."""
    past, zone = found.past, ZoneInfo(train.site.timezone)
    now = {f"{one.scope} {one.name}": one.value for one in found.again.indicators}
    again = found.again.verdict
    said = (
        "The same verdict"
        if found.agrees
        else f"Another verdict, {again.level}: {in_reader_words(again.headline, frame.units)}"
    )
    as_of = moment(past.as_of, zone) if isinstance(past.as_of, datetime) else ""
    return VerdictPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        back=f"/trains/{train.id}/history",
        since=moment(past.created_at, zone),
        level=level_of(past.level),
        headline=in_reader_words(past.headline, frame.units),
        reasons=tuple(in_reader_words(reason, frame.units) for reason in past.reasons),
        rests_on=f"Readings up to {as_of}, version {number(past.inputs_version)} of what this train rests on, "
        f"program {past.version}",
        again=f"{said} comes of the {number(readings)} readings of then by program {found.again.version}"
        if found.agrees
        else said,
        figures=tuple(
            FigureLine(figure_name(name), number(value[0], 4), number(now.get(name), 4))
            for name, value in past.figures.items()
        ),
        settings=_changes({}, flat(settings)),
    )
