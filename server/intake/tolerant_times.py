"""Read the cells that say when a reading was taken, by a mapping, as times in ISO 8601."""

from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta

from server.intake.clock_parts import after_noon, counted_on, read_minutes
from server.intake.date_parts import exchange, whole_dates
from server.intake.header_rows import cell_text
from server.intake.mapping import FileMapping
from server.intake.moments import Moment, read_clock_of_half, read_moment
from server.intake.rows import ROWS_PER_SHEET, Cell, Row, cell_at
from server.intake.tolerant_numbers import Told
from server.intake.yearless import with_years

A_CLOCK = "a time of day such as 14:05"
MINUTES = "a whole number from 0 to 59"


class When:
    """Where a table says when (positions of columns, -1 for none), and what its cells come to."""

    def __init__(self, mapping: FileMapping, number: Callable[[str], int], told: Told) -> None:
        self.mapping, self.told = mapping, told
        self.time = number(mapping.time_column)
        others = (mapping.clock_column, mapping.half_column, mapping.month_column, mapping.year_column)
        self.clock, self.half, self.month, self.year = (number(name) if name else -1 for name in others)
        self.minute = number(mapping.minute_column) if mapping.minute_column else -1

    def texts(self, cells: Sequence[Cell], rows: Sequence[Row]) -> list[str | None]:
        """Times in ISO 8601 where they can be read, else as they stand; None where the time of day cannot be read.

        `cells` are those of the column of times, with what was carried down from above.
        """
        mapping = self.mapping
        if mapping.day:
            return counted_on(cells, date.fromisoformat(mapping.day))
        cells = self._whole(cells, rows)
        if mapping.exchanged:
            cells = [exchange(cell) for cell in cells]
        if mapping.time_format:
            return [None if cell is None else cell_text(cell) for cell in cells]
        order = mapping.order or "year first"
        if mapping.year:
            cells = with_years(cells, order, mapping.year)
        moments = {cell: read_moment(cell, order) for cell in set(cells)}
        with_clock = sum(1 for cell in cells if (moment := moments[cell]) and moment.has_clock)
        midnight = self.clock < 0 and with_clock > 0.5 * len(cells)
        texts = [self._text(cell, moments[cell], row, midnight=midnight) for cell, row in zip(cells, rows, strict=True)]
        return after_noon(texts) if mapping.noon_by_order else texts

    def _whole(self, cells: Sequence[Cell], rows: Sequence[Row]) -> Sequence[Cell]:
        """Dates of days alone, with their months and years."""
        if self.month < 0 and not self.mapping.months:
            return cells
        months, years = (
            [cell_at(row, number) for row in rows] if number >= 0 else None for number in (self.month, self.year)
        )
        sheets = [row.number // ROWS_PER_SHEET for row in rows]
        return whole_dates(cells, months, years, self.mapping.months, sheets)

    def _text(self, cell: Cell, moment: Moment | None, row: Row, *, midnight: bool) -> str | None:
        clock = cell_at(row, self.clock)
        if moment is None:
            return None if cell is None else cell_text(cell)
        if clock is not None:
            return self._joined(moment.at, clock, row)
        return moment.at.isoformat(sep=" ") if moment.has_clock or midnight else moment.at.date().isoformat()

    def _joined(self, day: datetime, clock: Cell, row: Row) -> str | None:
        """A date and its time of day; one that cannot be read is a problem of its cell."""
        meant = self.mapping.shifts.get(cell_text(clock), clock)
        span = read_clock_of_half(meant, cell_at(row, self.half))
        if span is None and isinstance(meant, str) and (moment := read_moment(meant, "day first")):
            span = moment.at - datetime.combine(moment.at.date(), datetime.min.time())
        if span is None:
            self.told.problem(row.number, self.mapping.clock_column, clock, "is not a time of day", A_CLOCK)
            return None
        minutes = read_minutes(cell_at(row, self.minute)) if self.minute >= 0 else timedelta(0)
        if minutes is None:
            what = "is not a number of minutes"
            self.told.problem(row.number, self.mapping.minute_column, cell_at(row, self.minute), what, MINUTES)
            return None
        try:
            return (day.replace(hour=0, minute=0, second=0) + span + minutes).isoformat(sep=" ")
        except OverflowError:  # the last day that there is
            self.told.problem(row.number, self.mapping.clock_column, clock, "lies too far in the future", A_CLOCK)
            return None
