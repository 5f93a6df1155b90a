"""Tables whose dates stand above the readings or in the names of their sheets; their columns hold clock times alone.

Each reading gets the last date that was named before it, as a first cell.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, time

from server.intake.date_parts import day_number
from server.intake.moments import read_clock
from server.intake.rows import ROWS_PER_SHEET, Cell, Row
from server.intake.understand.words import facet_of, words_of
from server.intake.yearless import is_date

DATE_ABOVE = "date above"
"""How the column of these dates is called."""
FEWEST = 0.6
"""Share of the readings that must have a clock time."""
SOME = 0.2
"""Share of the readings with a date of their own from which on those are the dates."""
_MOST_CELLS = 6
OF_OTHER_THINGS = frozenset((
    "printed", "print", "exported", "export", "signed", "approved", "issued", "issue", "revision", "rev", "version",
    "created", "generated", "calibrated", "calibration", "commissioned", "installed", "next", "due", "gedruckt",
    "erstellt", "ausgedruckt", "imprime", "edite", "impreso", "emitido", "impresso", "stampato", "drukowano",
))  # fmt: skip
"""Words beside a date that is not that of readings."""
_LONGEST = 8
"""Words of a date with what stands around it: "Monday, 15th of January 2024"."""


def with_dates_above(rows: Iterable[Row], sheets: Sequence[str] = ()) -> Iterator[Row]:
    """The rows, each reading with its date before its cells; all others with nothing there."""
    sheet, named = -1, None
    for row in rows:
        if row.number // ROWS_PER_SHEET != sheet:
            sheet = row.number // ROWS_PER_SHEET
            named = date_in(sheets[sheet]) if sheet < len(sheets) else None
        found = date_heading(row)
        named = named if found is None else found
        yield Row(row.number, (named if found is None and _is_reading(row) else None, *row.cells))


def dates_stand_above(rows: Sequence[Row], names: Sequence[str], first: int, sheet: str) -> bool:
    """Whether the readings, from position `first` on, have clock times and no dates, and a date is named above them.

    A column of days, by its name, is one of dates: then the month is what stands above.
    """
    readings = [row for row in rows[first:] if _is_reading(row) and date_heading(row) is None]
    width = max((len(row.cells) for row in readings), default=0)
    columns = [[row.cells[n] if n < len(row.cells) else None for row in readings] for n in range(width)]
    least = len(readings) or 1
    if any(sum(is_date(cell) for cell in column) >= SOME * least for column in columns):
        return False
    if any(_says_date(name) and all(map(day_number, column)) for name, column in zip(names, columns, strict=False)):
        return False
    if not any(sum(_is_clock(cell) for cell in column) >= FEWEST * least for column in columns):
        return False
    return date_in(sheet) is not None or any(date_heading(row) is not None for row in rows)


def date_heading(row: Row) -> Cell:
    """The date that a row names which holds no reading; None where it names none, or several."""
    filled = [cell for cell in row.cells if cell is not None]
    words = {word for cell in filled if isinstance(cell, str) for word in words_of(cell)}
    if words & OF_OTHER_THINGS:
        return None
    if not 1 <= len(filled) <= _MOST_CELLS or any(isinstance(cell, float) or _is_clock(cell) for cell in filled):
        return None
    found = [day for cell in filled if (day := date_in(cell)) is not None]
    return found[0] if len(found) == 1 else None


def date_in(cell: Cell) -> Cell:
    """The date in a cell or among the words of a text.

    Examples
    --------
    >>> date_in("Date: 15 January 2024"), date_in("Log of 15.01.2024 (Monday)"), date_in("Feed pressure") is None
    ('15 January 2024', '15.01.2024', True)
    """
    if isinstance(cell, date) or not isinstance(cell, str):
        return cell if isinstance(cell, date) else None
    words = [word.strip("(),;:") for word in cell.replace(":", ": ").split()]
    for length in range(min(len(words), _LONGEST), 0, -1):
        for start in range(len(words) - length + 1):
            text = " ".join(words[start : start + length])
            if any(sign.isdigit() for sign in text) and is_date(text):
                return text
    return None


def _says_date(name: str) -> bool:
    return any(facet_of(word) == ("measure", "date") for word in words_of(name))


def _is_reading(row: Row) -> bool:
    return any(_is_clock(cell) for cell in row.cells) and len([cell for cell in row.cells if cell is not None]) > 1


def _is_clock(cell: Cell) -> bool:
    if isinstance(cell, time):
        return True
    return isinstance(cell, str) and any(sign in cell.lower() for sign in ":hm") and read_clock(cell) is not None
