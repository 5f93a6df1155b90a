"""The one intake path: from the bytes of a log to readings in canonical units, with every doubt named."""

from collections.abc import Callable
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
from server.intake.findings import Findings
from server.intake.headers import TIME, WORDS, Header
from server.intake.mapping import FileMapping
from server.intake.plan import Plan, note_units, plan_by_mapping, plan_of
from server.intake.sheet import Layout, Sheet, read_sheet
from server.intake.table import A_NUMBER, MOST_PROBLEMS, ReadingsTable, rows_of
from server.intake.times import EARLIEST, ISO_TIME, read_times
from server.intake.tolerant import read_tolerantly

BLANK_LINES = 1_000
"""Lines beyond the readings that a file may have before it is refused unread: header, preamble, blank ones."""
LATEST_WORD = "a time that is not in the future"


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
    findings = Findings(notes=list(sheet.notes), most=most_problems)
    for problem in sheet.problems:
        findings.add(problem.row, problem.column, problem.value, problem.what, problem.expected)
    plan = plan_by_mapping(sheet, mapping) if mapping else plan_of(sheet, findings)
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


def _assemble(
    sheet: Sheet,
    plan: Plan,
    mapping: FileMapping | None,
    findings: Findings,
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
    note_units(plan, findings)
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


def _numbers(cells: "pd.Series[Any]", text: str, header: Header, findings: Findings) -> npt.NDArray[np.float64]:
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


def _states(cells: "pd.Series[Any]", text: str, findings: Findings) -> "pd.Series[str]":
    states = cells.fillna("").astype("str").str.strip().str.lower()
    bad = ~states.isin(("", *STATES))
    findings.add_cells(cells[bad], text, "is not a state", f"one of {', '.join(STATES)}, or nothing")
    return states


def _remarks(cells: "pd.Series[Any]", _text: str, _findings: Findings) -> "pd.Series[str]":
    return cells.fillna("").astype("str").str.strip()


_WORD_READERS: dict[str, Callable[["pd.Series[Any]", str, Findings], "pd.Series[str]"]] = {
    "state": _states,
    "remark": _remarks,
}


def _times(
    cells: "pd.Series[Any]",
    text: str,
    mapping: FileMapping | None,
    zone: ZoneInfo,
    latest: datetime | None,
    findings: Findings,
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
