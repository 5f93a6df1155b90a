"""What the tables of an import's page show: its columns, problems, contradictions and first readings."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from analytics.quantities import COLUMNS
from server.display import in_reader_units, moment, number, reader_unit, unit_symbol
from server.intake.header_rows import line_name

WORDS = {"state": "State", "remark": "Remark", "time": "Time"}


@dataclass(frozen=True)
class ColumnLine:
    """A column of the file that was understood, and the unit in which it was typed."""

    header: str
    label: str
    unit: str


@dataclass(frozen=True)
class ProblemLine:
    row: str
    column: str
    value: str
    expected: str


@dataclass(frozen=True)
class DifferenceLine:
    """A reading that is there already with another value."""

    row: str
    taken_at: str
    quantity: str
    stored: str
    given: str


@dataclass(frozen=True)
class PreviewCell:
    """A value, or with no text the head of its column."""

    text: str
    label: str
    unit: str


@dataclass(frozen=True)
class PreviewRow:
    number: str
    taken_at: str
    cells: tuple[PreviewCell, ...]


@dataclass(frozen=True)
class PreviewTable:
    """The first readings as they would be stored, in the reader's units."""

    columns: tuple[PreviewCell, ...]
    rows: tuple[PreviewRow, ...]


def problem_line(entry: dict[str, Any]) -> ProblemLine:
    """A cell that could not be used, where it stands and what was expected."""
    row = _place_of(entry)
    place = f"{row}, sheet {entry['sheet']}" if entry.get("sheet") else row
    says = entry["value"] or entry.get("what", "")
    return ProblemLine(place, entry["column"], says, entry["expected"])


def _place_of(entry: dict[str, Any], row: int = 0, word: str = "") -> str:
    """The row of an entry as a table shows it below "Row"; the column of a table on its side."""
    row = row or entry["row"]
    return line_name(row, sideways=True) if entry.get("sideways") else f"{word}{number(row)}"


def column_line(name: str, unit: str) -> ColumnLine:
    """A column by its header, with its unit as typed."""
    label = COLUMNS[name].label if name in COLUMNS else WORDS.get(name, name)
    return ColumnLine(name, label, unit_symbol(unit) or "no unit")


def difference_line(entry: dict[str, Any], zone: ZoneInfo, units: str) -> DifferenceLine:
    """What is stored, or stands in an earlier row, against what this row says."""
    name = entry["column"]
    taken_at = moment(datetime.fromisoformat(entry["taken_at"]), zone)
    label = COLUMNS[name].label if name in COLUMNS else WORDS.get(name, name)
    stored, given = (_value(name, entry[key], units) for key in ("stored", "given"))
    earlier = entry.get("earlier_row", 0)
    return DifferenceLine(
        _place_of(entry),
        taken_at,
        label,
        f"{stored} in {_place_of(entry, earlier, 'row ')}" if earlier else stored,
        given,
    )


def _value(name: str, value: float | str | None, units: str) -> str:
    if value is None or value == "":
        return "nothing"
    if name not in COLUMNS or isinstance(value, str):
        return str(value)
    return f"{in_reader_units(value, COLUMNS[name], units)} {reader_unit(COLUMNS[name], units)}".strip()


def preview_table(rows: Sequence[dict[str, Any]], zone: ZoneInfo, units: str) -> PreviewTable | None:
    """The first readings; None where no column was understood."""
    names = [name for name in COLUMNS if any(name in row["values"] for row in rows)]
    if not names:
        return None
    columns = tuple(PreviewCell("", COLUMNS[name].label, reader_unit(COLUMNS[name], units)) for name in names)
    return PreviewTable(columns, tuple(_preview_row(row, names, zone, units) for row in rows))


def _preview_row(row: dict[str, Any], names: Sequence[str], zone: ZoneInfo, units: str) -> PreviewRow:
    cells = []
    for name in names:
        quantity = COLUMNS[name]
        text = in_reader_units(row["values"].get(name), quantity, units)
        cells.append(PreviewCell(text, quantity.label, reader_unit(quantity, units)))
    return PreviewRow(_place_of(row), moment(datetime.fromisoformat(row["taken_at"]), zone), tuple(cells))
