"""Find where the table lies in a sheet: rows before it, rows of its header, the row of its units, its first reading."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.intake.across import names_moments
from server.intake.header_rows import header_names
from server.intake.moments import ORDERS, read_clock, read_moment
from server.intake.rows import Cell, Row
from server.intake.understand.unit_words import read_unit
from server.intake.understand.words import knows_words
from server.intake.yearless import LEAP_YEAR, LONGEST_DATE, with_year

FURTHEST_HEADER = 80
"""Rows within which a table must begin."""
MOST_HEADER_ROWS = 5


@dataclass(frozen=True)
class Place:
    """Where the table lies, by positions among the rows (not by their numbers).

    Attributes
    ----------
    before
        Rows before the header.
    header
        Rows of the header, that of the units among them; 0 where there is none.
    between
        Rows between header and first reading that are no readings: limits, set-points, blank ones.
    names
        Header of each column, the rows of the header joined.
    """

    before: int
    header: int
    between: int
    names: tuple[str, ...]

    @property
    def first(self) -> int:
        """Position of the first reading."""
        return self.before + self.header + self.between

    def below(self, rows: int) -> "Place":
        """The same place with so many more rows before it."""
        return replace(self, before=self.before + rows)


@dataclass(frozen=True)
class _Kind:
    """What a row holds, by count of cells."""

    filled: int
    texts: int
    numbers: int
    dates: int
    units: int


def find_place(rows: Sequence[Row], *, at_top: bool = False) -> Place | None:
    """Where the table lies; None when no row looks like a reading. `at_top`: the header is the first of the rows."""
    kinds = [_kind(row.cells) for row in rows[: FURTHEST_HEADER + 20]]
    first = _first_reading(kinds)
    if first is None:
        return None
    top, bottom = _header_span(rows, kinds, first)
    first = next((place for place in range(bottom, first) if kinds[place].dates), first)  # a reading without numbers
    while bottom < first and names_moments(rows[bottom].cells):
        bottom += 1
    if at_top:
        top, bottom = 0, max(bottom, 1)
    names = header_names([row.cells for row in rows[top:bottom]]) if bottom > top else ()
    width = max(len(row.cells) for row in rows[first : first + 50])
    if not names:
        names = header_names([(None,) * width])
    return Place(top, bottom - top, first - bottom, names)


def _kind(cells: Sequence[Cell]) -> _Kind:
    filled = [cell for cell in cells if cell is not None]
    dates = sum(1 for cell in filled if _is_date(cell))
    numbers = sum(1 for cell in filled if not _is_date(cell) and _is_number(cell))
    units = sum(1 for cell in filled if isinstance(cell, str) and read_unit(cell) is not None)
    texts = sum(1 for cell in filled if isinstance(cell, str)) - numbers - dates
    return _Kind(len(filled), max(texts, 0), numbers, dates, units)


def _is_date(cell: Cell) -> bool:
    if isinstance(cell, float):
        return False
    if isinstance(cell, str) and len(cell) > LONGEST_DATE:
        return False
    full = with_year(cell, LEAP_YEAR) or cell
    return any(read_moment(full, order) is not None for order in ORDERS)


def _is_number(cell: Cell) -> bool:
    if isinstance(cell, float):
        return True
    if not isinstance(cell, str):
        return read_clock(cell) is not None
    digits = sum(sign.isdigit() for sign in cell)
    letters = sum(sign.isalpha() for sign in cell)
    return digits > 0 and digits >= letters and cell[0] in "+-−<>~.,0123456789"


def _first_reading(kinds: Sequence[_Kind]) -> int | None:
    """Position of the first row that looks like a reading, and is followed by one or is the last."""
    usual = sorted(kind.filled for kind in kinds if kind.filled > 1)
    least = max(2, usual[len(usual) // 2] // 3) if usual else 2
    for want_date in (True, False):
        for number, kind in enumerate(kinds[:FURTHEST_HEADER]):
            dated = kind.dates >= 1 or not want_date
            enough = kind.numbers >= 1 and kind.filled >= least and kind.numbers + kind.dates >= 2
            if dated and enough and (want_date or kind.numbers >= kind.texts):
                return number
    return None


def _header_span(rows: Sequence[Row], kinds: Sequence[_Kind], first: int) -> tuple[int, int]:
    """Positions of the first row of the header, and of the row after its last."""
    bottom = first
    while bottom > 0 and not _names(kinds[bottom - 1]):
        bottom -= 1
    if bottom == 0:
        return first, first
    top = bottom - 1
    while top > 0 and bottom - top < MOST_HEADER_ROWS and _belongs(rows[top - 1], kinds[top - 1], kinds[top]):
        top -= 1
    return top, bottom


def _names(kind: _Kind) -> bool:
    """Whether a row names columns (or their units)."""
    return kind.filled >= 2 and kind.dates == 0 and kind.texts > kind.numbers


def _belongs(row: Row, kind: _Kind, below: _Kind) -> bool:
    """Whether a row above a header is part of it: names above units, groups above names; titles are not."""
    if kind.filled == 0 or kind.dates or kind.numbers >= kind.texts:
        return False
    beyond_first = [cell for cell in row.cells[1:] if isinstance(cell, str)]
    units_above = kind.units >= 0.5 * kind.filled and kind.units > 1 and below.units == 0
    above_units = below.units >= 0.5 * below.filled and below.units > 1 and kind.filled >= 0.8 * below.filled
    if not any(knows_words(cell) for cell in beyond_first) and not units_above and not above_units:
        return False
    if below.units >= 0.5 * below.filled and kind.filled >= 2:
        return True
    return kind.filled >= 2 or len(beyond_first) == kind.filled
