"""Tables that lie on their side: dates across the top, one row for each quantity. They are stood upright."""

import itertools
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from server.intake.date_parts import day_number
from server.intake.rows import ROWS_PER_SHEET, Cell, Row
from server.intake.understand.words import facet_of, knows_words, words_of
from server.intake.yearless import is_date

FURTHEST = 40
"""Rows within which the dates must stand."""
FEWEST_DATES = 2
FEWEST_DAYS = 5
"""Days alone in a row that make it one of dates; fewer numbers in a row could count anything."""
_TO_SEE = 200
"""Rows below the dates that are looked at."""


def is_sideways(rows: Sequence[Row]) -> bool:
    """Whether dates stand across the top, names of quantities before the rows below, and no date there."""
    place = _row_of_dates(rows)
    if place is None:
        return False
    below = [row for row in rows[place + 1 : place + _TO_SEE] if any(cell is not None for cell in row.cells)]
    labels = _first_date(rows[place])
    named = sum(any(isinstance(cell, str) and knows_words(cell) for cell in row.cells[:labels]) for row in below)
    dated = sum(any(is_date(cell) for cell in row.cells) for row in below)
    return named >= max(1, 0.5 * len(below)) and dated <= 0.1 * len(below)


def upright(rows: Iterable[Row]) -> Iterator[Row]:
    """Columns of each sheet as rows, numbered as the columns of the file; titles above the dates are left out."""
    for sheet, group in groupby(rows, key=lambda row: row.number // ROWS_PER_SHEET):
        kept = _named(list(group))
        width = max((len(row) for row in kept), default=0)
        for column in range(width):
            cells = tuple(row[column] if column < len(row) else None for row in kept)
            yield Row(sheet * ROWS_PER_SHEET + column + 1, cells)


def _named(rows: Sequence[Row]) -> list[tuple[Cell, ...]]:
    """Rows from the dates on; a heading of a group ("Stage 1") goes before the names below it."""
    place = _row_of_dates(rows)
    if place is None:
        return [row.cells for row in rows]
    above = [row.cells for row in rows[:place] if sum(cell is not None for cell in row.cells) > FEWEST_DATES]
    kept, heading, labels = [*above, rows[place].cells], "", _first_date(rows[place])
    for row in rows[place + 1 :]:
        filled = [cell for cell in row.cells if cell is not None]
        if len(filled) == 1 and isinstance(filled[0], str):
            heading = filled[0] if _names_a_group(filled[0]) else ""
        elif filled:
            label = next((n for n, cell in enumerate(row.cells[:labels]) if isinstance(cell, str)), None)
            cells = list(row.cells)
            if heading and label is not None:
                cells[label] = f"{heading} {cells[label]}"
            kept.append(tuple(cells))
    return kept


def _names_a_group(text: str) -> bool:
    facets = [facet for word in words_of(text) if (facet := facet_of(word)) is not None]
    return any(kind == "place" or name == "stage_word" for kind, name in facets)


def _row_of_dates(rows: Sequence[Row]) -> int | None:
    """Position of the first row that has names or nothing before its first date, and hardly anything else after it."""
    for place, row in enumerate(rows[:FURTHEST]):
        first = _first_date(row)
        filled = [cell for cell in row.cells[first:] if cell is not None]
        dates = sum(is_date(cell) for cell in filled)
        if first > 0 and ((dates >= FEWEST_DATES and dates >= 0.7 * len(filled)) or are_days(filled)):
            return place
    return None


def _first_date(row: Row) -> int:
    """Position of the first date of a row, or of the first of its days; 0 also where there is none."""
    dated = next((place for place, cell in enumerate(row.cells) if is_date(cell)), 0)
    if dated:
        return dated
    first = next((place for place, cell in enumerate(row.cells) if day_number(cell)), 0)
    return first if are_days([cell for cell in row.cells[first:] if cell is not None]) else 0


def are_days(cells: Sequence[Cell]) -> bool:
    """Whether cells are days of one month that follow each other, and nothing else."""
    days = [day_number(cell) for cell in cells]
    return len(days) >= FEWEST_DAYS and 0 not in days and all(b - a == 1 for a, b in itertools.pairwise(days))


def titles_above(rows: Sequence[Row]) -> tuple[Cell, ...]:
    """Cells above the dates (and before the first of them), where a month or a year may be named."""
    place = _row_of_dates(rows)
    if place is None:
        return ()
    above = (cell for row in rows[:place] for cell in row.cells)
    return tuple(cell for cell in (*above, *rows[place].cells[: _first_date(rows[place])]) if cell is not None)
