"""Find a column of days alone, the columns of their months and years, or the title that says the month."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from server.intake.date_parts import (
    day_number,
    month_and_year,
    month_number,
    months_from,
    whole_dates,
    year_number,
)
from server.intake.rows import Cell, Row
from server.intake.sideways import are_days
from server.intake.understand.words import facet_of, words_of
from server.intake.yearless import year_in

_MOST = 0.8
"""Share of the cells that must be days, months or years for a column to be one of those."""
_DAYS = frozenset(("day", "days", "dia", "jour", "tag", "giorno", "dag", "dy", "dom", "d"))
_YEARS = frozenset(("y",))


@dataclass(frozen=True)
class DayColumns:
    """Positions of the columns (-1 for none), and the month of the first reading where a person must say it.

    `sheets` holds the month of each sheet that is called after one; `sure` means that the sheets say it all.
    """

    day: int
    month: int
    year: int
    first: str = ""
    said: str = ""
    sheets: tuple[int, ...] = ()
    sure: bool = False

    def dated(self, rows: Sequence[Row], sheet_of: Sequence[int]) -> list[Row]:
        """The rows with whole dates in the column of days."""
        firsts = months_from(self.first, self.sheets) if self.first else ()
        cells = [_column(rows, number) for number in (self.day, self.month, self.year)]
        months, years = (cells[n] if (self.month, self.year)[n - 1] >= 0 else None for n in (1, 2))
        dates = whole_dates(cells[0], months, years, firsts, sheet_of)
        return [_with(row, self.day, cell) for row, cell in zip(rows, dates, strict=True)]


def find_day_columns(
    rows: Sequence[Row], names: Sequence[str], titles: Sequence[str], sheets: Sequence[str], now: str
) -> DayColumns | None:
    """Columns of days, months and years; None where no column is called after days and holds nothing else.

    Parameters
    ----------
    titles, sheets
        Texts that may name the month: cells above the table and the name of the file, and the names of its sheets.
    now
        This month, such as 2026-02: the guess where nothing names one.
    """
    day = _called(rows, names, lambda name: _says_date(name) or bool(_words(name) & _DAYS), day_number)
    if day < 0:  # a table on its side has the name of something else above its days
        columns = [[cell for cell in _column(rows, n) if cell is not None] for n in range(len(names))]
        day = next((n for n, cells in enumerate(columns) if are_days(cells)), -1)
    if day < 0:
        return None
    month = _called(rows, names, lambda name: _says(name, "month"), month_number)
    year = _called(rows, names, lambda name: _says(name, "year") or bool(_words(name) & _YEARS), year_number)
    if month >= 0:
        return DayColumns(day, month, year)
    of_sheets = [month_and_year(name) for name in sheets]
    named = tuple(month for _, month in of_sheets)
    if sheets and all(named):
        of_year = of_sheets[0][0]
        sure = all(year for year, _ in of_sheets) and months_from(f"{of_year}-{named[0]:02d}", named) == tuple(
            f"{year}-{month:02d}" for year, month in of_sheets
        )
        of_year = of_year or year_in(titles)[0] or int(now[:4])
        return DayColumns(day, -1, -1, f"{of_year}-{named[0]:02d}", f"“{sheets[0]}”", named, sure)
    return _by_title(day, titles, now)


def _by_title(day: int, titles: Sequence[str], now: str) -> DayColumns:
    found = {text: both for text in titles if (both := month_and_year(text))[1]}
    different = set(found.values())
    if len(different) != 1:
        return DayColumns(day, -1, -1, now)
    text, (year, month) = next(iter(found.items()))
    year = year or year_in(titles)[0] or int(now[:4])
    return DayColumns(day, -1, -1, f"{year}-{month:02d}", f"“{text[:60]}”")


def _called(
    rows: Sequence[Row], names: Sequence[str], named: Callable[[str], bool], number: Callable[[Cell], int]
) -> int:
    for position, name in enumerate(names):
        cells = [cell for cell in _column(rows, position) if cell is not None]
        if named(name) and cells and sum(number(cell) > 0 for cell in cells) >= _MOST * len(cells):
            return position
    return -1


def _words(name: str) -> frozenset[str]:
    return frozenset(words_of(name))


def _says_date(name: str) -> bool:
    return _says(name, "date")


def _says(name: str, what: str) -> bool:
    return any(facet_of(word) == ("measure", what) for word in words_of(name))


def _column(rows: Sequence[Row], number: int) -> list[Cell]:
    return [row.cells[number] if 0 <= number < len(row.cells) else None for row in rows]


def _with(row: Row, number: int, cell: Cell) -> Row:
    if number >= len(row.cells):
        return row
    return Row(row.number, (*row.cells[:number], cell, *row.cells[number + 1 :]))
