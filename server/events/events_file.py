"""Read events files: CSV or XLSX with the columns `time,kind,stage,detail`."""

from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from analytics.events import KINDS, Event
from analytics.quantities import MAX_STAGES
from server.errors import FileProblem
from server.intake.headers import plain_name
from server.intake.sheet import Layout, Sheet, read_sheet
from server.intake.table import shortened
from server.intake.times import ISO_TIME, read_times

COLUMNS = ("time", "kind", "stage", "detail")
REQUIRED = ("time", "kind")


def read_events(
    source: Path | bytes, *, timezone: str, filename: str = "", stages: int = MAX_STAGES
) -> tuple[Event, ...]:
    """Read a file of events, in the order of time.

    Parameters
    ----------
    source
        Path of the file, or its bytes.
    timezone
        Clock of the site, for times without an offset.
    filename
        Name of the file, for messages.
    stages
        How many stages the train has.

    Raises
    ------
    FileProblem
        For the first cell that cannot be used.
    """
    content, file = (source, filename) if isinstance(source, bytes) else (_read(source), filename or source.name)
    sheet = read_sheet(content, file=file, layout=Layout(), text_columns=frozenset(), all_text=True)
    cells = _columns(sheet)
    cells = cells[cells.notna().any(axis=1)]
    if cells.empty:
        return ()
    times = read_times(cells["time"], ZoneInfo(timezone)).utc
    unread = np.flatnonzero(np.asarray(times.isna()))
    if len(unread):
        row, value = cells.index[unread[0]], cells["time"].iloc[unread[0]]
        _refuse(file, int(row), "time", value, "is not a time", ISO_TIME)
    events = [
        Event(
            time=time.to_pydatetime(),
            kind=_kind(file, int(row), cell["kind"]),
            stage=_stage(file, int(row), cell["stage"], stages),
            detail="" if pd.isna(cell["detail"]) else str(cell["detail"]).strip(),
        )
        for time, row, cell in zip(times, cells.index.to_list(), cells.to_dict("records"), strict=True)
    ]
    return tuple(sorted(events, key=lambda event: event.time))


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise FileProblem(str(path), f"cannot be read ({error.strerror})", expected="a file of events") from error


def _columns(sheet: Sheet) -> pd.DataFrame:
    numbers: dict[str, int] = {}
    for number, text in enumerate(sheet.headers):
        numbers.setdefault(plain_name(text), number)
    for name in REQUIRED:
        if name not in numbers:
            raise FileProblem(
                sheet.file, f'has no "{name}" column', row=sheet.header_row, expected=f"headers {','.join(COLUMNS)}"
            )
    return pd.DataFrame(
        {name: sheet.cells[numbers[name]] if name in numbers else None for name in COLUMNS},
        index=sheet.cells.index,
        dtype=object,
    )


def _kind(file: str, row: int, cell: Any) -> str:
    kind = "" if pd.isna(cell) else plain_name(str(cell)).replace("_", "-")
    if kind not in KINDS:
        _refuse(file, row, "kind", cell, "is not a kind of event", f"one of {', '.join(KINDS)}")
    return kind


def _stage(file: str, row: int, cell: Any, stages: int) -> int | None:
    if pd.isna(cell) or not str(cell).strip():
        return None
    try:
        number = float(str(cell))
    except ValueError:
        number = 0
    if number not in range(1, stages + 1):
        expected = "1, or nothing" if stages == 1 else f"1 to {stages}, or nothing for the whole train"
        _refuse(file, row, "stage", cell, "is not a stage of this train", expected)
    return int(number)


def _refuse(file: str, row: int, column: str, cell: Any, what: str, expected: str) -> None:
    empty = pd.isna(cell) or not str(cell).strip()
    complaint = "the cell is empty" if empty else f'"{shortened(str(cell))}" {what}'
    raise FileProblem(file, complaint, row=row, column=column, expected=expected)
