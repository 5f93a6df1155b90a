"""Read the cells of a CSV or XLSX file, knowing nothing yet of what they mean.

CSV goes through the C engine of pandas, which reads numbers as numbers; only a column that holds something else
comes back as text, and only that one is looked at cell by cell later.
"""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

import pandas as pd
from python_calamine import CalamineError, CalamineWorkbook

from server.errors import FileProblem
from server.intake.long_csv import LONG_BYTES, read_in_parts
from server.intake.table import RowProblem
from server.intake.workbook import check_workbook

_MISSING_WORDS = ("na", "n/a", "null", "nan", "none")
MISSING = ("", "-", "--", "NaN", *(f(word) for word in _MISSING_WORDS for f in (str.lower, str.upper, str.title)))
"""Cells that say that there is no value."""
EXPECTED_FILE = "a CSV file in UTF-8, or an XLSX file"
XLSX_SIGNATURE = b"PK\x03\x04"
LONGEST_HEADER = 200
LONGEST_PREAMBLE = 200_000
"""Characters within which the header must end."""


@dataclass(frozen=True)
class Layout:
    """How the cells lie in the file. An empty `delimiter` is found from the header; `missing` adds to `MISSING`.

    `tolerant`, and what stands below it, is for `server.intake.tolerant`.
    """

    encoding: str = "utf-8"
    delimiter: str = ""
    decimal: str = "."
    sheet: str = ""
    skip_rows: int = 0
    missing: tuple[str, ...] = ()
    tolerant: bool = False
    thousands: str = ""
    sheets: tuple[str, ...] = ()
    header_rows: int = 1
    skip_below: int = 0
    sideways: bool = False
    dates_above: bool = False
    across: bool = False
    parts: str = ""
    trains_above: bool = False


@dataclass(frozen=True)
class Sheet:
    """The cells of one file, column by column, in the order of the file.

    `cells` has one column per header, numbered from 0; its index counts rows as a person sees them. `sheets`, `notes`,
    `problems` and `sideways` are what `server.intake.tolerant` has to say beside.
    """

    file: str
    headers: tuple[str, ...]
    cells: pd.DataFrame
    sheets: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    problems: tuple[RowProblem, ...] = ()
    sideways: bool = False

    @property
    def header_row(self) -> int:
        return int(self.cells.index.start) - 1 if isinstance(self.cells.index, pd.RangeIndex) else 1


def read_sheet(
    content: bytes, *, file: str, layout: Layout, text_columns: frozenset[str], all_text: bool = False
) -> Sheet:
    """Read the cells of a file.

    Parameters
    ----------
    content
        The bytes of the file.
    file
        Its name, for messages.
    text_columns
        Headers whose cells stay text, whatever they hold; `all_text` means every one.
    """
    if not content.strip():
        raise FileProblem(file, "is empty", expected=EXPECTED_FILE)
    if content.startswith(XLSX_SIGNATURE):
        return _read_xlsx(content, file, layout)
    return _read_csv(content, file, layout, None if all_text else text_columns)


def _read_csv(content: bytes, file: str, layout: Layout, text_columns: frozenset[str] | None) -> Sheet:
    text = _decoded(content, file, layout.encoding)
    header, delimiter, lines = _header(text[:LONGEST_PREAMBLE], file, layout)
    if layout.encoding != "utf-8":
        content = text.encode()
    del text
    width = len(header)
    texts = [number for number, name in enumerate(header) if text_columns is None or name in text_columns]
    options = {
        "header": None,
        "names": list(range(width + 1)),  # one more, to see cells that no header names
        "skiprows": lines,
        "index_col": False,
        "sep": delimiter,
        "decimal": layout.decimal,
        "na_values": [*MISSING, *layout.missing],
        "keep_default_na": False,
        "skip_blank_lines": False,
        "skipinitialspace": True,
        "low_memory": False,
        "engine": "c",
    }
    cells = read_in_parts(content, width, texts, options) if len(content) >= LONG_BYTES else None
    if cells is None:
        cells = _read_whole(content, file, width, texts, options)
    first = layout.skip_rows + 2
    cells.index = pd.RangeIndex(first, first + len(cells))
    if width in cells.columns:
        _refuse_surplus(file, cells[width], width)
        cells = cells[list(range(width))]
    return Sheet(file, header, cells)


def _read_whole(content: bytes, file: str, width: int, texts: list[int], options: dict[str, Any]) -> pd.DataFrame:
    try:
        cells: pd.DataFrame = pd.read_csv(io.BytesIO(content), dtype=dict.fromkeys(texts, str), **options)
    except pd.errors.EmptyDataError:
        return pd.DataFrame(columns=range(width + 1), dtype=object)
    except (pd.errors.ParserError, ValueError) as error:
        raise _parser_problem(file, error) from error
    return cells


def _decoded(content: bytes, file: str, encoding: str) -> str:
    if encoding == "utf-8" and (content.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\x00" in content[:4096]):
        kind = "is UTF-16 text" if content.startswith((b"\xff\xfe", b"\xfe\xff")) else "is not a text file"
        raise FileProblem(file, kind, expected=EXPECTED_FILE)
    try:
        text = content.decode("utf-8-sig" if encoding == "utf-8" else encoding).lstrip("\ufeff")
    except UnicodeDecodeError as error:
        row = content.count(b"\n", 0, error.start) + 1
        found = f"holds a byte (0x{content[error.start]:02x}) that is not {encoding.upper()}"
        raise FileProblem(
            file, found, row=row, expected=f"{EXPECTED_FILE}; a mapping can name another encoding"
        ) from error
    if "\x00" in text:
        row = text.count("\n", 0, text.index("\x00")) + 1
        raise FileProblem(file, "holds the sign U+0000", row=row, expected=EXPECTED_FILE)
    return text


def _header(text: str, file: str, layout: Layout) -> tuple[tuple[str, ...], str, int]:
    """Headers, the delimiter between them, and the number of lines before the first row of cells."""
    start = io.StringIO(text, newline="")
    for _ in range(layout.skip_rows):
        start.readline()
    position = start.tell()
    delimiter = layout.delimiter or _likely_delimiter(start.readline())
    start.seek(position)
    reader = csv.reader(start, delimiter=delimiter)
    try:
        header = next(reader, [])
    except csv.Error as error:
        raise FileProblem(file, f"has a header that cannot be read ({error})", row=layout.skip_rows + 1) from error
    names = tuple(name.strip() for name in header)
    while names and not names[-1]:
        names = names[:-1]
    if not names:
        raise FileProblem(file, "has no header", row=layout.skip_rows + 1, expected="the names of the columns")
    if any(len(name) > LONGEST_HEADER or not name.isprintable() for name in names):
        raise FileProblem(file, "does not start with a header", row=layout.skip_rows + 1, expected=EXPECTED_FILE)
    return names, delimiter, layout.skip_rows + reader.line_num


def _likely_delimiter(line: str) -> str:
    return max(",;\t", key=line.count)


def _parser_problem(file: str, error: Exception) -> FileProblem:
    """Say in plain words where the parser stopped; its lines count from the top of the file, its rows from 0 there."""
    message = str(error)
    words = message.replace(",", " ").split()
    if "saw" in words and "line" in words:
        wanted, row = int(words[words.index("Expected") + 1]) - 1, int(words[words.index("line") + 1])
        found = words[words.index("saw") + 1]
        return FileProblem(file, f"has {found} cells", row=row, expected=f"{wanted}, as many as the header has")
    if "starting at row" in message:
        return FileProblem(
            file, "opens a quotation mark that is never closed", row=int(words[-1]) + 1, expected='a closing "'
        )
    return FileProblem(file, f"cannot be read as a table ({message.splitlines()[0]})", expected=EXPECTED_FILE)


def _refuse_surplus(file: str, surplus: "pd.Series[Any]", width: int) -> None:
    rows = surplus.index[surplus.notna()]
    if len(rows):
        expected = f"{width}, as many as the header has"
        raise FileProblem(file, f"has more than {width} cells", row=int(rows[0]), expected=expected)


def _read_xlsx(content: bytes, file: str, layout: Layout) -> Sheet:
    check_workbook(content, file)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        if layout.sheet and layout.sheet not in book.sheet_names:
            named = ", ".join(book.sheet_names)
            raise FileProblem(file, f'has no sheet "{layout.sheet}"', expected=f"one of: {named}")
        sheet = book.get_sheet_by_name(layout.sheet) if layout.sheet else book.get_sheet_by_index(0)
        rows = sheet.to_python(skip_empty_area=False)[layout.skip_rows :]
    except CalamineError as error:
        raise FileProblem(file, "cannot be read as an XLSX file", expected=EXPECTED_FILE) from error
    if not rows or not any(str(cell).strip() for cell in rows[0]):
        raise FileProblem(file, "has no header", row=layout.skip_rows + 1, expected="the names of the columns")
    names = tuple(str(cell).strip() for cell in rows[0])
    first = layout.skip_rows + 2
    missing = frozenset((*MISSING, *layout.missing))
    index = pd.RangeIndex(first, first + len(rows) - 1)
    columns = {
        number: pd.Series(_plain_cells(cells, missing), index=index, dtype=object).infer_objects()
        for number, cells in enumerate(zip(*rows[1:], strict=True) if len(rows) > 1 else ((),) * len(names))
    }
    return Sheet(file, names, pd.DataFrame(columns, index=index), (sheet.name,))


def _plain_cells(cells: Sequence[Any], missing: frozenset[str]) -> list[Any]:
    """The cells of one column as a CSV file would hold them.

    A workbook gives midnight as a date without a time; in a column with clock times it is midnight.
    """
    has_clock = any(isinstance(cell, datetime) for cell in cells)
    return [_plain(cell, missing, has_clock=has_clock) for cell in cells]


def _plain(cell: Any, missing: frozenset[str], *, has_clock: bool) -> Any:
    """One cell: numbers stay, times become ISO 8601, blanks None."""
    if isinstance(cell, bool):
        return str(cell)
    if isinstance(cell, int | float):
        return float(cell)
    if isinstance(cell, datetime):
        return cell.isoformat(sep=" ")
    if isinstance(cell, date) and has_clock:
        return f"{cell.isoformat()} 00:00:00"
    if isinstance(cell, date | time):
        return cell.isoformat()
    text = str(cell).replace("\x00", "").strip()
    return None if text in missing else text
