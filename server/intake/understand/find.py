"""Understand a file: where its table lies, how it is written, what its columns are. Nothing is stored, nothing decided
that a person could not correct.
"""

from dataclasses import replace

from server.errors import FileProblem
from server.intake.header_rows import NAMELESS, cell_text
from server.intake.numerals import Marks, is_no_value
from server.intake.qualities import find_qualities
from server.intake.rows import Cell
from server.intake.understand.choose import EXPECTED, Table, choose_table
from server.intake.understand.clashes import find_clash
from server.intake.understand.columns import find_columns
from server.intake.understand.find_parts import InParts, in_parts_of
from server.intake.understand.long_tables import find_long, tags_of
from server.intake.understand.marks import FoundMarks, find_marks
from server.intake.understand.notes import notes_of
from server.intake.understand.sample import FileSample, sample_file
from server.intake.understand.states import state_of, state_words
from server.intake.understand.time_columns import ENOUGH, look_at
from server.intake.understand.trains import rows_of_train, trains_named
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

NO_CHOICES = Choices()


def understand(content: bytes, *, file: str, known: Known, choices: Choices = NO_CHOICES) -> Understanding:
    """Find out what a file says.

    Raises
    ------
    FileProblem
        When it holds no table of readings, or is no file that can be read.
    """
    sample = sample_file(content, file, choices.header_row, known.train)
    known = replace(known, train=choices.train or known.train)
    found = in_parts_of(sample, choose_table(sample, file, choices, known), choices)
    table = found.table
    times = _times(table, file, known, choices)
    cells = _columns(table, times)
    marks = _marks(cells, sample.decoding.delimiter, choices)
    long = None if found.by else find_long(cells, marks.marks)
    parts = (long.tag, long.value, long.unit, long.quality) if long else ()
    of_rows = rows_of_train({name: column for name, column in cells.items() if name not in parts}, known.train)
    only = of_rows and of_rows[:2]
    if long or found.by:  # several rows of one time are as they should be
        times = replace(times, half_missing="")
    qualities = {} if long else find_qualities(cells, marks.marks)
    columns, states = _meanings(cells, long, known, marks.marks, only)
    columns = tuple(_with_quality(column, qualities) for column in columns)
    trains = table.trains or trains_named([column.name for column in columns], known.train)
    trains = trains or (of_rows[2] if of_rows and not of_rows[1] else ())
    if marks.doubtful:  # whether a value can be true is to be asked when it is known how to read it
        columns = tuple(replace(column, doubt=None) for column in columns)
    layout = replace(_layout(sample, found, marks), long=long, only=only, qualities=qualities, trains=trains)
    notes = notes_of(table, layout, times)
    clash = "" if trains else find_clash(table, layout, times, columns)
    return Understanding(file, layout, table.place.names, times, columns, states, notes, clash)


def _times(table: Table, file: str, known: Known, choices: Choices) -> TimeRule:
    titles = (*table.titles, file)
    looked = TimesTable(table.place.names, table.rows, titles, table.sheets, table.sheet_of, table.sideways)
    times = find_times(looked, known, choices.time)
    if times is None:
        raise _no_times(file, table)
    return times


def _layout(sample: FileSample, found: InParts, marks: FoundMarks) -> TableLayout:
    """How the table lies in the file, but for what its columns say."""
    table, delimiter = found.table, sample.decoding.delimiter
    return TableLayout(
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
        sideways=table.sideways,
        dates_above=table.best.dates_above,
        trains_above=table.best.trains_above,
        across=bool(table.best.across),
        parts=found.by,
    )


def _no_times(file: str, table: Table) -> FileProblem:
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


def _columns(table: Table, times: TimeRule) -> dict[str, list[Cell]]:
    columns = {}
    headers = {name.lower() for name in table.place.names}
    for number, name in enumerate(table.place.names):
        if name not in (times.column, times.clock, times.half, times.month_column, times.year_column, times.minute):
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
