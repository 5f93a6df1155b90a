"""A long file read in parts says what it says when read as a whole, and is refused with the same words."""

import numpy as np
import pandas as pd
import pytest

from server.errors import FileProblem
from server.intake import long_csv, sheet
from server.intake.canonical import read_readings
from server.intake.table import ReadingsTable

HEADER = "time,feed_pressure [bar],feed_flow [gpm],state,keeper,feed_ph"
LINES = [
    f"2026-01-{day:02d} {hour:02d}:00,{12 + hour / 7:.4f},{170 + hour},{'running' * (hour == 3)},,{7 + hour / 100}"
    for day in range(1, 5)
    for hour in range(24)
]


def changed(**cells: str) -> bytes:
    """The file with other lines at some places: `line_40="…"` takes the place of the line with that number."""
    lines = list(LINES)
    for name, line in cells.items():
        lines[int(name.removeprefix("line_"))] = line
    return "\n".join([HEADER, *lines, ""]).encode()


FILES = {
    "clean": changed(),
    "no last line end": changed().rstrip(),
    "other line ends": changed().replace(b"\n", b"\r\n"),
    "old line ends": changed().replace(b"\n", b"\r"),
    "blank lines": changed(line_40="", line_41=""),
    "a gap": changed(line_40="2026-01-02 16:00,,NaN,,,-"),
    "a word late": changed(line_90="2026-01-04 18:00,broken,170,,,7.1"),
    "words in two columns": changed(line_20="2026-01-01 20:00,12.5,?,,,7", line_90="2026-01-04 18:00,12,170,,Ana,7.1"),
    "yes and no": changed(line_90="2026-01-04 18:00,12.1,170,,TRUE,7.1"),
    "endless": changed(line_90="2026-01-04 18:00,Infinity,170,,,7.1"),
    "very large": changed(line_90="2026-01-04 18:00,9999999999999999999,170,,,7.1"),
    "no time": changed(line_90="never,12.1,170,,,7.1"),
    "no state": changed(line_90="2026-01-04 18:00,12.1,170,asleep,,7.1"),
    "cell too many": changed(line_90="2026-01-04 18:00,12.1,170,,,7.1,8"),
    "cells too many": changed(line_90="2026-01-04 18:00,12.1,170,,,7.1,8,9,10"),
    "open quotation": changed(line_90='2026-01-04 18:00,12.1,170,"offline,,7.1'),
    "line end in a cell": changed(line_40='2026-01-02 16:00,12.1,170,,"one\ntwo",7.1'),
    "no rows": HEADER.encode() + b"\n",
}


def read(content: bytes) -> ReadingsTable | str:
    try:
        return read_readings(content, timezone="Europe/Lisbon", filename="log.csv")
    except FileProblem as problem:
        return f"{problem.row}: {problem.message}"


@pytest.mark.parametrize("name", FILES)
def test_in_parts_as_in_one(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = read(FILES[name])
    monkeypatch.setattr(sheet, "LONG_BYTES", 0)
    monkeypatch.setattr(long_csv, "PART_ROWS", 17)
    parts = read(FILES[name])
    if isinstance(whole, str) or isinstance(parts, str):
        assert parts == whole
        return
    pd.testing.assert_frame_equal(parts.frame, whole.frame, check_exact=True)
    assert np.array_equal(parts.row_numbers, whole.row_numbers)
    for what in ("problems", "problem_count", "notes", "rows", "units", "unknown_columns", "bad_rows"):
        assert getattr(parts, what) == getattr(whole, what), what


def test_a_clean_file_needs_no_second_reading(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheet, "LONG_BYTES", 0)
    monkeypatch.setattr(long_csv, "PART_ROWS", 17)
    monkeypatch.setattr(sheet, "_read_whole", lambda *_: pytest.fail("read as a whole"))
    assert isinstance(read(FILES["clean"]), ReadingsTable)
