"""Whether a table comes in parts that belong side by side: a sheet for each stage, a row for each point of sampling."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.intake.header_rows import cell_text
from server.intake.numerals import Marks, read_number
from server.intake.parts import (
    SHEETS,
    TIMES,
    Part,
    names_times_again,
    part_label,
    parts_of_rows,
    parts_of_times,
    side_by_side,
)
from server.intake.rows import Row, cell_at
from server.intake.understand.choose import Table
from server.intake.understand.facets import UNIT_OF_MEASURE, facets_of
from server.intake.understand.sample import FileSample, SheetSample
from server.intake.understand.trains import owner_of
from server.intake.understand.understanding import Choices
from server.intake.yearless import is_date

MOST_PARTS = 12
_WATERS = frozenset(("feed", "permeate", "concentrate", "raw", "recycle"))
_EITHER = Marks(".,")


@dataclass(frozen=True)
class InParts:
    """A table made wide, and what divides its parts ("" where it has none)."""

    table: Table
    by: str


def in_parts_of(sample: FileSample, table: Table, choices: Choices) -> InParts:
    """The table, its parts side by side where it comes in parts."""
    sheets = [] if choices.sheets else _sheets(sample.sheets)
    if len(sheets) > 1 and table.best in sheets:
        place = table.place
        parts = [
            Part(sheet.name, sheet.place.names, sheet.rows[place.first :])
            for sheet in sheets
            if sheet.place is not None
        ]
        return _wide(table, parts, SHEETS, sheets)
    if (
        table.sideways
        or len(table.sheets) > 1
        or table.best.dates_above
        or table.best.trains_above
        or table.best.across
        or table.trains
    ):
        return InParts(table, "")
    names = table.place.names
    if _times_differ(table):
        return _wide(table, parts_of_times(names, table.rows), TIMES)
    column = next((name for name in names if _divides(name, table)), "")
    return _wide(table, parts_of_rows(names, table.rows, column), column) if column else InParts(table, "")


def _wide(table: Table, parts: Sequence[Part], by: str, sheets: Sequence[SheetSample] = ()) -> InParts:
    names, rows = side_by_side(parts)
    place = replace(table.place, names=names)
    listed = tuple(sheet.name for sheet in sheets) if by == SHEETS else table.sheets
    of = tuple(0 for _ in rows)
    return InParts(replace(table, place=place, rows=rows, sheets=listed, sheet_of=of), by)


def _sheets(sheets: Sequence[SheetSample]) -> list[SheetSample]:
    """Sheets that are called after waters, stages or what is measured, each after another, and begin alike."""
    told = [sheet for sheet in sheets if sheet.place is not None and _tells(sheet.name)]
    plain = [sheet for sheet in told if not (sheet.sideways or sheet.dates_above or sheet.trains_above or sheet.across)]
    begin = {(s.place.before, s.place.header, s.place.between) for s in plain if s.place is not None}
    headed = all(header > 0 for _, header, _ in begin)
    different = len({_tells(sheet.name) for sheet in plain}) == len(plain)
    return plain if different and len(begin) == 1 and 1 < len(plain) <= MOST_PARTS and headed else []


def _tells(name: str) -> tuple[object, ...]:
    """What a name says of a part: waters, stage, what is measured; empty where nothing, or a train."""
    facets = facets_of(name)
    measure = facets.measure if facets.measure in UNIT_OF_MEASURE and not facets.tagged else ""
    waters = facets.places & _WATERS
    return (waters, facets.stage, measure) if (waters or facets.stage or measure) and not owner_of(name) else ()


def _divides(name: str, table: Table) -> bool:
    """Whether a column names the part of each row, while the other columns do not say of which water they are."""
    number = table.place.names.index(name)
    labels = [cell_text(cell_at(row, number)) for row in table.rows]
    different = [label for label in dict.fromkeys(labels) if label]
    if not 1 <= len(different) <= MOST_PARTS or len(labels) < 2 * len(different):
        return False
    told = [_tells(part_label(name, label)) for label in different]
    if not all(tells and not tells[2] for tells in told) or len(set(told)) < len(told):
        return False
    measured = [
        other
        for n, other in enumerate(table.place.names)
        if n != number and facets_of(other).measure in UNIT_OF_MEASURE and _holds_numbers(table.rows, n)
    ]
    waters = any(tells[0] for tells in told)
    return bool(measured) and not any(tells[0 if waters else 1] for other in measured if (tells := _tells(other)))


def _holds_numbers(rows: Sequence[Row], number: int) -> bool:
    cells = [cell for row in rows if (cell := cell_at(row, number)) is not None]
    return sum(read_number(cell, _EITHER) is not None for cell in cells) > 0.5 * len(cells)


def _times_differ(table: Table) -> bool:
    """Whether each value has a column of times before it, and they are not the same all the way down."""
    names = table.place.names
    first = next((name for name in names if names_times_again(names, name)), "")
    if not first:
        return False
    places = [n for n, name in enumerate(names) if name == first or name.startswith(f"{first} (")]
    apart = all(
        after - before > 1 for before, after in zip([*places, len(names)], [*places[1:], len(names) + 2], strict=False)
    )
    dated = all(any(is_date(cell_at(row, n)) for row in table.rows) for n in places)
    return apart and dated and any(len({cell_at(row, n) for n in places} - {None}) > 1 for row in table.rows)
