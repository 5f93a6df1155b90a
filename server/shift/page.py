"""The page of the shift log as typed values: fields in the order of the walk, each with what it showed last."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from analytics.judgement.grounds import LEVELS
from analytics.quantities import COLUMNS, STATES
from analytics.units import from_canonical
from server.assessments.levels import level_of
from server.display import ago, measured, moment, unit_symbol
from server.plants.models import Train
from server.readings.queries import LatestValue
from server.shift.forms import REASON, ShiftForm
from server.shift.layout import LogField
from server.shift.models import ShiftEntry
from server.templating import Frame

STATE_WORDS = {
    "running": ("Running steadily", ""),
    "starting": ("Starting or flushing", "kept, but set aside from trends"),
    "stopped": ("Stopped", "kept, but set aside from trends"),
}

LEAST_OF_DECIMAL_KEYBOARD = -1.0
"""Gauge pressures hardly ever fall below zero; what does, such as ORP, needs the minus that such a keyboard lacks."""
LOOKS = tuple(dict.fromkeys(level_of(name).look for name in LEVELS))


@dataclass(frozen=True)
class FieldView:
    """One field; `last` is what the gauge showed last, with its age."""

    name: str
    label: str
    tag: str
    unit: str
    symbol: str
    keyboard: str
    text: str
    last: str
    age: str
    error: str
    reason: str
    questions: tuple["QuestionView", ...]


@dataclass(frozen=True)
class QuestionView:
    """Something odd about a value; `wants_reason` where it is kept only with one."""

    sentence: str
    offer: str
    wants_reason: bool


@dataclass(frozen=True)
class AreaView:
    """Fields that stand together on the walk."""

    title: str
    water: str
    fields: tuple[FieldView, ...]


@dataclass(frozen=True)
class StateView:
    name: str
    label: str
    hint: str
    chosen: bool


@dataclass(frozen=True)
class ConflictLine:
    """An entry that waits for somebody to say what is right."""

    link: str
    taken_at: str


@dataclass(frozen=True)
class MarkLine:
    """What keeps a form from being saved; `field` is where, by its id, or nothing."""

    field: str
    sentence: str


@dataclass(frozen=True)
class ShiftPage:
    """The page before or after an entry; `data` is what its script needs."""

    frame: Frame
    site: str
    train: str
    train_id: int
    areas: tuple[AreaView, ...]
    states: tuple[StateView, ...]
    time: str
    clock: str
    remark: str
    key: str
    error: str
    errors: Mapping[str, str]
    marks: tuple[MarkLine, ...]
    asked_any: bool
    looks: tuple[str, ...]
    answer: Mapping[str, Any] | None
    conflicts: tuple[ConflictLine, ...]
    data: Mapping[str, Any]


@dataclass(frozen=True)
class Shown:
    """What a page shows of a train: its fields, what they showed last, and entries nobody has decided on."""

    train: Train
    fields: tuple[LogField, ...]
    latest: Mapping[str, LatestValue]
    conflicts: Sequence[ShiftEntry]
    now: datetime


def shift_page(
    frame: Frame,
    shown: Shown,
    data: Mapping[str, Any],
    *,
    form: ShiftForm | None = None,
    questions: Sequence[Mapping[str, Any]] = (),
    answer: Mapping[str, Any] | None = None,
) -> ShiftPage:
    """Put the page together; `form` is one that was sent and cannot be stored yet, `questions` what is asked of it."""
    train, zone = shown.train, ZoneInfo(shown.train.site.timezone)
    errors = form.errors if form else {}
    visible = [field for field in shown.fields if not field.hidden]
    names = {field.column for field in visible}
    state = form.state if form and form.state in STATES else "running"
    return ShiftPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        areas=tuple(
            AreaView(area, COLUMNS[group[0].column].water, tuple(_field(one, shown, form, questions) for one in group))
            for area, group in ((area, list(fields)) for area, fields in groupby(visible, lambda one: one.area))
        ),
        states=tuple(StateView(name, *STATE_WORDS[name], name == state) for name in STATES),
        time=form.time if form else f"{shown.now.astimezone(zone):%Y-%m-%dT%H:%M}",
        clock=train.site.timezone,
        remark=form.remark if form else "",
        key=form.key if form and "key" not in errors else str(uuid.uuid4()),
        error=next((errors[name] for name in ("key", "values") if name in errors), ""),
        errors=errors,
        marks=_marks(names, errors, questions),
        asked_any=bool(questions),
        looks=LOOKS,
        answer=answer,
        conflicts=tuple(
            ConflictLine(f"/trains/{train.id}/shift/entries/{entry.id}", moment(entry.taken_at, zone))
            for entry in shown.conflicts
        ),
        data=data,
    )


def _marks(names: set[str], errors: Mapping[str, str], questions: Sequence[Mapping[str, Any]]) -> tuple[MarkLine, ...]:
    """Everything that keeps a form from being saved, each with the field that it is about."""
    wrong = [
        MarkLine(f"f-{name}" if name in names | {"time", "remark"} else "", f"{_name_of(name)}: {sentence}")
        for name, sentence in errors.items()
        if name not in ("key", "values")
    ]
    odd = [
        MarkLine(next((f"f-{name}" for name in one["columns"] if name in names | {"time"}), ""), one["sentence"])
        for one in questions
    ]
    return (*wrong, *odd)


def _name_of(field: str) -> str:
    """What a field of the form is called on its page."""
    column = field.removeprefix(REASON)
    return COLUMNS[column].label if column in COLUMNS else {"time": "Read at"}.get(field, field.capitalize())


def _field(one: LogField, shown: Shown, form: ShiftForm | None, questions: Sequence[Mapping[str, Any]]) -> FieldView:
    quantity, latest = COLUMNS[one.column], shown.latest.get(one.column)
    return FieldView(
        name=one.column,
        label=quantity.label,
        tag=one.tag,
        unit=one.unit,
        symbol=unit_symbol(one.unit),
        keyboard="decimal" if quantity.possible[0] >= LEAST_OF_DECIMAL_KEYBOARD else "text",
        text=form.values.get(one.column, "") if form else "",
        last=in_gauge_unit(latest.value, one.column, one.unit) if latest else "",
        age=ago(latest.taken_at, shown.now) if latest else "",
        error=form.errors.get(one.column, "") if form else "",
        reason=form.reasons.get(one.column, "") if form else "",
        questions=tuple(
            QuestionView(asked["sentence"], asked["offer"], asked["severity"] == "confirm")
            for asked in questions
            if asked["columns"] == [one.column]
        ),
    )


def in_gauge_unit(value: float, column: str, gauge: str) -> str:
    """A canonical value as a gauge of some unit shows it, without its unit."""
    return measured(float(from_canonical(value, COLUMNS[column].unit, gauge)))
