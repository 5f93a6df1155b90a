"""Understand a file: where its table lies, how it is written, what its columns are. Nothing is stored, nothing decided
that a person could not correct.
"""

from dataclasses import dataclass, replace

from server.errors import FileProblem
from server.intake.dates_above import date_heading
from server.intake.header_rows import NAMELESS, cell_text
from server.intake.numerals import Marks, is_no_value
from server.intake.qualities import find_qualities
from server.intake.rows import Cell, Row
from server.intake.understand.columns import find_columns
from server.intake.understand.long_tables import find_long, tags_of
from server.intake.understand.marks import FoundMarks, find_marks
from server.intake.understand.place import Place
from server.intake.understand.sample import FileSample, SheetSample, sample_file
from server.intake.understand.states import state_of, state_words
from server.intake.understand.time_columns import ENOUGH, look_at
from server.intake.understand.trains import own_number, owner_of, rows_of_train, trains_named
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
from server.intake.understand.when import TimesTable, find_times
from server.intake.understand.words import facet_of, words_of

EXPECTED = "a row of headers, and below it rows with a date or time and numbers"
NO_CHOICES = Choices()


@dataclass(frozen=True)
class _Table:
    """The table that was chosen: its sheets, headers and readings (of the first of the sheets)."""

    sheets: tuple[str, ...]
    place: Place
    rows: tuple[Row, ...]
    titles: tuple[str, ...]
    sideways: bool
    sheet_of: tuple[int, ...]
    trains: tuple[str, ...]
    best: SheetSample


def understand(content: bytes, *, file: str, known: Known, choices: Choices = NO_CHOICES) -> Understanding:
    """Find out what a file says.

    Raises
    ------
    FileProblem
        When it holds no table of readings, or is no file that can be read.
    """
    sample = sample_file(content, file, choices.header_row, known.train)
    known = replace(known, train=choices.train or known.train)
    table = _choose(sample, file, choices, known)
    delimiter = sample.decoding.delimiter
    titles = (*table.titles, file)
    times = find_times(
        TimesTable(table.place.names, table.rows, titles, table.sheets, table.sheet_of, table.sideways),
        known,
        choices.time,
    )
    if times is None:
        raise _no_times(file, table)
    cells = _columns(table, times)
    marks = _marks(cells, delimiter, choices)
    long = find_long(cells, marks.marks)
    parts = (long.tag, long.value, long.unit, long.quality) if long else ()
    of_rows = rows_of_train({name: column for name, column in cells.items() if name not in parts}, known.train)
    only = of_rows and of_rows[:2]
    qualities = {} if long else find_qualities(cells, marks.marks)
    columns, states = _meanings(cells, long, known, marks.marks, only)
    columns = tuple(_with_quality(column, qualities) for column in columns)
    trains = table.trains or trains_named([column.name for column in columns], known.train)
    trains = trains or (of_rows[2] if of_rows and not of_rows[1] else ())
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
        qualities=qualities,
        dates_above=table.best.dates_above,
        across=bool(table.best.across),
        trains=trains,
    )
    notes = _notes(table, layout, times)
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
    above = (cell for row in best.rows[: place.before] for cell in row.cells)
    titles = tuple(cell_text(cell) for cell in (*best.titles, *above) if cell is not None)
    rows = [
        (n, row)
        for n, sheet in enumerate(alike)
        for row in sheet.rows[place.first :]
        if any(cell is not None for cell in row.cells)
        and not (best.dates_above and date_heading(Row(row.number, row.cells[1:])) is not None)
    ]
    return _Table(
        sheets=tuple(sheet.name for sheet in alike if sheet.name),
        place=place,
        rows=tuple(row for _, row in rows),
        titles=titles,
        sideways=best.sideways,
        sheet_of=tuple(n for n, _ in rows),
        trains=() if choices.sheets else trains_named([sheet.name for sheet in sheets], known.train, whole=True),
        best=best,
    )


def _owner(sheet: SheetSample) -> str:
    return owner_of(sheet.name)


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
    if (sheet.sideways, sheet.dates_above, sheet.across) != (best.sideways, best.dates_above, best.across):
        return False
    same = (sheet.place.before, sheet.place.header) == (best.place.before, best.place.header)
    return same and [name.lower() for name in sheet.place.names] == [name.lower() for name in best.place.names]


def _no_times(file: str, table: _Table) -> FileProblem:
    names = table.place.names
    listed = ", ".join(f'"{name}"' for name in names[:12])
    sheet = f'{file}, sheet "{table.sheets[0]}"' if table.sheets else file
    row = table.rows[0].number if table.rows and not table.sideways else None
    clock = next((column for column in look_at(names, table.rows) if column.clocks >= ENOUGH), None)
    if clock is not None:
        what = f'has times of day in "{names[clock.number]}", but no dates'
        expected = "a column of dates beside it, a date in a row above the readings, or sheets called after days"
        return FileProblem(sheet, what, row=row, expected=expected)
    return FileProblem(sheet, f"has no column of dates or times among {listed}", row=row, expected=EXPECTED)


def _columns(table: _Table, times: TimeRule) -> dict[str, list[Cell]]:
    columns = {}
    headers = {name.lower() for name in table.place.names}
    for number, name in enumerate(table.place.names):
        if name not in (times.column, times.clock, times.half, times.month_column, times.year_column):
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
                value, unit = cells[long.value][position], cells[long.unit][position] if long.unit else None
                usual = units.setdefault(str(tag), str(unit)) if unit else ""
                other = value is not None and unit is not None and str(unit) != usual
                by_tag[str(tag)].append(f"{cell_text(value)} {unit}" if other else value)
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


def _with_quality(column: FoundColumn, qualities: dict[str, str]) -> FoundColumn:
    """A column of qualities is left out, and says whose."""
    of = next((name for name, quality in qualities.items() if quality == column.name), "")
    reason = f'it says how good "{of}" is; values that are not good are left out'
    return replace(column, meaning="", unit="", confidence="sure", reason=reason, doubt=None) if of else column


def _as_remark(column: FoundColumn) -> FoundColumn:
    return replace(column, meaning=REMARK, confidence="guess", reason="it holds too many different words for a state")


def _notes(table: _Table, layout: TableLayout, times: TimeRule) -> tuple[str, ...]:
    return (*_notes_of_layout(table, layout), *_notes_of_times(layout, times))


def _notes_of_layout(table: _Table, layout: TableLayout) -> list[str]:
    notes = []
    if layout.sideways:
        notes.append("Dates stand across the top: each column of the file is a reading.")
    if layout.skip_rows:
        notes.append(f"{_rows(layout.skip_rows)} before the header: titles, left out.")
    if layout.header_rows > 1:
        notes.append(f"The header has {layout.header_rows} rows; they are read together.")
    if layout.header_rows == 0:
        notes.append("There is no header; the columns are called by their letters.")
    if layout.skip_below:
        notes.append(f"{_rows(layout.skip_below)} between the header and the first reading, left out.")
    if layout.dates_above:
        where = "in the names of the sheets" if len(table.sheets) > 1 else "above the readings"
        notes.append(f"Dates stand {where}, not beside them: each reading has the last date before it.")
    if table.best.across:
        listed = ", ".join(table.best.across)
        notes.append(f"Each row holds several readings beside each other ({listed}); each becomes one of its own.")
    if len(table.sheets) > 1:
        notes.append(f"{len(table.sheets)} sheets are made alike and are read one after the other.")
    others = [name for name in layout.all_sheets if name not in table.sheets]
    if others:
        notes.append(f"Sheets that are not read: {', '.join(others)}.")
    return notes


def _notes_of_times(layout: TableLayout, times: TimeRule) -> list[str]:
    notes = []
    if times.carried:
        notes.append(f'"{times.column}" is given once a day; rows without it belong to the date above.')
    if times.half_missing:
        notes.append(times.half_missing)
    if times.half:
        notes.append(f'"{times.half}" says whether "{times.clock}" is before noon or after.')
    if layout.only and layout.only[1]:
        notes.append(f'Only rows where "{layout.only[0]}" says "{layout.only[1]}" are read.')
    return notes


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"
