"""Which columns hold date and clock time, how they are written, and by which clock."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from server.intake.header_rows import cell_text
from server.intake.moments import ORDERS, read_clock, read_moment
from server.intake.rows import Cell, Row
from server.intake.understand.dates import find_order
from server.intake.understand.shifts import shift_hours
from server.intake.understand.understanding import Known, TimeRule
from server.intake.understand.words import facet_of, words_of
from server.intake.yearless import LEAP_YEAR, with_year, year_in

_ENOUGH = 0.6
"""Share of the cells of a column that must be times for it to be one."""
_ZONE = re.compile(r"\b(utc|gmt|zulu)\b(?!\s*[+-]?\s*[1-9])", re.IGNORECASE)


@dataclass(frozen=True)
class _Column:
    """What speaks for a column as one of dates, or of clock times."""

    number: int
    named: bool
    filled: int
    dates: float
    with_clock: float
    clocks: float


def find_times(
    rows: Sequence[Row], names: Sequence[str], titles: Sequence[Cell], known: Known, chosen: str = ""
) -> TimeRule | None:
    """The rule for the times of a table; None when no column holds any.

    Parameters
    ----------
    rows
        Readings, in the order of the file.
    titles
        Cells above the table, where a clock may be named.
    chosen
        Header of the column that a person says holds the times.
    """
    dated, columns = _dated(rows, names, chosen)
    year, year_reason = 0, ""
    if dated is None:
        year, year_reason = year_in([str(title) for title in titles])
        year = year or (known.latest.year if known.latest else LEAP_YEAR)
        rows = [Row(row.number, tuple(with_year(cell, year) or cell for cell in row.cells)) for row in rows]
        dated, columns = _dated(rows, names, chosen)
    if dated is None:
        return None
    clock = None if dated.with_clock > 0.5 else _best_clock(columns, dated)
    cells = [(row.number, _cell(row, dated.number)) for row in rows]
    rule = find_order(cells, timezone=known.timezone, latest=known.latest if not year else None)
    shifts: dict[str, str] = {}
    if clock is None and dated.with_clock <= 0.5:
        clock, shifts = _shifts(columns, names, rows, dated)
    zone, zone_reason = _zone([names[dated.number], *(str(cell) for cell in titles)], cells, known.timezone)
    gaps = sum(1 for row in rows if _cell(row, dated.number) is None and clock and _cell(row, clock.number))
    return TimeRule(
        column=names[dated.number],
        clock=names[clock.number] if clock else "",
        order=rule.order,
        reason=rule.reason,
        asked=rule.asked,
        example=rule.text,
        timezone=zone,
        zone_reason=zone_reason,
        carried=clock is not None and gaps > 0,
        year=year,
        year_reason=f"“{year_reason[:60]}”" if year_reason else "",
        shifts=shifts,
    )


def _dated(rows: Sequence[Row], names: Sequence[str], chosen: str) -> tuple[_Column | None, list[_Column]]:
    """The column of dates, and what was seen of all."""
    columns = [_look(number, name, rows) for number, name in enumerate(names)]
    return _best_date(columns, names, chosen), columns


def _shifts(
    columns: list[_Column], names: Sequence[str], rows: Sequence[Row], dated: _Column
) -> tuple[_Column | None, dict[str, str]]:
    """A column with the name of the shift, where a date comes with several of them."""
    for column in columns:
        if column.number == dated.number or not _says(names[column.number], "shift"):
            continue
        texts = [cell_text(cell) for row in rows if (cell := _cell(row, column.number)) is not None]
        dates = {_cell(row, dated.number) for row in rows}
        hours = shift_hours(texts) if len(dates) < len(texts) else {}
        if hours:
            return column, hours
    return None, {}


def _says(name: str, what: str) -> bool:
    return any(facet_of(word) == ("measure", what) for word in words_of(name))


def _cell(row: Row, number: int) -> Cell:
    return row.cells[number] if number < len(row.cells) else None


def _look(number: int, name: str, rows: Sequence[Row]) -> _Column:
    named = _says(name, "time") or _says(name, "date")
    cells = [cell for row in rows if (cell := _cell(row, number)) is not None]
    if not cells:
        return _Column(number, named, 0, 0.0, 0.0, 0.0)
    cells = cells[:: max(1, len(cells) // 500)]
    moments = [moment for cell in cells if (moment := _moment(cell, named)) is not None]
    clocks = [cell for cell in cells if _looks_like_clock(cell, named)]
    with_clock = sum(moment.has_clock for moment in moments)
    count = len(cells)
    return _Column(number, named, count, len(moments) / count, with_clock / count, len(clocks) / count)


def _moment(cell: Cell, named: bool):  # type: ignore[no-untyped-def]
    """Numbers are dates only in a column that is named so."""
    plain_number = isinstance(cell, float) or (isinstance(cell, str) and re.fullmatch(r"[\d.,]+", cell) is not None)
    if plain_number and not named and not (isinstance(cell, str) and _written(cell)):
        return None
    if isinstance(cell, date) and cell.year <= 1900:
        return None
    return next((moment for order in ORDERS if (moment := read_moment(cell, order)) is not None), None)


def _written(cell: str) -> bool:
    return re.fullmatch(r"\d{1,2}\.\d{1,2}\.\d{2,4}|\d{4}\.\d{1,2}\.\d{1,2}", cell) is not None


def _looks_like_clock(cell: Cell, named: bool) -> bool:
    if isinstance(cell, time) or (isinstance(cell, datetime) and cell.year <= 1900):
        return True
    if isinstance(cell, str) and (":" in cell or re.search(r"[ap]\.?m|\dh", cell.lower())):
        return read_clock(cell) is not None
    return named and read_clock(cell) is not None


def _best_date(columns: list[_Column], names: Sequence[str], chosen: str) -> _Column | None:
    if chosen in names:
        return columns[list(names).index(chosen)]
    dated = [column for column in columns if column.dates >= _ENOUGH]
    if not dated:
        dated = [column for column in columns if column.named and column.dates > 0.2]
    return max(dated, key=lambda c: (round(c.dates, 1), c.named, c.filled > 1, c.with_clock, -c.number), default=None)


def _best_clock(columns: list[_Column], dated: _Column) -> _Column | None:
    clocks = [c for c in columns if c.number != dated.number and c.clocks >= _ENOUGH and c.dates < _ENOUGH]
    return min(clocks, key=lambda c: (not c.named, abs(c.number - dated.number)), default=None)


def _zone(texts: Sequence[str], cells: Sequence[tuple[int, Cell]], site: str) -> tuple[str, str]:
    found = next((text for text in texts if _ZONE.search(text)), "")
    if found:
        return "UTC", f'"{found[:60]}" says so'
    for _, cell in cells[:200]:
        moment = read_moment(cell, "day first") if isinstance(cell, str) else None
        if moment is not None and moment.at.tzinfo is not None:
            return "", "the times carry their own offset"
    return site, "that of the site; the file names none"
