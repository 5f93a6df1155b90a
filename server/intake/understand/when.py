"""Which columns hold date and clock time, how they are written, and by which clock."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.intake.dates_above import DATE_ABOVE
from server.intake.header_rows import cell_text, line_name
from server.intake.moments import read_moment
from server.intake.rows import Cell, Row, cell_at
from server.intake.understand.dates import find_order
from server.intake.understand.day_columns import DayColumns, find_day_columns
from server.intake.understand.day_named import day_named
from server.intake.understand.time_columns import (
    ENOUGH,
    SOME,
    ZONE,
    TimeColumn,
    best_clock,
    best_date,
    half_column,
    half_missing,
    is_minutes,
    look_at,
    shift_column,
)
from server.intake.understand.understanding import Known, TimeRule
from server.intake.yearless import LEAP_YEAR, with_year, year_in


@dataclass(frozen=True)
class TimesTable:
    """A table as it is looked at for its times.

    Attributes
    ----------
    rows
        Readings, in the order of the file.
    titles
        Texts beside the table, where a clock, a year or a month may be named: cells above it, the name of the file.
    sheets
        Names of the sheets that the rows come from; `sheet_of` is the position of the sheet of each row.
    """

    names: tuple[str, ...]
    rows: tuple[Row, ...]
    titles: tuple[str, ...]
    sheets: tuple[str, ...] = ()
    sheet_of: tuple[int, ...] = ()
    sideways: bool = False


_LEAST_YEAR = 15
"""Of this century: what stands behind the name of a month is more likely a year from here on."""


@dataclass(frozen=True)
class _Dated:
    """Rows with whole dates in one column, and what they were made whole with."""

    rows: Sequence[Row]
    columns: Sequence[TimeColumn]
    date: TimeColumn
    days: DayColumns | None
    year: int
    year_reason: str


def find_times(table: TimesTable, known: Known, chosen: str = "") -> TimeRule | None:
    """The rule for the times of a table; None when no column holds any.

    Parameters
    ----------
    chosen
        Header of the column that a person says holds the times.
    """
    found = _dated(table, known, chosen)
    if found is None:
        return _of_one_day(table, known, chosen)
    names, dated, rows = table.names, found.date, found.rows
    clock = None if dated.with_clock > 0.5 else best_clock(found.columns, names, dated)
    half = half_column(found.columns, rows, (dated.number, clock.number if clock else -1))
    cells = [(line_name(row.number, sideways=table.sideways), cell_at(row, dated.number)) for row in rows]
    rule = find_order(cells, timezone=known.timezone, latest=known.latest if not found.year else None)
    shifts: dict[str, str] = {}
    if clock is None and dated.with_clock <= 0.5:
        clock, shifts = shift_column(found.columns, names, rows, dated, half)
    named = [names[dated.number], *([names[clock.number]] if clock else []), *table.titles]
    zone, zone_reason = _zone(named, cells, known.timezone)
    gaps = sum(1 for row in rows if cell_at(row, dated.number) is None and clock and cell_at(row, clock.number))
    times = TimeRule(
        column=names[dated.number],
        clock=names[clock.number] if clock else "",
        order=rule.order,
        reason=rule.reason,
        asked=rule.asked,
        exchanged=rule.exchanged,
        example=rule.text,
        timezone=zone,
        zone_reason=zone_reason,
        carried=clock is not None and gaps > 0 and names[dated.number] != DATE_ABOVE,
        year=found.year,
        year_reason=f"“{found.year_reason[:60]}”" if found.year_reason else "",
        shifts=shifts,
        half_missing=half_missing(rows, dated, clock) if half < 0 and not shifts else "",
        minute=_minute(found.columns, names, rows, clock),
        half=names[half] if half >= 0 and clock is not None and clock.number != half else "",
    )
    return times if found.days is None else _by_parts(times, found.days, names)


def _are_months(cells: Sequence[Cell]) -> bool:
    """Whether "Jan-24", "Feb-24" are months with their year rather than the same day of each month."""
    found = [re.fullmatch(r"([^\W\d_]{3,12})\.?[-\s/']+(\d{2})", cell) for cell in cells if isinstance(cell, str)]
    months, numbers = ({match[group].lower() for match in found if match} for group in (1, 2))
    return len(months) > 1 and len(numbers) == 1 and int(next(iter(numbers))) >= _LEAST_YEAR and all(found)


def _minute(columns: Sequence[TimeColumn], names: Sequence[str], rows: Sequence[Row], clock: TimeColumn | None) -> str:
    """The column of minutes beside one of whole hours, "" where there is none."""
    if clock is None or not all(_is_whole_hour(cell_at(row, clock.number)) for row in rows):
        return ""
    return next(
        (
            names[column.number]
            for column in columns
            if is_minutes(names[column.number], [cell_at(row, column.number) for row in rows])
        ),
        "",
    )


def _is_whole_hour(cell: Cell) -> bool:
    return cell is None or cell_text(cell).strip().rstrip("hH").strip().isdecimal()


def _of_one_day(table: TimesTable, known: Known, chosen: str) -> TimeRule | None:
    """Times of day alone, of a day that the name of the file says, or a person; None where there are not even those."""
    columns = look_at(table.names, table.rows)
    if chosen in table.names:
        columns = [columns[table.names.index(chosen)]]
    clock = next((column for column in columns if column.clocks >= ENOUGH), None)
    if clock is None or len(table.sheets) > 1:
        return None
    said = day_named(table.titles)
    name = table.names[clock.number]
    zone, zone_reason = _zone([name, *table.titles], (), known.timezone)
    return TimeRule(
        column=name,
        clock="",
        order="year first",
        reason="the column holds times of day alone",
        asked=False,
        example="",
        timezone=zone,
        zone_reason=zone_reason,
        carried=False,
        day=said.day,
        day_reason=f"“{said.text[:60]}” {'says' if said.sure else 'may say'} {said.day}" if said.day else "",
        day_alone=True,
        day_asked=not said.sure,
    )


def _by_parts(times: TimeRule, days: DayColumns, names: Sequence[str]) -> TimeRule:
    month, year = (names[number] if number >= 0 else "" for number in (days.month, days.year))
    reason = times.reason
    if days.first:
        reason = "the month is that of the sheet" if days.sure else "the column holds days alone"
    elif year:
        reason = f'day, month and year stand in "{times.column}", "{month}" and "{year}"'
    return replace(
        times,
        reason=reason,
        month_column=month,
        year_column=year,
        month=days.first,
        month_reason=days.said,
        month_asked=bool(days.first) and not days.sure,
        sheet_months=days.sheets,
    )


def _dated(table: TimesTable, known: Known, chosen: str) -> _Dated | None:
    """The column of dates; where none is found, one of days is made whole by month and year, else dates by a year."""
    rows: Sequence[Row] = table.rows
    days, year, year_reason = None, 0, ""
    columns = look_at(table.names, rows)
    date = best_date(columns, table.names, chosen, known.train)
    if date is None or date.dates < SOME:
        now = known.latest.strftime("%Y-%m") if known.latest else f"{LEAP_YEAR}-01"
        days = find_day_columns(rows, table.names, table.titles, table.sheets, now)
        chosen = table.names[days.day] if days else chosen
        rows = days.dated(rows, table.sheet_of) if days else rows
        columns = look_at(table.names, rows)
        date = best_date(columns, table.names, chosen, known.train)
    if date is None or date.dates < SOME:
        year, year_reason = year_in([*table.titles, *table.sheets])
        year = year or (known.latest.year if known.latest else LEAP_YEAR)
        rows = [Row(row.number, tuple(with_year(cell, year) or cell for cell in row.cells)) for row in rows]
        columns = look_at(table.names, rows)
        date = best_date(columns, table.names, chosen, known.train)
        if date is not None and _are_months([cell_at(row, date.number) for row in table.rows]):
            return None
    return None if date is None else _Dated(rows, columns, date, days, year, year_reason)


def _zone(texts: Sequence[str], cells: Sequence[tuple[str, Cell]], site: str) -> tuple[str, str]:
    found = next((text for text in texts if ZONE.search(text)), "")
    if found:
        return "UTC", f'"{found[:60]}" says so'
    for _, cell in cells[:200]:
        moment = read_moment(cell, "day first") if isinstance(cell, str) else None
        if moment is not None and moment.at.tzinfo is not None:
            return "", "the times carry their own offset"
    return site, "that of the site; the file names none"
