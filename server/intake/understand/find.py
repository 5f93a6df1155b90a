"""Understand a file: where its table lies, how it is written, what its columns are. Nothing is stored, nothing decided
that a person could not correct.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.errors import FileProblem
from server.intake.header_rows import NAMELESS, cell_text
from server.intake.numerals import Marks, is_no_value
from server.intake.rows import Cell, Row
from server.intake.understand.columns import find_columns, own_number
from server.intake.understand.facets import facets_of
from server.intake.understand.long_tables import find_long, tags_of
from server.intake.understand.marks import FoundMarks, find_marks
from server.intake.understand.place import Place
from server.intake.understand.sample import FileSample, SheetSample, sample_file
from server.intake.understand.states import state_of, state_words
from server.intake.understand.understanding import (
    REMARK,
    STATE,
    Choices,
    FoundColumn,
    Known,
    LongLayout,
    TableLayout,
    TimeRule,
    Understanding,
)
from server.intake.understand.when import find_times
from server.intake.understand.words import facet_of, words_of

EXPECTED = "a row of headers, and below it rows with a date or time and numbers"
NO_CHOICES = Choices()
TRAIN_WORDS = frozenset(("train", "skid", "unit", "ro", "line", "rack", "anlage", "strasse"))
NUMBER_WORDS = frozenset(("no", "id", "name", "number", "nr", "osmosis"))


@dataclass(frozen=True)
class _Table:
    """The table that was chosen: its sheets, headers and readings (of the first of the sheets)."""

    sheets: tuple[str, ...]
    place: Place
    rows: tuple[Row, ...]
    titles: tuple[Cell, ...]
    sideways: bool


def understand(content: bytes, *, file: str, known: Known, choices: Choices = NO_CHOICES) -> Understanding:
    """Find out what a file says.

    Raises
    ------
    FileProblem
        When it holds no table of readings, or is no file that can be read.
    """
    sample = sample_file(content, file, choices.header_row)
    table = _choose(sample, file, choices, known)
    delimiter = sample.decoding.delimiter
    titles = (*table.titles, *table.sheets, file)
    times = find_times(table.rows, table.place.names, titles, known, choices.time)
    if times is None:
        raise _no_times(file, table)
    cells = _columns(table, times)
    marks = _marks(cells, delimiter, choices)
    long = find_long(cells, marks.marks)
    only = None if long else _only(cells, known)
    columns, states = _meanings(cells, long, known, marks.marks, only)
    if marks.doubtful:  # whether a value can be true is to be asked when it is known how to read it
        columns = tuple(replace(column, doubt=None) for column in columns)
    layout = TableLayout(
        encoding=sample.decoding.encoding if delimiter else "",
        encoding_reason=sample.encoding_reason,
        delimiter=delimiter,
        sheets=table.sheets,
        all_sheets=tuple(sheet.name for sheet in sample.sheets if sheet.name),
        marks=marks.marks,
        marks_reason=marks.reason,
        marks_doubtful=marks.doubtful,
        skip_rows=table.place.before,
        header_rows=table.place.header,
        skip_below=table.place.between,
        long=long,
        sideways=table.sideways,
        only=only,
    )
    notes = _notes(sample, table, layout, times)
    return Understanding(file, layout, table.place.names, times, columns, states, notes)


def _choose(sample: FileSample, file: str, choices: Choices, known: Known) -> _Table:
    """The sheet whose table knows most columns and has most readings, and those that are made alike."""
    sheets = [sheet for sheet in sample.sheets if sheet.place is not None]
    if choices.sheets:
        sheets = [sheet for sheet in sheets if sheet.name in choices.sheets]
    if not sheets:
        raise FileProblem(file, "holds no table of readings", expected=EXPECTED)
    sheets = _of_this_train(sheets, known)
    best = max(sheets, key=_worth)
    owner = _owner(best)
    alike = [sheet for sheet in sheets if _alike(sheet, best) and _owner(sheet) == owner]
    place = best.place or Place(0, 0, 0, ())  # there is one, by the choice above
    titles = tuple(cell for row in best.rows[: place.before] for cell in row.cells if cell is not None)
    rows = tuple(row for sheet in alike for row in sheet.rows[place.first :] if any(c is not None for c in row.cells))
    return _Table(tuple(sheet.name for sheet in alike if sheet.name), place, rows, titles, best.sideways)


def _owner(sheet: SheetSample) -> str:
    return facets_of(f"{sheet.name} x").owner


def _of_this_train(sheets: list[SheetSample], known: Known) -> list[SheetSample]:
    """Where sheets are called after trains, that of this one."""
    owners = {owner for sheet in sheets if (owner := _owner(sheet))}
    ours = own_number(known.train, owners)
    kept = [sheet for sheet in sheets if _owner(sheet) == ours] if len(owners) > 1 and ours else []
    return kept or sheets


def _worth(sheet: SheetSample) -> tuple[int, int]:
    names = sheet.place.names if sheet.place else ()
    known = sum(any(facet_of(word) for word in words_of(name)) for name in names)
    return known, len(sheet.rows)


def _alike(sheet: SheetSample, best: SheetSample) -> bool:
    if sheet.place is None or best.place is None:
        return False
    if sheet.sideways != best.sideways:
        return False
    same = (sheet.place.before, sheet.place.header) == (best.place.before, best.place.header)
    return same and [name.lower() for name in sheet.place.names] == [name.lower() for name in best.place.names]


def _no_times(file: str, table: _Table) -> FileProblem:
    listed = ", ".join(f'"{name}"' for name in table.place.names[:12])
    sheet = f'{file}, sheet "{table.sheets[0]}"' if table.sheets else file
    row = table.rows[0].number if table.rows else None
    return FileProblem(sheet, f"has no column of dates or times among {listed}", row=row, expected=EXPECTED)


def _columns(table: _Table, times: TimeRule) -> dict[str, list[Cell]]:
    columns = {}
    headers = {name.lower() for name in table.place.names}
    for number, name in enumerate(table.place.names):
        if name not in (times.column, times.clock):
            cells = [row.cells[number] if number < len(row.cells) else None for row in table.rows]
            columns[name] = [cell for cell in cells if not (isinstance(cell, str) and cell.lower() in headers)]
    return {name: cells for name, cells in columns.items() if any(cells) or not name.startswith(NAMELESS)}


def _marks(cells: dict[str, list[Cell]], delimiter: str, choices: Choices) -> FoundMarks:
    found = find_marks(list(cells.values()), delimiter)
    if not choices.decimal:
        return found
    other = {".": ",", ",": "."}.get(choices.decimal, "")
    used = (
        any(other in cell for column in cells.values() for cell in column if isinstance(cell, str)) if other else False
    )
    return FoundMarks(Marks(choices.decimal, other if used else ""), "you said so")


def _meanings(
    cells: dict[str, list[Cell]], long: LongLayout | None, known: Known, marks: Marks, only: tuple[str, str] | None
) -> tuple[tuple[FoundColumn, ...], dict[str, str]]:
    """What each column (or tag) is, and what the words of the state mean."""
    if long is not None:
        by_tag: dict[str, list[Cell]] = {tag: [] for tag in tags_of(cells[long.tag])}
        units: dict[str, str] = {}
        for position, tag in enumerate(cells[long.tag]):
            if tag is not None and position < len(cells[long.value]):
                by_tag[str(tag)].append(cells[long.value][position])
                if long.unit and cells[long.unit][position]:
                    units.setdefault(str(tag), str(cells[long.unit][position]))
        cells = by_tag
    else:
        units = {}
    if only is not None:
        cells = {name: column for name, column in cells.items() if name != only[0]}
    found = find_columns(cells, known, marks, units)
    state = next((column.name for column in found if column.meaning == STATE), "")
    texts = [cell_text(cell) for cell in cells.get(state, ()) if not is_no_value(cell) or state_of(cell_text(cell))]
    states = state_words(texts)
    if state and not states:
        found = tuple(_as_remark(column) if column.name == state else column for column in found)
    return found, states


def _as_remark(column: FoundColumn) -> FoundColumn:
    return replace(column, meaning=REMARK, confidence="guess", reason="it holds too many different words for a state")


def _only(cells: dict[str, Sequence[Cell]] | dict[str, list[Cell]], known: Known) -> tuple[str, str] | None:
    """A column that names the train of each row, and the value of this train."""
    for name, column in cells.items():
        values = {cell_text(cell) for cell in column if cell is not None}
        owners = {facets_of(f"{value} x").owner or value.lower() for value in values}
        words = set(words_of(name))
        if 2 <= len(values) <= 20 and words & TRAIN_WORDS and words <= TRAIN_WORDS | NUMBER_WORDS:
            ours = own_number(known.train, owners)
            match = [v for v in values if ours and (facets_of(f"{v} x").owner or v.lower()) == ours]
            exact = [v for v in values if v.casefold() == known.train.casefold()]
            chosen = exact or match
            return (name, chosen[0]) if len(chosen) == 1 else (name, "")
    return None


def _notes(sample: FileSample, table: _Table, layout: TableLayout, times: TimeRule) -> tuple[str, ...]:
    notes = []
    if layout.sideways:
        notes.append("Dates stand across the top: columns are read as rows.")
    if layout.skip_rows:
        notes.append(f"{_rows(layout.skip_rows)} before the header: titles, left out.")
    if layout.header_rows > 1:
        notes.append(f"The header has {layout.header_rows} rows; they are read together.")
    if layout.header_rows == 0:
        notes.append("There is no header; the columns are called by their letters.")
    if layout.skip_below:
        notes.append(f"{_rows(layout.skip_below)} between the header and the first reading, left out.")
    if len(table.sheets) > 1:
        notes.append(f"{len(table.sheets)} sheets are made alike and are read one after the other.")
    others = [name for name in layout.all_sheets if name not in table.sheets]
    if others:
        notes.append(f"Sheets that are not read: {', '.join(others)}.")
    if times.carried:
        notes.append(f'"{times.column}" is given once a day; rows without it belong to the date above.')
    if layout.only and layout.only[1]:
        notes.append(f'Only rows where "{layout.only[0]}" says "{layout.only[1]}" are read.')
    return tuple(notes)


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"
