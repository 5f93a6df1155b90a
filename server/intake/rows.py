"""Read the rows of any table, cell by cell, knowing nothing yet of what they mean.

Slower than `server.intake.sheet`, and more patient: rows may be of any length, and numbers are still as they were
typed. `Decoding` says how text becomes rows; `server.intake.understand` finds it out.
"""

import csv
import io
import re
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook

from server.errors import FileProblem
from server.intake.kinds import TABLE, is_workbook
from server.intake.spaced import SPACES, split_spaced
from server.intake.workbook import check_workbook

Cell = str | float | datetime | date | time | None
MOST_COLUMNS = 1_000
LONGEST_CELL = 100_000
ROWS_PER_SHEET = 1 << 21
"""Rows of the second of several sheets are numbered from here on; no sheet has so many (a workbook ends at 2**20)."""
NEVER_WORKED_OUT = "=?"
"""Stands for a formula that was saved without its value."""
_FORMULA = re.compile(rb"<c\s[^>]*?r=\"([A-Z]+)(\d+)\"[^>]*>\s*<f[^>]*?(?:/>|>[^<]*</f>)\s*(?:<v\s*/>|<v></v>)?\s*</c>")


_OTHER_DIGITS = {zero + n: str(n) for zero in (0x660, 0x6F0, 0x966, 0xFF10) for n in range(10)} | {0x66B: "."}
"""Figures of Arabic, Persian, Devanagari and wide scripts, and the Arabic decimal mark."""
_TO_SEE = 10_000
"""Signs within which a text shows in which figures it is written."""


@dataclass(frozen=True)
class Decoding:
    """How bytes become rows: `encoding` and `delimiter` of a text, `sheets` of a workbook (none means the first)."""

    encoding: str = "utf-8-sig"
    delimiter: str = ","
    sheets: tuple[str, ...] = ()


@dataclass(frozen=True)
class Row:
    """A row and its number as a person sees it, plus `ROWS_PER_SHEET` for each sheet before its own."""

    number: int
    cells: tuple[Cell, ...]


def cell_at(row: Row, number: int) -> Cell:
    """A cell of a row by its position, None beyond its ends."""
    return row.cells[number] if 0 <= number < len(row.cells) else None


def place_of(number: int, sheets: tuple[str, ...]) -> tuple[str, int]:
    """Sheet and row that a running number stands for; the sheet is "" in a text file."""
    index, row = divmod(number, ROWS_PER_SHEET)
    return (sheets[index] if index < len(sheets) else ""), row


def sheet_names(content: bytes, file: str) -> tuple[str, ...]:
    """Sheets of a workbook that hold anything at all to look at; none for a text file."""
    if not is_workbook(content):
        return ()
    check_workbook(content, file)
    try:
        return tuple(_book(content, file).sheet_names)
    except CalamineError as error:
        raise _unreadable(file) from error


def read_rows(content: bytes, file: str, decoding: Decoding) -> Iterator[Row]:
    """Go through the rows of a file.

    Raises
    ------
    FileProblem
        When it is no table, or a row has more than `MOST_COLUMNS` cells.
    """
    rows = _workbook_rows(content, file, decoding) if is_workbook(content) else _text_rows(content, file, decoding)
    for row in rows:
        if len(row.cells) > MOST_COLUMNS and any(cell is not None for cell in row.cells[MOST_COLUMNS:]):
            sheet, number = place_of(row.number, decoding.sheets)
            place = f'{file}, sheet "{sheet}"' if sheet else file
            raise FileProblem(place, f"has {len(row.cells)} columns", row=number, expected=f"at most {MOST_COLUMNS}")
        yield row


def decode(content: bytes, file: str, encoding: str) -> str:
    """Text of a file; raises `FileProblem` with the row of the first byte that does not fit."""
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        row = content.count(b"\n", 0, error.start) + 1
        found = f"holds a byte (0x{content[error.start]:02x}) that is not {encoding.upper()}"
        raise FileProblem(file, found, row=row, expected="another encoding, or UTF-8") from error
    if "\x00" in text:
        row = text.count("\n", 0, text.index("\x00")) + 1
        raise FileProblem(file, "is not a text file (it holds the sign U+0000)", row=row, expected=TABLE)
    text = text.removeprefix("\ufeff")
    return text.translate(_OTHER_DIGITS) if any(ord(sign) in _OTHER_DIGITS for sign in text[:_TO_SEE]) else text


def _text_rows(content: bytes, file: str, decoding: Decoding) -> Iterator[Row]:
    text = decode(content, file, decoding.encoding)
    if decoding.delimiter == SPACES:
        reader: Iterable[list[str]] = split_spaced(text.splitlines())
    else:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=decoding.delimiter, skipinitialspace=True)
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):  # for the message below
            if cells and len(cells[-1]) > LONGEST_CELL:
                raise _open_quote(file, number)
            yield Row(number, tuple(text if (text := cell.strip()) else None for cell in cells))
    except csv.Error as error:
        if "field larger" in str(error):
            raise _open_quote(file, number + 1) from error
        raise FileProblem(file, f"cannot be read as a table ({error})", row=number + 1, expected=TABLE) from error


def _open_quote(file: str, row: int) -> FileProblem:
    return FileProblem(file, "opens a quotation mark that is never closed", row=row, expected='a closing "')


def _workbook_rows(content: bytes, file: str, decoding: Decoding) -> Iterator[Row]:
    check_workbook(content, file)
    book = _book(content, file)
    names = decoding.sheets or tuple(book.sheet_names[:1])
    unknown = [name for name in names if name not in book.sheet_names]
    if unknown:
        listed = ", ".join(book.sheet_names)
        raise FileProblem(file, f'has no sheet "{unknown[0]}"', expected=f"one of: {listed}")
    for index, name in enumerate(names):
        try:
            sheet = book.get_sheet_by_name(name)
            rows = sheet.to_python(skip_empty_area=False)
        except CalamineError as error:
            raise _unreadable(file) from error
        merged = _merged(sheet)
        unknown_values = _never_worked_out(content, book.sheet_names.index(name))
        for number, cells in enumerate(rows, start=1):
            plain = [_plain(cell) for cell in cells]
            for column in unknown_values.get(number, ()):
                if column < len(plain) and plain[column] is None:
                    plain[column] = NEVER_WORKED_OUT
            for column in merged.get(number, ()):
                plain[column] = plain[column - 1] if plain[column] is None else plain[column]
            yield Row(index * ROWS_PER_SHEET + number, tuple(plain))


def _merged(sheet: CalamineSheet) -> dict[int, list[int]]:
    """Cells that a merged one covers to its right, by row: they say what it says, in the rows of a header."""
    covered: dict[int, list[int]] = {}
    for (top, left), (_, right) in sheet.merged_cell_ranges or ():
        if right - left < MERGED_TITLE:
            covered.setdefault(top + 1, []).extend(range(left + 1, right + 1))
    return {row: sorted(columns) for row, columns in covered.items()}


MERGED_TITLE = 8
"""A cell merged over more columns than this is a title, not the name of a group of columns."""


def _book(content: bytes, file: str) -> CalamineWorkbook:
    try:
        return CalamineWorkbook.from_filelike(io.BytesIO(content))
    except CalamineError as error:
        raise _unreadable(file) from error


def _unreadable(file: str) -> FileProblem:
    return FileProblem(file, "cannot be read as an XLSX file", expected=TABLE)


def _never_worked_out(content: bytes, index: int) -> dict[int, list[int]]:
    """Formulas without a value, by row; the reader of workbooks shows them as empty cells."""
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        name = f"xl/worksheets/sheet{index + 1}.xml"
        text = parts.read(name) if name in parts.namelist() else b""
    found: dict[int, list[int]] = {}
    if b"<f" in text:
        for letters, digits in _FORMULA.findall(text):
            found.setdefault(int(digits), []).append(_column(letters))
    return found


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number - 1


def _plain(cell: object) -> Cell:
    """A cell as it is; blanks are None, truth values the words that a sheet shows."""
    if isinstance(cell, bool):
        return str(cell).upper()
    if isinstance(cell, int | float):
        return float(cell)
    if isinstance(cell, datetime | date | time):
        return cell
    if isinstance(cell, timedelta):
        return cell.total_seconds() / 86_400  # a span of time is a share of a day, as the sheet keeps it
    text = str(cell).replace("\x00", "").strip()
    return text or None
