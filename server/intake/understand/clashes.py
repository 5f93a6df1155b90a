"""Rows that say the same time and other values, again and again: then the table holds more than was understood."""

from collections.abc import Sequence

from analytics.quantities import QUANTITIES
from server.intake.header_rows import cell_text, line_name
from server.intake.numerals import is_no_value
from server.intake.rows import Cell, Row, cell_at
from server.intake.understand.choose import Table
from server.intake.understand.understanding import FoundColumn, TableLayout, TimeRule

FEWEST, SHARE = 2, 0.3
"""Times that come again with other values, and their share of all times, from which on a person is asked: fewer are
slips, or the hour that a clock repeats; common practice, no source."""
MOST_OTHERS = 5
"""Rows of one time, beside the first, that are no slip whatever the number of times; common practice, no source."""


def find_clash(table: Table, layout: TableLayout, times: TimeRule, columns: Sequence[FoundColumn]) -> str:
    """The question about a table whose times come again with other values; "" where hardly any does.

    Where the date itself is made whole from something else (a month, a year, a day that was said once), times that look
    alike need not be.
    """
    if layout.long or layout.parts or times.half_missing or times.month or times.year or times.day_alone:
        return ""
    names = table.place.names
    used = [names.index(c.name) for c in columns if c.meaning in QUANTITIES and c.name in names]
    first: dict[tuple[Cell, ...], tuple[Row, tuple[Cell, ...]]] = {}
    again: dict[tuple[Cell, ...], tuple[int, int]] = {}
    others = 0
    for key, row in _keyed(table, layout, times):
        values = tuple(None if is_no_value(cell) else cell for cell in (cell_at(row, n) for n in used))
        before, earlier = first.setdefault(key, (row, values))
        if any(a is not None and b is not None and a != b for a, b in zip(values, earlier, strict=True)):
            again.setdefault(key, (before.number, row.number))
            others += 1
    many = len(again) >= FEWEST and len(again) >= SHARE * len(first)
    if not many and not (again and others >= max(MOST_OTHERS, SHARE * len(table.rows))):
        return ""
    one, other = (line_name(number, sideways=table.sideways) for number in next(iter(again.values())))
    return (
        f"Why do {len(again)} of {len(first)} times come more than once, with other values ({one} and {other})? The "
        "table may hold several trains, stages or places of sampling, or leave out a part of the time. As it stands, "
        "the first of each is taken, and the others are shown for a decision."
    )


def _keyed(table: Table, layout: TableLayout, times: TimeRule) -> list[tuple[tuple[Cell, ...], Row]]:
    """Rows of this train with all that says when; a date that is left out is that above."""
    names = table.place.names
    said = (times.column, times.clock, times.half, times.minute, times.month_column, times.year_column)
    places = [names.index(name) for name in said if name in names]
    only = (names.index(layout.only[0]), layout.only[1]) if layout.only and layout.only[0] in names else None
    keyed = []
    date: Cell = None
    for row in table.rows:
        key = [cell_at(row, place) for place in places]
        if times.carried and key[0] is None:
            key[0] = date
        date = key[0]
        ours = only is None or not only[1] or cell_text(cell_at(row, only[0])) == only[1]
        if key[0] is not None and ours:
            keyed.append((tuple(key), row))
    return keyed
