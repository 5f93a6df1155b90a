"""The one intake path: from the bytes of a log to readings in canonical units, with every doubt named."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.quantities import STATES
from analytics.units import to_canonical
from server.errors import FileProblem
from server.intake.headers import TIME, WORDS, Header, UnknownQuantity, WrongUnit, parse_header, plain_name
from server.intake.mapping import FileMapping
from server.intake.rows import place_of
from server.intake.sheet import Layout, Sheet, read_sheet
from server.intake.table import A_NUMBER, MOST_PROBLEMS, ReadingsTable, RowProblem, rows_of
from server.intake.times import EARLIEST, ISO_TIME, read_times
from server.intake.tolerant import read_tolerantly

BLANK_LINES = 1_000
"""Lines beyond the readings that a file may have before it is refused unread: header, preamble, blank ones."""
LATEST_WORD = "a time that is not in the future"


@dataclass
class _Findings:
    """Problems and notes, gathered on the way through one file."""

    problems: list[RowProblem] = field(default_factory=list)
    count: int = 0
    notes: list[str] = field(default_factory=list)
    rows: set[int] = field(default_factory=set)
    most: int = MOST_PROBLEMS

    def add(self, row: int, column: str, value: Any, what: str, expected: str) -> None:
        self.count += 1
        self.rows.add(int(row))
        self.problems.append(RowProblem(int(row), column, "" if value is None else str(value), what, expected))

    def add_cells(self, bad: "pd.Series[Any]", column: str, what: str, expected: str) -> None:
        for row, value in bad.iloc[: self.most].items():
            self.add(row, column, value, what, expected)  # type: ignore[arg-type]  # rows are whole numbers
        self.count += max(0, len(bad) - self.most)
        self.rows.update(int(row) for row in bad.index[self.most :])

    def rows_of(self, column: str) -> set[int]:
        """Rows with a problem in a column."""
        return {problem.row for problem in self.problems if problem.column == column}

    def first(self, sheets: tuple[str, ...], *, sideways: bool) -> tuple[RowProblem, ...]:
        first = sorted(self.problems, key=lambda problem: problem.row)[: self.most]
        places = [(problem, *place_of(problem.row, sheets)) for problem in first]
        return tuple(replace(problem, row=row, sheet=sheet, sideways=sideways) for problem, sheet, row in places)


@dataclass(frozen=True)
class _Plan:
    """Which column of the sheet is what, by its number."""

    time: int
    quantities: dict[int, Header]
    words: dict[int, str]
    unknown: tuple[str, ...]


def read_readings(
    source: Path | bytes,
    *,
    timezone: str,
    filename: str = "",
    mapping: FileMapping | None = None,
    latest: datetime | None = None,
    max_bytes: int | None = None,
    max_rows: int | None = None,
    most_problems: int = MOST_PROBLEMS,
    on_rows: Callable[[int], None] | None = None,
) -> ReadingsTable:
    """Read a log of readings.

    Parameters
    ----------
    source
        Path of a CSV or XLSX file, or its bytes.
    timezone
        Clock of the site, for times without an offset.
    filename
        Name of the file, for messages.
    mapping
        How to read a log that is not in the canonical layout.
    latest
        Later times are problems (a year typed wrong); without it, any time after 1970 passes.
    max_bytes, max_rows
        More than this is refused.
    most_problems
        So many are listed one by one.
    on_rows
        Told how many rows have been read, now and then; only where they are read one by one.

    Raises
    ------
    FileProblem
        When the file as a whole cannot be used. What is wrong with single cells stands in `problems` instead.
    """
    content = source if isinstance(source, bytes) else read_readings_file(source, max_bytes)
    file = filename if isinstance(source, bytes) else filename or source.name
    time_name = mapping.time_column if mapping else TIME
    words = frozenset({time_name, "Time", "TIME", *WORDS})
    if mapping:
        words |= {theirs for theirs, ours in mapping.columns.items() if ours in WORDS}
    _refuse_rows(file, content.count(b"\n") - BLANK_LINES, max_rows)  # before the work of reading them
    if mapping and mapping.tolerant:
        sheet = read_tolerantly(content, file, mapping, on_rows)
    else:
        sheet = read_sheet(content, file=file, layout=mapping.layout if mapping else Layout(), text_columns=words)
    _refuse_rows(file, len(sheet.cells), max_rows)
    findings = _Findings(notes=list(sheet.notes), most=most_problems)
    for problem in sheet.problems:
        findings.add(problem.row, problem.column, problem.value, problem.what, problem.expected)
    plan = _plan_by_mapping(sheet, mapping) if mapping else _plan(sheet, findings)
    return _assemble(sheet, plan, mapping, findings, ZoneInfo(timezone), latest)


def _refuse_rows(file: str, rows: int, max_rows: int | None) -> None:
    if max_rows is not None and rows > max_rows:
        raise FileProblem(file, f"has {rows} rows", expected=f"at most {max_rows}")


def read_readings_file(path: Path, max_bytes: int | None = None) -> bytes:
    """The bytes of a file of readings, unless there are more than `max_bytes`."""
    try:
        size = path.stat().st_size
        if max_bytes is not None and size > max_bytes:
            raise FileProblem(path.name, f"has {size} bytes", expected=f"at most {max_bytes}")
        return path.read_bytes()
    except OSError as error:
        raise FileProblem(str(path), f"cannot be read ({error.strerror})", expected="a file of readings") from error


def _plan(sheet: Sheet, findings: _Findings) -> _Plan:
    """Find out what each column of a file in the canonical layout is."""
    times, quantities, words, unknown = [], {}, {}, []
    row = sheet.header_row
    for number, text in enumerate(sheet.headers):
        name = plain_name(text)
        if name == TIME:
            times.append(number)
        elif name in WORDS:
            words[number] = name
        elif text:
            try:
                quantities[number] = parse_header(text)
            except UnknownQuantity as error:
                unknown.append(f"{text} ({error}?)" if str(error) else text)
            except WrongUnit as error:
                findings.add(row, text, None, "the unit does not fit", str(error))
    if not times:
        raise FileProblem(sheet.file, 'has no "time" column', row=row, expected='a header "time"')
    if len(times) > 1:
        raise FileProblem(sheet.file, 'has two "time" columns', row=row, expected="one")
    _note_twice(sheet, quantities, findings)
    if not quantities and not findings.count:
        known = ' such as "feed_pressure [bar]"'
        raise FileProblem(sheet.file, "has no column that names a known quantity", row=row, expected=f"headers{known}")
    return _Plan(times[0], quantities, words, tuple(unknown))


def _plan_by_mapping(sheet: Sheet, mapping: FileMapping) -> _Plan:
    numbers: dict[str, int] = {}
    for number, text in enumerate(sheet.headers):
        numbers.setdefault(text, number)
    for name in (mapping.time_column, *mapping.columns):
        if name not in numbers:
            raise FileProblem(
                sheet.file,
                f'has no column "{name}", which the mapping names',
                row=sheet.header_row,
                expected=f"one of: {', '.join(text for text in sheet.headers if text)}",
            )
    quantities = {numbers[theirs]: parse_header(ours) for theirs, ours in mapping.columns.items() if ours not in WORDS}
    words = {numbers[theirs]: ours for theirs, ours in mapping.columns.items() if ours in WORDS}
    used = {numbers[mapping.time_column], *quantities, *words}
    unknown = tuple(text for number, text in enumerate(sheet.headers) if text and number not in used)
    return _Plan(numbers[mapping.time_column], quantities, words, unknown)


def _note_twice(sheet: Sheet, quantities: dict[int, Header], findings: _Findings) -> None:
    seen: dict[str, str] = {}
    for number, header in quantities.items():
        name = header.quantity.name
        if name in seen:
            text = sheet.headers[number]
            findings.add(sheet.header_row, text, None, f'is {name} again, after "{seen[name]}"', "each quantity once")
        seen.setdefault(name, header.text)


def _assemble(
    sheet: Sheet,
    plan: _Plan,
    mapping: FileMapping | None,
    findings: _Findings,
    zone: ZoneInfo,
    latest: datetime | None,
) -> ReadingsTable:
    """The readings; each column of the sheet is let go once it is converted: a long log need not stand there twice."""
    filled = sheet.cells.notna().any(axis=1)
    cells = sheet.cells if filled.all() else sheet.cells.loc[filled]
    if cells.empty:
        raise FileProblem(sheet.file, "has a header but no readings")
    columns: dict[str, Any] = {}
    for number, header in plan.quantities.items():
        taken = cells.pop(number)  # type: ignore[arg-type]  # columns are called by their numbers
        found = _numbers(taken, sheet.headers[number], header, findings)
        columns.setdefault(header.quantity.column, found)
    for constant in mapping.constants if mapping else ():
        quantity = constant.header.quantity
        typed = constant.header.unit or quantity.unit
        value = float(to_canonical(constant.value, typed, quantity.unit))
        columns[quantity.column] = np.full(len(cells), value)
        findings.notes.append(
            f"{quantity.label}: {constant.value:g} {constant.header.unit}, a constant of the mapping."
        )
    for number, name in plan.words.items():
        columns[name] = _WORD_READERS[name](cells[number], sheet.headers[number], findings).array
    _note_units(plan, findings)
    utc = _times(cells[plan.time], sheet.headers[plan.time], mapping, zone, latest, findings)
    order = _order(utc)
    frame = pd.DataFrame(columns, index=pd.DatetimeIndex(utc, name="taken_at"), copy=False)
    frame = rows_of(frame, order)
    units = {h.quantity.column: h.unit or h.quantity.unit for h in plan.quantities.values()}
    return ReadingsTable(
        file=sheet.file,
        frame=frame,
        row_numbers=cells.index.to_numpy(dtype=np.int64)[order],
        units=units,
        unknown_columns=plan.unknown,
        problems=findings.first(sheet.sheets, sideways=sheet.sideways),
        problem_count=findings.count,
        notes=tuple(findings.notes),
        rows=len(cells),
        sheets=sheet.sheets,
        bad_rows=frozenset(findings.rows),
        can_leave_out=sheet.header_row not in findings.rows,
        sideways=sheet.sideways,
    )


def _order(utc: pd.DatetimeIndex) -> npt.NDArray[np.intp]:
    """Positions in order of time, those of one instant in the order of the file, those without a time left out."""
    values = utc.asi8
    known = np.flatnonzero(utc.notna())
    if len(known) and np.all(values[known][1:] >= values[known][:-1]):
        return known
    return known[np.argsort(values[known], kind="stable")]


def _numbers(cells: "pd.Series[Any]", text: str, header: Header, findings: _Findings) -> npt.NDArray[np.float64]:
    """A column in its canonical unit. Only one that is not all numbers is looked at cell by cell."""
    if cells.dtype.kind in "iuf":
        values = cells.to_numpy(dtype=np.float64)
    else:
        words = cells.where(cells.isna(), cells.astype("str").str.strip())
        values = pd.to_numeric(words, errors="coerce").to_numpy(dtype=np.float64, copy=True)
        findings.add_cells(cells[cells.notna() & np.isnan(values)], text, "is not a number", A_NUMBER)
    endless = np.isinf(values)
    if endless.any():
        findings.add_cells(cells[endless], text, "is not a finite number", A_NUMBER)
    quantity = header.quantity
    return to_canonical(values, header.unit or quantity.unit, quantity.unit)


def _states(cells: "pd.Series[Any]", text: str, findings: _Findings) -> "pd.Series[str]":
    states = cells.fillna("").astype("str").str.strip().str.lower()
    bad = ~states.isin(("", *STATES))
    findings.add_cells(cells[bad], text, "is not a state", f"one of {', '.join(STATES)}, or nothing")
    return states


def _remarks(cells: "pd.Series[Any]", _text: str, _findings: _Findings) -> "pd.Series[str]":
    return cells.fillna("").astype("str").str.strip()


_WORD_READERS: dict[str, Callable[["pd.Series[Any]", str, _Findings], "pd.Series[str]"]] = {
    "state": _states,
    "remark": _remarks,
}


def _times(
    cells: "pd.Series[Any]",
    text: str,
    mapping: FileMapping | None,
    zone: ZoneInfo,
    latest: datetime | None,
    findings: _Findings,
) -> pd.DatetimeIndex:
    time_format = mapping.time_format if mapping else ""
    found = read_times(cells, mapping.zone or zone if mapping else zone, time_format)
    findings.notes.extend(found.notes)
    expected = mapping.time_words if mapping else ISO_TIME
    told = (
        np.isin(cells.index, list(findings.rows_of(mapping.clock_column)))
        if mapping and mapping.clock_column
        else False
    )
    nothing = cells[np.asarray(cells.isna()) & ~np.asarray(told)]
    findings.add_cells(nothing.astype(object).fillna(""), text, "has no time", expected)
    findings.add_cells(cells[cells.notna().to_numpy() & np.asarray(found.utc.isna())], text, "is not a time", expected)
    findings.add_cells(cells[found.utc < EARLIEST], text, "lies before 1970", expected)
    if latest is not None:
        findings.add_cells(cells[found.utc > pd.Timestamp(latest)], text, "lies in the future", LATEST_WORD)
    return found.utc


def _note_units(plan: _Plan, findings: _Findings) -> None:
    untyped = [h for h in plan.quantities.values() if not h.unit and h.quantity.unit != "-"]
    if untyped:
        listed = ", ".join(f"{h.quantity.name} [{h.quantity.unit}]" for h in untyped)
        findings.notes.append(f"No unit is given for these, so the canonical one was taken: {listed}.")
