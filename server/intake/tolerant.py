"""Read a log as people keep it, by a mapping that says where what stands.

What is bent straight on the way is told in notes, with counts: units behind numbers, `<` and `>`, rows of sums, headers
that come again, rows without any value. What cannot be read stays as it is and becomes a problem of its cell.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
import pandas as pd

from server.intake.date_parts import day_number
from server.intake.dates_above import with_dates_above
from server.intake.header_rows import cell_text
from server.intake.headers import WORDS
from server.intake.mapping import FileMapping
from server.intake.moments import ORDERS, read_moment
from server.intake.numerals import is_ditto, is_no_value
from server.intake.parts import in_parts
from server.intake.rows import Cell, Decoding, Row, cell_at, read_rows, sheet_names
from server.intake.sheet import Sheet
from server.intake.sideways import upright
from server.intake.tolerant_columns import good_values, read_column
from server.intake.tolerant_long import placed, read_long
from server.intake.tolerant_numbers import Told
from server.intake.tolerant_table import Table
from server.intake.tolerant_times import When
from server.intake.trains_above import with_trains_above

ON_ITS_SIDE = "Dates stand across the top: each column of the file is a reading."
TELL_EVERY = 10_000
"""Rows after which it is told again how many have been read."""
SUMMARY_WORDS = (
    "total", "sum", "average", "avg", "mean", "min", "max", "minimum", "maximum", "summe", "mittel", "mittelwert",
    "gesamt", "moyenne", "somme", "promedio", "media", "suma", "std", "stdev", "count", "median", "durchschnitt",
    "grand total", "subtotal", "monthly", "limit", "limits", "target", "design", "unit", "units",
)  # fmt: skip
ANYWHERE = frozenset((
    "total", "subtotal", "sum", "average", "avg", "mean", "summe", "mittelwert", "gesamt", "moyenne", "somme",
    "promedio", "durchschnitt", "somma", "ø", "stdev", "median",
))  # fmt: skip
"""Words that make a row one of sums wherever they stand in its first cell: "Week 2 average"."""


def read_tolerantly(
    content: bytes, file: str, mapping: FileMapping, on_rows: Callable[[int], None] | None = None
) -> Sheet:
    """Read the columns that a mapping names; `on_rows` is told how many rows have been read, now and then.

    Raises
    ------
    FileProblem
        When the file is no table, or lacks a column that the mapping names.
    """
    layout = mapping.layout
    sheets = layout.sheets or ((layout.sheet,) if layout.sheet else sheet_names(content, file)[:1])
    encoding = "utf-8-sig" if layout.encoding in ("utf-8", "") else layout.encoding
    rows = read_rows(content, file, Decoding(encoding, layout.delimiter or ",", sheets))
    if on_rows is not None:
        rows = _told_rows(rows, on_rows)
    if layout.sideways:
        rows = upright(rows)
    if layout.dates_above:
        rows = with_dates_above(rows, sheets)
    if layout.trains_above:
        rows = with_trains_above(rows)
    if layout.parts:
        rows = in_parts(rows, layout.parts, sheets, (layout.skip_rows, layout.header_rows, layout.skip_below))
    table = Table(file, mapping, rows)
    told = Told()
    cells = read_long(table, told) if mapping.long else _wide(table, told)
    hidden = {*mapping.time_columns[1:], *mapping.only, *mapping.qualities.values()}
    headers = tuple("" if name in hidden else name for name in (table.tags or table.names))
    notes = (*([ON_ITS_SIDE] if layout.sideways else []), *told.notes(sheets, sideways=layout.sideways))
    return Sheet(file, headers, cells, sheets, notes, tuple(told.problems), layout.sideways)


def _told_rows(rows: Iterator[Row], on_rows: Callable[[int], None]) -> Iterator[Row]:
    for count, row in enumerate(rows, start=1):
        if count % TELL_EVERY == 0:
            on_rows(count)
        yield row


def _wide(table: Table, told: Told) -> pd.DataFrame:
    mapping, when_is = table.mapping, When(table.mapping, table.number, told)
    time = when_is.time
    used = {table.number(theirs): ours for theirs, ours in mapping.columns.items()}
    remark = next((number for number, ours in used.items() if ours == "remark"), -1)
    width = len(table.names)
    kept: list[Row] = []
    times: list[Cell] = []
    last: Cell = None
    for row in table.readings(told):
        row = _without_surplus(row, width, remark, table, told)
        when = cell_at(row, time)
        if is_ditto(when) or (mapping.carried and when is None and cell_at(row, when_is.clock) is not None):
            when = last
        if not _is_reading(row, when, [n for n, ours in used.items() if ours not in WORDS], told):
            continue
        last = when
        kept.append(row)
        times.append(when)
    index = [row.number for row in kept]
    columns: dict[int, Any] = {time: when_is.texts(times, kept)}
    for number, ours in used.items():
        cells = [cell_at(row, number) for row in kept]
        if quality := mapping.qualities.get(table.names[number]):
            cells = good_values([cell_at(row, table.number(quality)) for row in kept], quality, cells, index, told)
        columns[number] = read_column(cells, index, table.names[number], ours, mapping, told)
    if mapping.layout.parts:
        return _one_for_each_time(columns, time, index, table.names, told)
    return pd.DataFrame(columns, index=pd.Index(index, dtype=np.int64))


def _one_for_each_time(
    columns: dict[int, Any], time: int, rows: Sequence[int], names: Sequence[str], told: Told
) -> pd.DataFrame:
    """Rows of the same time as one; a row without a time stays its own, and becomes a problem."""
    places: dict[object, int] = {}
    keys = [row if text is None else text for text, row in zip(columns[time], rows, strict=True)]
    of = [places.setdefault(key, len(places)) for key in keys]
    first = dict(zip(reversed(of), reversed(rows), strict=True))
    merged = {number: placed(cells, of, rows, len(first), names[number], told) for number, cells in columns.items()}
    return pd.DataFrame(merged, index=pd.Index([first[place] for place in range(len(first))], dtype=np.int64))


def _without_surplus(row: Row, width: int, remark: int, table: Table, told: Told) -> Row:
    """A row that is longer than its header: commas of a remark at its end are put back, anything else is a problem."""
    surplus = [cell for cell in row.cells[width:] if cell is not None]
    if not surplus:
        return row
    if remark == width - 1:
        told.note("A remark with the sign between columns in it was put together again", row.number)
        text = f"{table.mapping.layout.delimiter or ','} ".join(cell_text(c) for c in row.cells[width - 1 :] if c)
        return Row(row.number, (*row.cells[: width - 1], text))
    expected = f"{width}, as many as the header has"
    told.problem(row.number, "", None, f"has {len(row.cells)} cells", expected)
    return Row(row.number, row.cells[:width])


def _is_reading(row: Row, when: Cell, used: Sequence[int], told: Told) -> bool:
    """Whether a row is a reading; those that are sums, footnotes or empty are told and left out."""
    has_values = any(not is_no_value(cell_at(row, number)) for number in used)
    first = next((cell for cell in row.cells if cell is not None), None)
    if _says_summary(when) or (when is None and _says_summary(first)):
        told.note("A row of sums, averages or limits was left out", row.number)
        return False
    if not has_values:
        only_text = not day_number(when) and all(read_moment(when, order) is None for order in ORDERS)
        told.note(
            "A row of text alone was left out" if only_text else "A row without any value was left out", row.number
        )
        return False
    return True


def _says_summary(cell: Cell) -> bool:
    if not isinstance(cell, str):
        return False
    words = [word.strip(":.()") for word in cell.lower().split()]
    return bool(words) and (words[0] in SUMMARY_WORDS or any(word in ANYWHERE for word in words))
