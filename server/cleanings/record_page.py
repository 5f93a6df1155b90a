"""One record of a cleaning with its readings, its effect and its older versions."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from analytics.decisions.cleaning_solution import programme_for
from analytics.plant import Plant
from analytics.quantities import COLUMNS
from server.cleanings.actions import SHEET, Recorded
from server.cleanings.fields import HEAD, STEP, RecordField
from server.cleanings.forms import CleaningForm, as_entered
from server.cleanings.models import Cleaning, CleaningPhoto, CleaningRevision
from server.cleanings.photos import MOST_PHOTOS
from server.cleanings.queries import PickedReading
from server.cleanings.record_form import FormPart, form_part
from server.cleanings.results import Done
from server.cleanings.words import (
    QUALITY_LABELS,
    QUALITY_LOOKS,
    asked_text,
    effect_name,
    level_text,
    result_sentence,
    scope_of_stage,
    share_text,
    stays_text,
)
from server.display import DASH, THIN, counted, in_words, moment, number, sentence, with_unit
from server.reader_words import in_reader_words
from server.templating import Frame

SHOWN = (
    "feed_temperature_c", "feed_pressure_bar", "concentrate_pressure_bar", "permeate_flow_m3h", "concentrate_flow_m3h",
    "feed_conductivity_us_cm", "permeate_conductivity_us_cm",
)  # fmt: skip


@dataclass(frozen=True)
class EffectLine:
    name: str
    before: str
    after: str
    share: str
    stays: str
    asked: str


@dataclass(frozen=True)
class VersionLine:
    number: int
    written: str
    author: str
    replaced: str
    reason: str


@dataclass(frozen=True)
class Kept:
    """A record with all that is kept beside it; `done` is what became of it, None for one out of use."""

    cleaning: Cleaning
    done: Done | None
    cost: float | None
    readings: Sequence[PickedReading]
    photos: Sequence[CleaningPhoto]
    older: Sequence[CleaningRevision]


@dataclass(frozen=True)
class ReadingTable:
    """Readings around a cleaning: names and times of the columns, and a row for each quantity."""

    names: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Facts:
    """What was written down under one heading."""

    title: str
    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class TickedLine:
    """One step of the worksheet as it was ticked and noted."""

    step: str
    at: str
    said: str


@dataclass(frozen=True)
class TickedSheet:
    """The worksheet as it came with the record; `id` is that of the sheet kept on the device."""

    id: str
    summary: str
    lines: tuple[TickedLine, ...]


@dataclass(frozen=True)
class PhotoLine:
    """One photo: where its bytes are, what it shows, by whom."""

    link: str
    caption: str
    added: str


@dataclass(frozen=True)
class CleaningPage:
    """One record with what became of it."""

    frame: Frame
    site: str
    train: str
    train_id: int
    cleaning_id: int
    title: str
    look: str
    quality: str
    sentence: str
    written: str
    voided: str
    dangers: tuple[str, ...]
    stands_out: tuple[str, ...]
    cost: str
    effects: tuple[EffectLine, ...]
    readings: ReadingTable
    facts: tuple[Facts, ...]
    photos: tuple[PhotoLine, ...]
    most_photos: int
    sheet: TickedSheet | None
    versions: tuple[VersionLine, ...]
    form: FormPart


def cleaning_page(frame: Frame, plant: Plant, kept: Kept, form: CleaningForm) -> CleaningPage:
    """Put one record together, with the form that corrects it."""
    cleaning, done, zone = kept.cleaning, kept.done, ZoneInfo(plant.site.timezone)
    content, currency = cleaning.content, plant.site.currency
    return CleaningPage(
        frame=frame,
        site=plant.site.name,
        train=plant.train.name,
        train_id=cleaning.train_id,
        cleaning_id=cleaning.id,
        title=f"Cleaning of {scope_of_stage(cleaning.stage)}, {moment(cleaning.started_at, zone)}",
        look=QUALITY_LOOKS[done.result.quality] if done else "unknown",
        quality=QUALITY_LABELS[done.result.quality] if done else "Out of use",
        sentence=result_sentence(done.result) if done else "Nothing rests on this record any more.",
        written=f"Written down by {cleaning.author or 'somebody'}. Restarted {moment(cleaning.ended_at, zone)}.",
        voided=_voided(cleaning, zone),
        dangers=tuple(in_reader_words(why, frame.units) for why in content.get("dangers", ())),
        stands_out=_stands_out(plant, cleaning, frame.units),
        cost=f"{number(kept.cost)} {currency}".strip() if kept.cost else "",
        effects=_effects(done),
        readings=_readings(kept.readings, zone, frame.units),
        facts=(*_baths(content, frame.units, currency), *_heads(content, frame.units, currency)),
        photos=tuple(_photo(one, zone) for one in kept.photos),
        most_photos=MOST_PHOTOS,
        sheet=_sheet(content.get(SHEET, {}), zone),
        versions=tuple(_version(one, zone) for one in kept.older),
        form=form_part(plant, form, f"/cleanings/{cleaning.id}/amend", amends=True),
    )


def _voided(cleaning: Cleaning, zone: ZoneInfo) -> str:
    if cleaning.voided_at is None:
        return ""
    return f"{cleaning.void_reason} ({cleaning.voided_by}, {moment(cleaning.voided_at, zone)})"


def _readings(readings: Sequence[PickedReading], zone: ZoneInfo, units: str) -> ReadingTable:
    shown = [COLUMNS[name] for name in SHOWN if any(name in one.values for one in readings)]
    return ReadingTable(
        tuple((one.name, moment(one.taken_at, zone) if one.taken_at else DASH) for one in readings),
        tuple((one.label, tuple(with_unit(r.values.get(one.column), one, units) for r in readings)) for one in shown),
    )


def _photo(one: CleaningPhoto, zone: ZoneInfo) -> PhotoLine:
    link = f"/cleanings/{one.cleaning_id}/photos/{one.id}"
    added = f"{one.author or 'somebody'}, {moment(one.created_at, zone)}"
    return PhotoLine(link, one.caption or "Photo of this cleaning", added)


def _version(one: CleaningRevision, zone: ZoneInfo) -> VersionLine:
    replaced = f"{one.replaced_by or 'somebody'}, {moment(one.replaced_at, zone)}"
    return VersionLine(one.revision, moment(one.written_at, zone), one.author or "somebody", replaced, one.reason)


def _stands_out(plant: Plant, cleaning: Cleaning, units: str) -> tuple[str, ...]:
    """What in the record is unusual, and so may explain a poor result."""
    given = Recorded(cleaning.stage, cleaning.started_at, cleaning.ended_at, cleaning.content)
    form = CleaningForm.of(given, ZoneInfo(plant.site.timezone), units).checked(plant, cleaning.ended_at)
    found = list(dict.fromkeys(form.unusual.values()))
    programme = programme_for(str(cleaning.content.get("foulant", "unknown")))
    steps = cleaning.content.get("steps", ())
    if len(steps) < len(programme.solutions):
        found.append(f"{sentence(in_words(len(programme.solutions)))} baths are usual for this, in order: "
                     f"{', then '.join(s.name.lower() for s in programme.solutions)}.")  # fmt: skip
    if not any(step.get("soak_minutes") for step in steps):
        found.append("No soak was written down; an hour at least is usual.")
    return tuple(found)


def _sheet(sheet: Mapping[str, Any], zone: ZoneInfo) -> TickedSheet | None:
    lines = []
    for one in sheet.get("steps", ()):
        values = [f"{label} {text}{THIN}{unit}".strip() for label, text, unit in one["values"]]
        step = f"{one['title']}, {one['bath']}" if one["bath"] else one["title"]
        at = moment(datetime.fromisoformat(one["at"]), zone) if one["at"] else "not ticked"
        lines.append(TickedLine(step, at, "; ".join(filter(None, (*values, one["note"])))))
    return TickedSheet(sheet.get("id", ""), counted(len(lines), "step"), tuple(lines)) if lines else None


def _effects(done: Done | None) -> tuple[EffectLine, ...]:
    if done is None:
        return ()
    return tuple(
        EffectLine(
            effect_name(one), level_text(one.before), level_text(one.after), share_text(one), stays_text(one),
            asked_text(one),
        )
        for one in done.result.effects
    )  # fmt: skip


def _baths(content: Mapping[str, Any], units: str, currency: str) -> list[Facts]:
    return [
        Facts(
            f"Bath {n}: {step.get('chemical') or 'without name'}",
            tuple(
                (one.label, _said(step[one.name], one, units, currency))
                for one in STEP
                if one.name in step and one.name != "chemical"
            ),
        )
        for n, step in enumerate(content.get("steps", ()), start=1)
    ]


def _heads(content: Mapping[str, Any], units: str, currency: str) -> list[Facts]:
    groups: dict[str, list[tuple[str, str]]] = {}
    for one in HEAD:
        if one.name in content:
            groups.setdefault(one.group, []).append((one.label, _said(content[one.name], one, units, currency)))
    return [Facts(title, tuple(rows)) for title, rows in groups.items()]


def _said(value: Any, one: RecordField, units: str, currency: str) -> str:
    if one.kind == "choice":
        return dict(one.options).get(str(value), str(value))
    if one.kind == "tick":
        return "yes"
    text = as_entered(value, one, units)
    return sentence(f"{text} {one.symbol(units, currency)}".strip()) if one.kind == "number" else text
