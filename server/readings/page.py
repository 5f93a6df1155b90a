"""The list of readings as typed values: newest first, each with what was done with it and why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from analytics.quantities import COLUMNS
from server.assessments.levels import REASONS
from server.display import in_reader_units, moment, number, reader_unit, sentence
from server.readings.queries import ReadingCounts, ReadingLine, ReadingPage
from server.templating import Frame

PER_PAGE = 100
SOURCES = {"form": "entered by hand", "file": "from a file", "api": "sent by a program"}


@dataclass(frozen=True)
class Choice:
    """One way to narrow the list, with how many readings it leaves."""

    label: str
    count: str
    link: str
    chosen: bool


@dataclass(frozen=True)
class Column:
    label: str
    unit: str


@dataclass(frozen=True)
class Cell:
    """A value with its label and unit; `aside` says why this single value is not used."""

    text: str
    label: str
    unit: str
    aside: str


@dataclass(frozen=True)
class ReadingRow:
    """One reading; `state` is used, aside or voided, and `why` says the reason in words."""

    taken_at: str
    link: str
    state: str
    status: str
    why: str
    cells: tuple[Cell, ...]
    remark: str
    source: str


@dataclass(frozen=True)
class ReadingsPage:
    """One leaf of the list, the ways to narrow it, and where the next leaf is."""

    frame: Frame
    site: str
    train: str
    train_id: int
    choices: tuple[Choice, ...]
    columns: tuple[Column, ...]
    rows: tuple[ReadingRow, ...]
    has_remarks: bool
    place: str
    newer: str
    older: str


@dataclass(frozen=True)
class Narrowing:
    """What the list is asked for: everything, used, set aside for any or for one reason, or taken out of use."""

    show: str
    leaf: int

    @property
    def reason(self) -> str | None:
        return self.show if self.show in REASONS else None

    @property
    def offset(self) -> int:
        return (self.leaf - 1) * PER_PAGE


def readings_page(
    frame: Frame,
    place: tuple[str, str, str],
    train_id: int,
    narrowing: Narrowing,
    found: ReadingPage,
    counts: ReadingCounts,
    aside: Mapping[str, int],
) -> ReadingsPage:
    """Put one leaf of the list together; `place` is the site, the train and the site's time zone."""
    site, train, timezone = place
    columns = [name for name in COLUMNS if any(name in line.values for line in found.lines)]
    first, last = narrowing.offset + 1, narrowing.offset + len(found.lines)
    return ReadingsPage(
        frame=frame,
        site=site,
        train=train,
        train_id=train_id,
        choices=_choices(train_id, narrowing, counts, aside),
        columns=tuple(Column(COLUMNS[name].label, reader_unit(COLUMNS[name], frame.units)) for name in columns),
        rows=tuple(_row(line, columns, frame.units, ZoneInfo(timezone)) for line in found.lines),
        has_remarks=any(line.remark for line in found.lines),
        place=f"{number(first)} to {number(last)} of {number(found.total)}" if found.lines else "none",
        newer=_link(train_id, narrowing.show, narrowing.leaf - 1) if narrowing.leaf > 1 else "",
        older=_link(train_id, narrowing.show, narrowing.leaf + 1) if last < found.total else "",
    )


def _choices(
    train_id: int, narrowing: Narrowing, counts: ReadingCounts, aside: Mapping[str, int]
) -> tuple[Choice, ...]:
    used = counts.total - counts.voided - sum(aside.values())
    listed = [("", "All", counts.total), ("used", "Used", used), ("set-aside", "Set aside", sum(aside.values()))]
    listed += [(reason, sentence(reason), count) for reason, count in aside.items()]
    listed += [("voided", "Taken out of use", counts.voided)] if counts.voided else []
    return tuple(
        Choice(label, number(count), _link(train_id, show, 1), show == narrowing.show) for show, label, count in listed
    )


def _link(train_id: int, show: str, leaf: int) -> str:
    query = {"show": show} if show else {}
    query |= {"leaf": str(leaf)} if leaf > 1 else {}
    return f"/trains/{train_id}/readings" + (f"?{urlencode(query)}" if query else "")


def _row(line: ReadingLine, columns: Sequence[str], units: str, zone: ZoneInfo) -> ReadingRow:
    state, status, why = _status(line)
    return ReadingRow(
        taken_at=moment(line.taken_at, zone),
        link=f"/readings/{line.id}",
        state=state,
        status=status,
        why=why,
        cells=tuple(_cell(line, name, units) for name in columns),
        remark=line.remark,
        source=SOURCES.get(line.source, line.source),
    )


def _status(line: ReadingLine) -> tuple[str, str, str]:
    if line.voided_at is not None:
        return "voided", "Taken out of use", line.void_reason
    if line.reason:
        return "aside", sentence(line.reason), REASONS.get(line.reason, "")
    return "used", "Used", ""


def _cell(line: ReadingLine, name: str, units: str) -> Cell:
    text = in_reader_units(line.values[name], COLUMNS[name], units) if name in line.values else ""
    quantity = COLUMNS[name]
    return Cell(text, quantity.label, reader_unit(quantity, units), line.values_set_aside.get(name, ""))
