"""Tables in parts that belong side by side: sheets, rows or columns that hold other quantities of the same times.

A sheet for each stage, a row for each point of sampling, a column of times before each value: each part becomes columns
of one wide table, called after the part, and the rows of one time become one reading later.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from server.intake.header_rows import cell_text, header_names
from server.intake.rows import ROWS_PER_SHEET, Cell, Row, cell_at
from server.intake.understand.words import facet_of, words_of

SHEETS, TIMES = "sheets", "times"
"""What divides the parts, beside the name of a column."""
_OF_TIMES = frozenset(("date", "time", "shift", "month", "year"))
_AGAIN = re.compile(r" \(\d+\)$")


@dataclass(frozen=True)
class Part:
    """One part: what it is called ("" for nothing), the names of its columns, its rows."""

    label: str
    names: tuple[str, ...]
    rows: tuple[Row, ...]


def side_by_side(parts: Sequence[Part]) -> tuple[tuple[str, ...], tuple[Row, ...]]:
    """Names and rows of the wide table: the columns of times that all parts have, then those of each part.

    Examples
    --------
    >>> one = Part("Stage 1", ("Date", "Feed bar"), (Row(2, ("1.5.", "12")),))
    >>> two = Part("Stage 2", ("Date", "Feed bar"), (Row(2, ("1.5.", "11")),))
    >>> names, rows = side_by_side([one, two])
    >>> names, [row.cells for row in rows]
    (('Date', 'Stage 1 Feed bar', 'Stage 2 Feed bar'), [('1.5.', '12', None), ('1.5.', None, '11')])
    """
    shared = [name for name in parts[0].names if _says_when(name) and all(name in part.names for part in parts)]
    names = [*shared]
    wide: list[Row] = []
    for part in parts:
        own = [number for number, name in enumerate(part.names) if name not in shared]
        places = [part.names.index(name) for name in shared]
        before = len(names) - len(shared)
        names += [f"{part.label} {part.names[number]}".strip() for number in own]
        for row in part.rows:
            cells = (*(cell_at(row, n) for n in places), *[None] * before, *(cell_at(row, n) for n in own))
            wide.append(Row(row.number, cells))
    width = len(names)
    return tuple(names), tuple(Row(row.number, (*row.cells, *[None] * (width - len(row.cells)))) for row in wide)


def _says_when(name: str) -> bool:
    facets = [facet for word in words_of(name) if (facet := facet_of(word)) is not None]
    return any(kind == "measure" and what in _OF_TIMES for kind, what in facets)


def parts_of_sheets(rows: Iterable[Row], sheets: Sequence[str], skip: int, header: int, below: int) -> list[Part]:
    """Each sheet a part, called after it; a file without sheets is one part without a name."""
    parts = []
    for sheet, group in groupby(rows, key=lambda row: row.number // ROWS_PER_SHEET):
        kept = list(group)
        names = header_names([row.cells for row in kept[skip : skip + header]])
        label = sheets[sheet] if sheet < len(sheets) else ""
        parts.append(Part(label, names, tuple(kept[skip + header + below :])))
    return parts


def part_label(column: str, value: str) -> str:
    """What the rows of one value of a column are called: a number alone says nothing without the name of its column.

    Examples
    --------
    >>> part_label("Stage", "2"), part_label("Sample point", "RO feed")
    ('Stage 2', 'RO feed')
    """
    return value if any(sign.isalpha() for sign in value) else f"{column} {value}"


def parts_of_rows(names: Sequence[str], rows: Iterable[Row], column: str) -> list[Part]:
    """The rows of each value of a column a part, called after it; rows without a value belong to none."""
    place = names.index(column)
    others = tuple(name for name in names if name != column)
    by_label: dict[str, list[Row]] = {}
    for row in rows:
        if value := cell_text(cell_at(row, place)):
            label = part_label(column, value)
            by_label.setdefault(label, []).append(Row(row.number, (*row.cells[:place], *row.cells[place + 1 :])))
    return [Part(label, others, tuple(kept)) for label, kept in by_label.items()]


def parts_of_times(names: Sequence[str], rows: Iterable[Row]) -> list[Part]:
    """Each column of times with the columns up to the next a part without a name of its own."""
    first = next(name for name in names if names_times_again(names, name))
    starts = [number for number, name in enumerate(names) if _AGAIN.sub("", name) == first]
    bounds = [*starts, len(names)]
    kept = list(rows)
    return [
        Part("", (first, *names[start + 1 : end]), tuple(Row(row.number, row.cells[start:end]) for row in kept))
        for start, end in pairwise(bounds)
    ]


def names_times_again(names: Sequence[str], name: str) -> bool:
    """Whether a name says when, and comes again."""
    return _says_when(name) and f"{name} (2)" in names


def in_parts(rows: Iterable[Row], by: str, sheets: Sequence[str], layout: tuple[int, int, int]) -> Iterator[Row]:
    """The wide table of a file in parts, its names in the first row; `layout` counts rows above, of, below a header.

    Of a file without such parts there are the names alone, by which it is told what the mapping misses.
    """
    skip, header, below = layout
    kept = list(rows)
    names = header_names([row.cells for row in kept[skip : skip + header]])
    readings = kept[skip + header + below :]
    parts: list[Part] = []
    if by == SHEETS:
        parts = parts_of_sheets(kept, sheets, skip, header, below)
    elif by == TIMES and any(names_times_again(names, name) for name in names):
        parts = parts_of_times(names, readings)
    elif by in names:
        parts = parts_of_rows(names, readings, by)
    if not parts:
        yield Row(1, names)
        return
    wide, readings_of_all = side_by_side(parts)
    header_cells: tuple[Cell, ...] = wide
    yield Row(1, header_cells)
    yield from readings_of_all
