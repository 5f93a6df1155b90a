"""One reading with all its versions, and the forms to correct it and to take it out of use, as typed values."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from analytics.quantities import COLUMNS, STATES
from server.display import moment, reader_unit, sentence, with_unit
from server.plants.models import Train
from server.readings.forms import AmendForm
from server.readings.models import Reading, ReadingRevision
from server.readings.page import SOURCES
from server.templating import Frame

NOTHING = "nothing"
WORDS = {"state": "State", "remark": "Remark"}
STATE_CHOICES = (("", "Not said, so running"), *((state, sentence(state)) for state in STATES))


@dataclass(frozen=True)
class Change:
    """One value of a version; `before` is empty in the first one."""

    label: str
    value: str
    before: str


@dataclass(frozen=True)
class VersionLine:
    """One version: who wrote it when, why it took the place of the one before, and what it changed."""

    number: int
    written: str
    author: str
    source: str
    reason: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class ValueField:
    name: str
    label: str
    text: str
    error: str


@dataclass(frozen=True)
class ReadingHistoryPage:
    """Everything about one reading; `voided` says how it went out of use, empty while it is in use."""

    frame: Frame
    site: str
    train: str
    train_id: int
    reading_id: int
    taken_at: str
    voided: str
    void_reason: str
    entries: tuple[str, ...]
    versions: tuple[VersionLine, ...]
    fields: tuple[ValueField, ...]
    form: AmendForm
    states: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class _Version:
    number: int
    content: Mapping[str, Any]
    author: str
    source: str
    written_at: datetime


def history_page(
    frame: Frame,
    train: Train,
    reading: Reading,
    older: Sequence[ReadingRevision],
    form: AmendForm,
    entries: Sequence[int] = (),
) -> ReadingHistoryPage:
    """Put a reading, its older versions (newest first) and the form together; `entries` are those of the shift log."""
    zone = ZoneInfo(train.site.timezone)
    voided = f"Taken out of use by {reading.voided_by or 'somebody'}, {moment(reading.voided_at, zone)}" \
        if reading.voided_at else ""  # fmt: skip
    fields = tuple(
        ValueField(name, _label(name, form.units), text, form.errors.get(name, ""))
        for name, text in form.values.items()
    )
    return ReadingHistoryPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        reading_id=reading.id,
        taken_at=moment(reading.taken_at, zone),
        voided=voided,
        void_reason=reading.void_reason,
        entries=tuple(f"/trains/{train.id}/shift/entries/{number}" for number in entries),
        versions=_versions(reading, older, frame.units, zone),
        fields=fields,
        form=form,
        states=STATE_CHOICES,
    )


def _label(name: str, units: str) -> str:
    unit = reader_unit(COLUMNS[name], units)
    return f"{COLUMNS[name].label}, {unit}" if unit else COLUMNS[name].label


def _versions(
    reading: Reading, older: Sequence[ReadingRevision], units: str, zone: ZoneInfo
) -> tuple[VersionLine, ...]:
    """Newest first; what a version changed is told against the one before it."""
    present = {name: value for name in (*COLUMNS, *WORDS) if (value := getattr(reading, name)) not in (None, "")}
    found = [_Version(reading.revision, present, reading.author, reading.source, reading.created_at)]
    found += [_Version(one.revision, one.content, one.author, one.source, one.written_at) for one in older]
    before: list[_Version | None] = [*found[1:], None]
    reasons = [one.reason for one in older] + [""]
    return tuple(
        VersionLine(
            number=one.number,
            written=moment(one.written_at, zone),
            author=one.author or "somebody",
            source=SOURCES.get(one.source, one.source),
            reason=reason,
            changes=_changes(one.content, previous.content if previous else None, units),
        )
        for one, previous, reason in zip(found, before, reasons, strict=True)
    )


def _changes(content: Mapping[str, Any], before: Mapping[str, Any] | None, units: str) -> tuple[Change, ...]:
    names = [name for name in (*COLUMNS, *WORDS) if name in content or (before and name in before)]
    if before is None:
        return tuple(Change(_name(name), _said(content, name, units), "") for name in names)
    return tuple(
        Change(_name(name), _said(content, name, units), _said(before, name, units))
        for name in names
        if content.get(name) != before.get(name)
    )


def _name(name: str) -> str:
    return WORDS.get(name) or COLUMNS[name].label


def _said(content: Mapping[str, Any], name: str, units: str) -> str:
    value = content.get(name)
    if value is None or value == "":
        return NOTHING
    return str(value) if name in WORDS else with_unit(value, COLUMNS[name], units)
