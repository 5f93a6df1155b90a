"""What was understood of a file: the frozen result, and what was known beforehand."""

from dataclasses import dataclass, field
from datetime import datetime

from server.intake.moments import Order
from server.intake.numerals import Marks
from server.intake.understand.meaning import Confidence

LEFT_OUT = ""
STATE, REMARK = "state", "remark"


@dataclass(frozen=True)
class Known:
    """What is known before a file is looked at; everything may be missing.

    Attributes
    ----------
    stages
        Stages of the train, 0 where that is not known.
    units
        Units in which the site works, "SI" or "US".
    usual
        By column: the median of the train's own records, in canonical units.
    expected
        By column: between which values true ones lie, in canonical units.
    latest
        No reading can be later.
    """

    timezone: str = "UTC"
    stages: int = 0
    units: str = ""
    train: str = ""
    usual: dict[str, float] = field(default_factory=dict)
    expected: dict[str, tuple[float, float]] = field(default_factory=dict)
    latest: datetime | None = None


@dataclass(frozen=True)
class Choices:
    """What a person has said about the layout; empty means: find out."""

    sheets: tuple[str, ...] = ()
    decimal: str = ""
    header_row: int = 0
    time: str = ""
    train: str = ""
    """The train that is meant, as the file calls it."""


@dataclass(frozen=True)
class Doubt:
    """A question about a whole column: its numbers fit another unit better than the one it is named with."""

    unit: str
    text: str


@dataclass(frozen=True)
class FoundColumn:
    """One column (or tag), and what it is taken for.

    `meaning` is the name of a quantity, `state`, `remark`, or "" when it is left out. `unit` is "" where there is none
    to give.
    """

    name: str
    meaning: str
    unit: str
    confidence: Confidence
    reason: str
    unit_reason: str = ""
    doubt: Doubt | None = None
    examples: tuple[str, ...] = ()
    measures: str = ""
    """Canonical unit of what it measures, "" where that is not known."""

    @property
    def typed(self) -> str:
        """As a mapping says it: `feed_pressure [psi]`."""
        return f"{self.meaning} [{self.unit}]" if self.meaning and self.unit not in ("", "-") else self.meaning


@dataclass(frozen=True)
class TimeRule:
    """Where times stand and how they are written; `asked` means that only a person can tell the order."""

    column: str
    clock: str
    order: Order
    reason: str
    asked: bool
    example: str
    timezone: str
    zone_reason: str
    carried: bool
    year: int = 0
    """Of the first reading, where dates have none; then a person must be asked, and `year_reason` is why this one."""
    year_reason: str = ""
    shifts: dict[str, str] = field(default_factory=dict)
    """Where `clock` holds names of shifts: the time of day that each is taken to be read at."""
    half: str = ""
    """Column that says AM or PM beside the clock time."""
    half_missing: str = ""
    """What looks like a clock of twelve hours without AM and PM, in words; a person must say how it is meant."""
    exchanged: bool = False
    """Whether true dates have day and month exchanged, as a spreadsheet read them."""
    minute: str = ""
    """Column of the minutes, where `clock` holds hours alone."""
    day: str = ""
    """Of the first reading (2024-06-12), where `column` holds times of day alone; `day_reason` is what says so."""
    day_reason: str = ""
    day_alone: bool = False
    day_asked: bool = False
    month_column: str = ""
    year_column: str = ""
    month: str = ""
    """Of the first reading (2024-01), where `column` holds days alone; `month_reason` is what says so."""
    month_reason: str = ""
    month_asked: bool = False
    sheet_months: tuple[int, ...] = ()
    """Month of each sheet, where they are called after months."""


@dataclass(frozen=True)
class LongLayout:
    """Columns of a file with one row for each tag and time; empty where there is none."""

    tag: str
    value: str
    unit: str = ""
    quality: str = ""


@dataclass(frozen=True)
class TableLayout:
    """How the table lies in the file, with the reasons."""

    encoding: str
    encoding_reason: str
    delimiter: str
    sheets: tuple[str, ...]
    all_sheets: tuple[str, ...]
    marks: Marks
    marks_reason: str
    marks_doubtful: str
    skip_rows: int
    header_rows: int
    skip_below: int
    long: LongLayout | None = None
    sideways: bool = False
    only: tuple[str, str] | None = None
    """Column and value of the rows that belong to this train, where a file holds several."""
    qualities: dict[str, str] = field(default_factory=dict)
    """Columns that say how good others are, by those."""
    dates_above: bool = False
    trains_above: bool = False
    across: bool = False
    """Whether dates stand above the readings; whether several readings of a day stand beside each other."""
    parts: str = ""
    """What divides a table whose parts belong side by side: sheets, times, or the name of a column."""
    trains: tuple[str, ...] = ()
    """Trains that the file holds, where only a person can tell which of them is meant."""


@dataclass(frozen=True)
class Understanding:
    """Everything that was understood of a file.

    Attributes
    ----------
    names
        Headers of the file, in their order.
    columns
        Every column that is not a time (or every tag), in the order of the file.
    states
        Words of the state column, and what they mean; "" where that is not known.
    notes
        What a person should know, in plain sentences.
    """

    file: str
    layout: TableLayout
    names: tuple[str, ...]
    time: TimeRule
    columns: tuple[FoundColumn, ...]
    states: dict[str, str]
    notes: tuple[str, ...]
    clash: str = ""
    """What looks like several readings at one time, in words."""

    @property
    def questions(self) -> tuple[str, ...]:
        """What must be answered before anything can be brought in."""
        trains = ", ".join(f"“{name}”" for name in self.layout.trains)
        asked = [f"Which train is meant? The file holds several: {trains}."] if trains else []
        asked += [f"In which order are dates written? {self.time.reason}."] if self.time.asked else []
        if self.time.year:
            why = f" {self.time.year_reason} says {self.time.year}." if self.time.year_reason else ""
            asked.append(f"Of which year is the first reading? Its dates have no year.{why}")
        if self.time.month_asked:
            why = f" {self.time.month_reason} says {self.time.month}." if self.time.month_reason else ""
            asked.append(f"Of which month is the first reading? Its dates are days alone.{why}")
        if self.time.day_asked:
            said = f" {self.time.day_reason}." if self.time.day_reason else ""
            asked.append(f"Of which day is the first reading? The file has times of day alone.{said}")
        if self.time.half_missing:
            asked.append(f"Which times are after noon? {self.time.half_missing}")
        if self.clash:
            asked.append(self.clash)
        if self.time.shifts:
            listed = ", ".join(f"{word} {clock or '?'}" for word, clock in self.time.shifts.items())
            asked.append(f"At what time of day is each shift read? The file has only their names: {listed}.")
        if self.layout.marks_doubtful:
            asked.append(
                f'Is "{self.layout.marks_doubtful}" more than a thousand, or a number with three decimals? '
                f"{self.layout.marks_reason}."
            )
        asked += [column.doubt.text for column in self.columns if column.doubt]
        if not any(column.meaning not in (LEFT_OUT, STATE, REMARK) for column in self.columns):
            asked.append("Which columns hold readings? None of their names is known here.")
        return tuple(asked)
