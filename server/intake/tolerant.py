"""Read a log as people keep it, by a mapping that says where what stands.

What is bent straight on the way is told in notes, with counts: units behind numbers, `<` and `>`, rows of sums, headers
that come again, rows without any value. What cannot be read stays as it is and becomes a problem of its cell.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from server.errors import FileProblem
from server.intake.across import find_across
from server.intake.date_parts import day_number
from server.intake.dates_above import DATE_ABOVE, date_heading, with_dates_above
from server.intake.header_rows import cell_text, header_names
from server.intake.headers import WORDS, parse_header
from server.intake.mapping import FileMapping
from server.intake.moments import ORDERS, read_moment
from server.intake.numerals import is_ditto, is_no_value
from server.intake.qualities import are_good
from server.intake.rows import Cell, Decoding, Row, cell_at, place_of, read_rows, sheet_names
from server.intake.sheet import Sheet
from server.intake.sideways import upright
from server.intake.tolerant_numbers import Numbers, Told
from server.intake.tolerant_times import When
from server.intake.understand.unit_words import read_unit
from server.intake.understand.words import knows_words

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
    table = _Table(file, mapping, rows)
    told = Told()
    cells = _long(table, told) if mapping.long else _wide(table, told)
    hidden = {*mapping.time_columns[1:], *mapping.only, *mapping.qualities.values()}
    headers = tuple("" if name in hidden else name for name in (table.tags or table.names))
    notes = (*([ON_ITS_SIDE] if layout.sideways else []), *told.notes(sheets, sideways=layout.sideways))
    return Sheet(file, headers, cells, sheets, notes, tuple(told.problems), layout.sideways)


def _told_rows(rows: Iterator[Row], on_rows: Callable[[int], None]) -> Iterator[Row]:
    for count, row in enumerate(rows, start=1):
        if count % TELL_EVERY == 0:
            on_rows(count)
        yield row


class _Table:
    """The header of a table, and then its readings one by one."""

    def __init__(self, file: str, mapping: FileMapping, rows: Iterator[Row]) -> None:
        self.file, self.mapping = file, mapping
        self.tags: tuple[str, ...] = ()
        layout = mapping.layout
        self._rows = rows
        self._above = layout.skip_rows + layout.header_rows + layout.skip_below
        head = [row for _, row in zip(range(self._above), rows, strict=False)]
        header = [row.cells for row in head[layout.skip_rows : layout.skip_rows + layout.header_rows]]
        self._first = next(rows, None)
        width = len(self._first.cells) if self._first else 0
        names = header_names(header) if header else header_names([(None,) * width])
        self.names = (DATE_ABOVE, *header_names([cells[1:] for cells in header])) if layout.dates_above else names
        self._across = find_across(self.names) if layout.across else None
        self._time = self.names.index(mapping.time_column) if mapping.time_column in self.names else -1
        if self._across is not None:
            self.names = self._across.names
        self.header_row = layout.skip_rows + max(layout.header_rows, 1)
        self._head = {tuple(cell_text(cell).lower() for cell in row if cell is not None) for row in header}

    def number(self, name: str) -> int:
        """Position of a column."""
        if name not in self.names:
            listed = ", ".join(name for name in self.names if name)
            what = f'has no column "{name}", which the mapping names'
            raise FileProblem(self.file, what, row=self.header_row, expected=f"one of: {listed}")
        return self.names.index(name)

    def readings(self, told: Told) -> Iterator[Row]:
        """Rows that hold anything and are no header, of the train that is meant."""
        only = {self.number(name): value for name, value in self.mapping.only.items()}
        rows = self._rows if self._first is None else (row for part in ([self._first], self._rows) for row in part)
        for row in rows:
            if place_of(row.number, ())[1] <= self._above or all(cell is None for cell in row.cells):
                continue
            if self._is_header(row):
                told.note("The header comes again and was left out", row.number)
                continue
            if self.mapping.layout.dates_above and date_heading(Row(row.number, row.cells[1:])) is not None:
                continue
            self._refuse_other_header(row)
            for part in [row] if self._across is None else self._across.apart([row]):
                if all(cell_text(cell_at(part, number)) == value for number, value in only.items()):
                    yield part

    def _refuse_other_header(self, row: Row) -> None:
        """Below another header each column may hold something else: nobody can leave out that row and go on."""
        name = cell_text(cell_at(row, self._time)).lower() if self._time >= 0 else ""
        texts = [cell for cell in row.cells if isinstance(cell, str)]
        named = len(texts) > 1 and name and any(name == cell for head in self._head for cell in head)
        if named and sum(knows_words(text) and not any(s.isdigit() for s in text) for text in texts) > 0.5 * len(texts):
            sheet, number = place_of(row.number, self.mapping.layout.sheets)
            where = f'{self.file}, sheet "{sheet}"' if sheet else self.file
            expected = f"the same columns as in row {self.header_row}, or each table in a file of its own"
            raise FileProblem(where, "begins a table with other columns", row=number, expected=expected)

    def _is_header(self, row: Row) -> bool:
        cells = row.cells[1:] if self.mapping.layout.dates_above else row.cells
        filled = tuple(cell_text(cell).lower() for cell in cells if cell is not None)
        return len(filled) > 1 and filled in self._head


def _wide(table: _Table, told: Told) -> pd.DataFrame:
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
            cells = _good([cell_at(row, table.number(quality)) for row in kept], quality, cells, index, told)
        columns[number] = _column(cells, index, table.names[number], ours, mapping, told)
    return pd.DataFrame(columns, index=pd.Index(index, dtype=np.int64))


def _without_surplus(row: Row, width: int, remark: int, table: _Table, told: Told) -> Row:
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


def _column(
    cells: Sequence[Cell], rows: Sequence[int], name: str, ours: str, mapping: FileMapping, told: Told
) -> list[Any] | npt.NDArray[np.float64]:
    if ours == "remark":
        return [None if cell is None else cell_text(cell) for cell in cells]
    if ours == "state":
        return [mapping.states.get(text, text) for text in (cell_text(cell) for cell in cells)]
    return Numbers(name, parse_header(ours), mapping, told).read(cells, rows)


def _long(table: _Table, told: Told) -> pd.DataFrame:
    """One row for each tag and time becomes one row for each time."""
    mapping = table.mapping
    if mapping.long is None:
        raise ValueError("the mapping is not one of a long table")
    when_is = When(table.mapping, table.number, told)
    tag, value = (table.number(name) for name in (mapping.long.tag, mapping.long.value))
    quality = table.number(mapping.long.quality) if mapping.long.quality else -1
    unit = table.number(mapping.long.unit) if mapping.long.unit else -1
    rows = [row for row in table.readings(told) if cell_at(row, tag) is not None]
    values = [cell_at(row, value) for row in rows]
    if quality >= 0:
        qualities = [cell_at(row, quality) for row in rows]
        values = _good(qualities, mapping.long.quality, values, [row.number for row in rows], told)
    texts = when_is.texts([cell_at(row, when_is.time) for row in rows], rows)
    texts = _together(texts, [cell_text(cell_at(row, tag)) for row in rows], rows, told)
    by_tag: dict[str, list[int]] = {}
    for position, row in enumerate(rows):
        by_tag.setdefault(cell_text(cell_at(row, tag)), []).append(position)
    _require_tags(table, by_tag)
    table.tags = (mapping.time_column, *by_tag)
    first: dict[str | None, int] = {}
    for position, text in enumerate(texts):
        first.setdefault(text, rows[position].number)
    frame: dict[int, Any] = {0: list(first)}
    order = {text: place for place, text in enumerate(first)}
    for number, (name, positions) in enumerate(by_tag.items(), start=1):
        if name in mapping.columns:
            usual = _unit_of(mapping.columns[name])
            cells = [_with_unit(values[p], cell_at(rows[p], unit), usual) for p in positions]
            numbers = [rows[p].number for p in positions]
            found = _column(cells, numbers, name, mapping.columns[name], mapping, told)
            frame[number] = _placed(found, [order[texts[p]] for p in positions], numbers, len(first), name, told)
    return pd.DataFrame(frame, index=pd.Index(list(first.values()), dtype=np.int64))


def _together(texts: list[str | None], tags: list[str], rows: list[Row], told: Told) -> list[str | None]:
    """Times to the minute, where tags were read some seconds apart and would otherwise never meet."""
    longest = max(Counter(tags).values(), default=0)
    minutes = [text and text[:16] + ":00" + text[19:] if text and len(text) > 16 else text for text in texts]
    apart, together = len(set(texts)), len(set(minutes))
    pairs = len(set(zip(minutes, tags, strict=True)))
    if apart < 1.5 * longest or together > 0.7 * apart or pairs < len(set(zip(texts, tags, strict=True))):
        return texts
    told.note("Tags that were read within one minute were taken together, from", rows[0].number)
    return minutes


def _require_tags(table: _Table, by_tag: Iterable[str]) -> None:
    for name in table.mapping.columns:
        if name not in by_tag:
            listed = ", ".join(list(by_tag)[:20])
            what = f'has no tag "{name}", which the mapping names'
            raise FileProblem(table.file, what, row=table.header_row, expected=f"one of: {listed}")


def _good(qualities: Sequence[Cell], name: str, values: Sequence[Cell], rows: Sequence[int], told: Told) -> list[Cell]:
    """The values whose quality is good; the others are told and left out."""
    good = are_good(qualities, name)
    for is_good, value, row in zip(good, values, rows, strict=True):
        if not is_good and value is not None:
            told.note("Values whose quality is not good were left out", row)
    return [value if is_good else None for is_good, value in zip(good, values, strict=True)]


def _unit_of(ours: str) -> str:
    if ours in WORDS:
        return ""
    header = parse_header(ours)
    return header.unit or header.quantity.unit


def _with_unit(cell: Cell, unit: Cell, usual: str) -> Cell:
    """A value with its unit behind it, where that is another than the usual one of its tag."""
    if cell is None or not isinstance(unit, str) or not usual or is_no_value(unit) or read_unit(unit) == usual:
        return cell
    return f"{cell_text(cell)} {unit}"


def _placed(
    found: Iterable[Any], places: Sequence[int], rows: Sequence[int], count: int, name: str, told: Told
) -> list[Any] | npt.NDArray[np.float64]:
    """Values at their times; another value of the same tag and time is a problem of its row."""
    column: list[Any] = [None] * count
    for cell, place, row in zip(found, places, rows, strict=True):
        missing = cell is None or (isinstance(cell, float) and np.isnan(cell))
        if missing:
            continue
        if column[place] is not None and column[place] != cell:
            told.problem(row, name, str(cell), "is a second value for the same tag and time", "one")
            continue
        column[place] = cell
    if all(value is None or isinstance(value, float) for value in column):
        return np.array([np.nan if value is None else value for value in column], dtype=np.float64)
    return column
