"""The form of a cleaning's record, and one record with its readings, its effect and its older versions."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from analytics.decisions.cleaning_solution import programme_for
from analytics.plant import Plant
from analytics.quantities import COLUMNS
from analytics.units import display_unit
from server.cleanings.actions import SHEET, Recorded
from server.cleanings.fields import CONVERTED, HEAD, MOST_STEPS, STEP, SUGGESTED, RecordField
from server.cleanings.forms import CleaningForm, as_entered
from server.cleanings.models import Cleaning, CleaningPhoto, CleaningRevision
from server.cleanings.photos import MOST_PHOTOS
from server.cleanings.queries import PickedReading
from server.cleanings.results import Done
from server.cleanings.words import (
    QUALITY_LABELS,
    QUALITY_LOOKS,
    asked_text,
    effect_name,
    in_reader_words,
    level_text,
    result_sentence,
    scope_of_stage,
    share_text,
    stays_text,
)
from server.display import DASH, THIN, counted, in_words, moment, number, sentence, unit_symbol, with_unit
from server.templating import Frame

Options = tuple[tuple[str, str], ...]
SHOWN = (
    "feed_temperature_c", "feed_pressure_bar", "concentrate_pressure_bar", "permeate_flow_m3h", "concentrate_flow_m3h",
    "feed_conductivity_us_cm", "permeate_conductivity_us_cm",
)  # fmt: skip


@dataclass(frozen=True)
class FormField:
    """One field with what stands in it; `danger` and `unusual` are said beside it."""

    name: str
    label: str
    unit: str
    kind: str
    text: str
    hint: str
    options: Options
    error: str
    danger: str
    unusual: str


@dataclass(frozen=True)
class BathFields:
    number: int
    fields: tuple[FormField, ...]
    open: bool


@dataclass(frozen=True)
class FormPart:
    """The form: to be sent to `action`; `reason` when it corrects a record."""

    action: str
    stage: FormField
    started: FormField
    ended: FormField
    groups: tuple[tuple[str, tuple[FormField, ...]], ...]
    baths: tuple[BathFields, ...]
    units: str
    revision: str
    reason: FormField | None
    dangerous: bool
    confirmed: bool
    suggested: tuple[str, ...]
    timezone: str
    sheet: str
    sheet_key: str


@dataclass(frozen=True)
class NewCleaningPage:
    frame: Frame
    site: str
    train: str
    train_id: int
    form: FormPart


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
class TickedLine:
    """One step of the worksheet as it was ticked and noted."""

    step: str
    at: str
    said: str


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
    reading_names: tuple[tuple[str, str], ...]
    reading_rows: tuple[tuple[str, tuple[str, ...]], ...]
    baths: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    facts: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    photos: tuple[PhotoLine, ...]
    most_photos: int
    sheet: tuple[TickedLine, ...]
    sheet_id: str
    sheet_summary: str
    versions: tuple[VersionLine, ...]
    form: FormPart


def form_part(plant: Plant, form: CleaningForm, action: str, *, amends: bool = False) -> FormPart:
    """Put the fields of a form together."""
    stages = (("", "The whole train"), *((str(n), f"Stage {n}") for n in range(1, len(plant.train.stages) + 1)))
    groups: dict[str, list[FormField]] = {}
    for one in HEAD:
        groups.setdefault(one.group, []).append(_field(one, one.name, form, plant.site.currency))
    baths = []
    for n in range(1, MOST_STEPS + 1):
        fields = tuple(_field(one, f"bath{n}.{one.name}", form, plant.site.currency) for one in STEP)
        filled = any(f.text or f.error or f.danger for f in fields)
        baths.append(BathFields(n, fields, n == 1 or filled))
    return FormPart(
        action=action,
        stage=_plain("stage", "Where", form, options=stages),
        started=_plain("started", "Began", form),
        ended=_plain("ended", "Restarted", form),
        groups=tuple((title, tuple(fields)) for title, fields in groups.items()),
        baths=tuple(baths),
        units=form.units,
        revision=form.text("revision"),
        reason=_plain("why", "Why it is corrected", form) if amends else None,
        dangerous=bool(form.dangers),
        confirmed=form.confirmed,
        suggested=SUGGESTED,
        timezone=plant.site.timezone,
        sheet=form.text("sheet"),
        sheet_key=form.text("sheet_key"),
    )


def _field(one: RecordField, name: str, form: CleaningForm, currency: str) -> FormField:
    unit = one.unit
    if unit in CONVERTED:
        unit = display_unit(unit, form.units)
    unit = unit_symbol(unit.replace("money", currency or "money")) if unit else ""
    return FormField(
        name, one.label, unit, one.kind, form.text(name), one.hint, one.options, form.errors.get(name, ""),
        form.dangers.get(name, ""), form.unusual.get(name, ""),
    )  # fmt: skip


def _plain(name: str, label: str, form: CleaningForm, *, options: Options = ()) -> FormField:
    return FormField(name, label, "", "text", form.text(name), "", options, form.errors.get(name, ""), "", "")


def new_cleaning_page(frame: Frame, plant: Plant, train_id: int, form: CleaningForm) -> NewCleaningPage:
    """The page on which a cleaning is recorded."""
    action = f"/trains/{train_id}/cleanings"
    return NewCleaningPage(frame, plant.site.name, plant.train.name, train_id, form_part(plant, form, action))


def cleaning_page(
    frame: Frame,
    plant: Plant,
    cleaning: Cleaning,
    done: Done | None,
    readings: Sequence[PickedReading],
    older: Sequence[CleaningRevision],
    form: CleaningForm,
    cost: float | None,
    photos: Sequence[CleaningPhoto] = (),
) -> CleaningPage:
    """Put one record together; `done` is what became of it, None for one out of use."""
    zone = ZoneInfo(plant.site.timezone)
    voided = ""
    if cleaning.voided_at is not None:
        voided = f"{cleaning.void_reason} ({cleaning.voided_by}, {moment(cleaning.voided_at, zone)})"
    began = moment(cleaning.started_at, zone)
    names = [name for name in SHOWN if any(name in one.values for one in readings)]
    return CleaningPage(
        frame=frame,
        site=plant.site.name,
        train=plant.train.name,
        train_id=cleaning.train_id,
        cleaning_id=cleaning.id,
        title=f"Cleaning of {scope_of_stage(cleaning.stage)}, {began}",
        look=QUALITY_LOOKS[done.result.quality] if done else "unknown",
        quality=QUALITY_LABELS[done.result.quality] if done else "Out of use",
        sentence=result_sentence(done.result) if done else "Nothing rests on this record any more.",
        written=f"Written down by {cleaning.author or 'somebody'}. Restarted {moment(cleaning.ended_at, zone)}.",
        voided=voided,
        dangers=tuple(in_reader_words(why, frame.units) for why in cleaning.content.get("dangers", ())),
        stands_out=_stands_out(plant, cleaning, frame.units),
        cost=f"{number(cost)} {plant.site.currency}".strip() if cost else "",
        effects=_effects(done),
        reading_names=tuple((one.name, moment(one.taken_at, zone) if one.taken_at else DASH) for one in readings),
        reading_rows=tuple(
            (COLUMNS[name].label, tuple(with_unit(r.values.get(name), COLUMNS[name], frame.units) for r in readings))
            for name in names
        ),
        baths=_baths(cleaning.content, frame.units, plant.site.currency),
        facts=_facts(cleaning.content, frame.units, plant.site.currency),
        photos=tuple(
            PhotoLine(
                f"/cleanings/{cleaning.id}/photos/{one.id}", one.caption or "Photo of this cleaning",
                f"{one.author or 'somebody'}, {moment(one.created_at, zone)}",
            )
            for one in photos
        ),
        most_photos=MOST_PHOTOS,
        sheet=_ticked(cleaning.content, zone),
        sheet_id=cleaning.content.get(SHEET, {}).get("id", ""),
        sheet_summary=counted(len(cleaning.content.get(SHEET, {}).get("steps", ())), "step"),
        versions=tuple(
            VersionLine(one.revision, moment(one.written_at, zone), one.author or "somebody",
                        f"{one.replaced_by or 'somebody'}, {moment(one.replaced_at, zone)}", one.reason)
            for one in older
        ),
        form=form_part(plant, form, f"/cleanings/{cleaning.id}/amend", amends=True),
    )  # fmt: skip


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


def _ticked(content: Mapping[str, Any], zone: ZoneInfo) -> tuple[TickedLine, ...]:
    lines = []
    for one in content.get(SHEET, {}).get("steps", ()):
        values = [f"{label} {text}{THIN}{unit}".strip() for label, text, unit in one["values"]]
        step = f"{one['title']}, {one['bath']}" if one["bath"] else one["title"]
        at = moment(datetime.fromisoformat(one["at"]), zone) if one["at"] else "not ticked"
        lines.append(TickedLine(step, at, "; ".join(filter(None, (*values, one["note"])))))
    return tuple(lines)


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


def _baths(
    content: Mapping[str, Any], units: str, currency: str
) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    found = []
    for n, step in enumerate(content.get("steps", ()), start=1):
        rows = tuple(
            (one.label, _said(step[one.name], one, units, currency))
            for one in STEP
            if one.name in step and one.name != "chemical"
        )
        found.append((f"Bath {n}: {step.get('chemical') or 'without name'}", rows))
    return tuple(found)


def _facts(
    content: Mapping[str, Any], units: str, currency: str
) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    groups: dict[str, list[tuple[str, str]]] = {}
    for one in HEAD:
        if one.name in content:
            groups.setdefault(one.group, []).append((one.label, _said(content[one.name], one, units, currency)))
    return tuple((title, tuple(rows)) for title, rows in groups.items())


def _said(value: Any, one: RecordField, units: str, currency: str) -> str:
    if one.kind == "choice":
        return dict(one.options).get(str(value), str(value))
    if one.kind == "tick":
        return "yes"
    text = as_entered(value, one, units)
    if one.kind != "number":
        return text
    unit = display_unit(one.unit, units) if one.unit in CONVERTED else one.unit
    symbol = unit_symbol(unit.replace("money", currency or "money"))
    return sentence(f"{text} {symbol}".strip())
