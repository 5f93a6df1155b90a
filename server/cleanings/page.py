"""The page of a train's cleanings as typed values: when to clean, what an interval costs, and what became of each."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from analytics.plant import Plant
from server.assessments.levels import CAUSES
from server.cleanings.money import MoneyPart
from server.cleanings.results import Done, Row
from server.cleanings.words import (
    ADVICE_LABELS,
    ADVICE_LOOKS,
    QUALITY_LABELS,
    QUALITY_LOOKS,
    chemistry,
    effect_name,
    look_of_programme,
    result_sentence,
    scope_of_stage,
    share_text,
)
from server.display import counted, day, moment, sentence
from server.templating import Frame


@dataclass(frozen=True)
class WhenPart:
    """The window, in words."""

    look: str
    label: str
    headline: str
    reasons: tuple[str, ...]
    days: tuple[tuple[str, str, str], ...]
    worksheet: str
    record: str


@dataclass(frozen=True)
class CleaningLine:
    """One cleaning in the list; `link` leads to its record, `write` to where a missing one is written."""

    day: str
    where: str
    chemistry: str
    look: str
    quality: str
    sentence: str
    share: str
    governing: str
    delay: str
    next: str
    link: str
    write: str


@dataclass(frozen=True)
class CleaningsPage:
    """Everything about the cleanings of one train."""

    frame: Frame
    site: str
    train: str
    train_id: int
    site_id: int
    currency: str
    when: WhenPart
    money: MoneyPart
    programme_look: str
    programme: str
    programme_reasons: tuple[str, ...]
    lines: tuple[CleaningLine, ...]
    withdrawn: tuple[tuple[str, str, str], ...]


def when_part(document: Mapping[str, Any] | None, train_id: int) -> WhenPart:
    """The window of the latest assessment, in words."""
    window = (document or {}).get("cleaning")
    base = f"/trains/{train_id}/cleanings"
    if not window:
        return WhenPart("unknown", ADVICE_LABELS["unknown"], "When to clean cannot be told yet.",
                        ("It follows from the next assessment.",), (), f"{base}/worksheet", f"{base}/new")  # fmt: skip
    advice, stage = window["advice"], window["stage"]
    chosen = {key: str(value) for key, value in (("stage", stage), ("cause", window["cause"])) if value}
    query = f"?{urlencode(chosen)}" if chosen else ""
    days = [
        ("Earliest that makes sense", window["earliest"], "enough to take off, and to prove it by"),
        ("Aim for", window["aim"], "when the limit is reached"),
        ("Latest that still works", window["latest"], "before deposits harden"),
    ]
    return WhenPart(
        look=ADVICE_LOOKS.get(advice, "unknown"),
        label=ADVICE_LABELS.get(advice, ADVICE_LABELS["unknown"]),
        headline=_headline(advice, stage, window),
        reasons=tuple(window["reasons"]),
        days=tuple((title, day(date.fromisoformat(value)), why) for title, value, why in days if value),
        worksheet=f"{base}/worksheet{query}",
        record=f"{base}/new{query}",
    )


def _headline(advice: str, stage: int | None, window: Mapping[str, Any]) -> str:
    where = scope_of_stage(stage)
    cause = CAUSES.get(window["cause"], "").lower()
    suspected = f" {cause} is suspected." if cause else ""
    if advice == "now":
        return f"Clean {where} now.{sentence(suspected.strip()) and ' ' + sentence(suspected.strip())}"
    if advice == "plan":
        aim = f", for {day(date.fromisoformat(window['aim']))}" if window["aim"] else ""
        return f"Plan a cleaning of {where}{aim}.{sentence(suspected.strip()) and ' ' + sentence(suspected.strip())}"
    if advice == "look first":
        return "Do not clean yet: something else comes first."
    return "No cleaning is needed yet." if advice == "not yet" else "When to clean cannot be told yet."


def cleaning_lines(row: Row, train_id: int, zone: ZoneInfo) -> tuple[CleaningLine, ...]:
    """The cleanings of a train, newest first."""
    return tuple(_line(one, train_id, zone) for one in reversed(row.done))


def _line(one: Done, train_id: int, zone: ZoneInfo) -> CleaningLine:
    governing = one.result.governing
    write = ""
    if one.event is not None:
        local = one.started_at.astimezone(zone).strftime("%Y-%m-%dT%H:%M")
        write = f"/trains/{train_id}/cleanings/new?{urlencode({'stage': one.stage or '', 'started': local})}"
    return CleaningLine(
        day=day(one.first),
        where=sentence(scope_of_stage(one.stage)),
        chemistry=chemistry(one.record.content.get("steps", ()))
        if one.record
        else (one.event.detail if one.event else ""),
        look=QUALITY_LOOKS[one.result.quality],
        quality=QUALITY_LABELS[one.result.quality],
        sentence=result_sentence(one.result),
        share=share_text(governing) if governing else "",
        governing=effect_name(governing) if governing else "",
        delay=counted(one.delay_days, "day") if one.delay_days is not None else "before the limit",
        next=counted(one.next_days, "day") if one.next_days is not None else "",
        link=f"/cleanings/{one.record.id}" if one.record else "",
        write=write,
    )


def withdrawn_lines(records: Sequence[Any], zone: ZoneInfo) -> tuple[tuple[str, str, str], ...]:
    """Records that were taken out of use: when the cleaning was, why the record went, and where it can be read."""
    return tuple(
        (day(one.started_at.astimezone(zone)), f"{one.void_reason} ({one.voided_by}, {moment(one.voided_at, zone)})",
         f"/cleanings/{one.id}")
        for one in records if one.voided_at is not None
    )  # fmt: skip


def cleanings_page(
    frame: Frame,
    plant: Plant,
    ids: tuple[int, int],
    document: Mapping[str, Any] | None,
    row: Row,
    records: Sequence[Any],
    money: MoneyPart,
) -> CleaningsPage:
    """Put the page together; `ids` are those of train and site, `records` all, those out of use among them."""
    zone = ZoneInfo(plant.site.timezone)
    return CleaningsPage(
        frame=frame,
        site=plant.site.name,
        train=plant.train.name,
        train_id=ids[0],
        site_id=ids[1],
        currency=plant.site.currency,
        when=when_part(document, ids[0]),
        money=money,
        programme_look=look_of_programme(row.programme),
        programme=row.programme.headline,
        programme_reasons=row.programme.reasons,
        lines=cleaning_lines(row, ids[0], zone),
        withdrawn=withdrawn_lines(records, zone),
    )
