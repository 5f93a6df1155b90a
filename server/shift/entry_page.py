"""One entry of the shift log as typed values: what was typed beside what the log holds, and what is still open."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from analytics.quantities import COLUMNS
from analytics.units import from_canonical
from server.display import measured, moment, unit_symbol
from server.plants.models import Train
from server.readings.models import Reading
from server.shift.models import CONFLICT, ShiftEntry
from server.shift.page import STATE_WORDS
from server.templating import Frame


@dataclass(frozen=True)
class EntryRow:
    """One value: as typed, and as the reading of that instant has it, both in the unit of the gauge."""

    label: str
    unit: str
    typed: str
    stored: str
    differs: bool


@dataclass(frozen=True)
class EntryPage:
    """An entry; `open` while nobody has decided which is right."""

    frame: Frame
    site: str
    train: str
    train_id: int
    entry_id: int
    taken_at: str
    author: str
    open: bool
    settled: str
    sentence: str
    questions: tuple[str, ...]
    rows: tuple[EntryRow, ...]
    reading_link: str
    photos: tuple[str, ...]
    time: str
    time_error: str = ""


def entry_page(frame: Frame, train: Train, entry: ShiftEntry, reading: Reading | None, photos: list[int]) -> EntryPage:
    """Put the page together."""
    zone, content = ZoneInfo(train.site.timezone), entry.content
    settled = f"Decided by {entry.settled_by}, {moment(entry.settled_at, zone)}." if entry.settled_at else ""
    by = content.get("entered_by")
    return EntryPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        entry_id=entry.id,
        taken_at=moment(entry.taken_at, zone),
        author=f"{by}, sent by {entry.author}" if by else entry.author,
        open=entry.status == CONFLICT,
        settled=settled,
        sentence=entry.answer.get("sentence", ""),
        questions=tuple(finding["sentence"] for finding in content["findings"] if finding.get("open")),
        rows=tuple(sorted((*_values(entry, reading), *_words(entry, reading)), key=lambda row: not row.differs)),
        reading_link=f"/readings/{reading.id}" if reading else "",
        photos=tuple(f"/trains/{train.id}/shift/photos/{number}" for number in photos),
        time=entry.taken_at.astimezone(zone).strftime("%Y-%m-%dT%H:%M"),
    )


def _values(entry: ShiftEntry, reading: Reading | None) -> list[EntryRow]:
    content, rows = entry.content, []
    for name, typed in content["values"].items():
        quantity, unit = COLUMNS[name], content["units"][name]
        stored = getattr(reading, name) if reading else None
        given = content["canonical"][name]
        shown = "" if stored is None else measured(float(from_canonical(stored, quantity.unit, unit)))
        differs = stored is None or abs(stored - given) > 1e-6 * abs(given)
        rows.append(EntryRow(quantity.label, unit_symbol(unit), typed, shown, differs))
    return rows


def _words(entry: ShiftEntry, reading: Reading | None) -> list[EntryRow]:
    content = entry.content
    state, stored = content["state"], (reading.state or "running") if reading else ""
    told, kept = STATE_WORDS[state][0], STATE_WORDS[stored][0] if stored else ""
    rows = [EntryRow("State", "", told, kept, state != stored)]
    remark = reading.remark if reading else ""
    if content["remark"] or remark:
        rows.append(EntryRow("Remark", "", content["remark"], remark, content["remark"] != remark))
    return rows
