"""Look through a workbook before it is parsed: how far it unpacks, and how large the grid of its sheets would be.

The parser lays out the whole grid between the first and the last cell that a sheet names. A file of some kilobytes with
one cell in the last corner would ask for half a terabyte and take the server down, with nothing to catch. So every part
is unpacked here once, a piece at a time, and only its tags are looked at. What the file says of its own sizes is not
believed.
"""

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from server.errors import FileProblem

MOST_UNPACKED_BYTES = 1 << 29
MOST_CELLS = 20_000_000
"""Cells of the grid of one sheet, empty ones too; each takes some 50 bytes while it is read."""
LONGEST_TAG = 1 << 20
MOST_PARTS = 10_000
PIECE = 1 << 20
EXPECTED = "a CSV file in UTF-8, or an XLSX file"
SMALLER = "a smaller file, or CSV"
_LOCAL_HEADER = struct.Struct("<4s22xHH")
_PLACE = re.compile(rb"(?<![\w:.-])r\s*=\s*[\"']\s*([A-Za-z]*)(\d+)")
_ROW = re.compile(rb"<(?:[\w.-]+:)?row[\s/>]")
_CELL = re.compile(rb"<(?:[\w.-]+:)?c[\s/>]")
_OTHER_LETTERS = (b"\xff\xfe", b"\xfe\xff", b"<\x00", b"\x00<")


@dataclass
class _Grid:
    """The furthest row and column that a sheet names or comes to, piece by piece."""

    row: int = 0
    column: int = 0
    rows: int = 0
    cells: int = 0

    def add(self, tags: bytes) -> None:
        for letters, digits in _PLACE.findall(tags):
            self.row = max(self.row, int(digits[:12]))
            self.column = max(self.column, _column(letters[:8]))
        for number, row in enumerate(_ROW.split(tags)):
            self.cells = len(_CELL.findall(row)) + (0 if number else self.cells)
            self.rows += bool(number)
            self.column = max(self.column, self.cells)

    @property
    def size(self) -> int:
        return max(self.row, self.rows) * self.column


def check_workbook(content: bytes, file: str) -> None:
    """Raise `FileProblem` for a workbook that is none, or that would become too large."""
    try:
        parts = zipfile.ZipFile(io.BytesIO(content)).infolist()
    except (zipfile.BadZipFile, ValueError, OverflowError, NotImplementedError, UnicodeDecodeError) as error:
        raise _unreadable(file) from error
    names = {part.filename for part in parts}
    if "xl/workbook.xml" not in names or "content.xml" in names or len(parts) > MOST_PARTS:
        raise _unreadable(file)
    left = MOST_UNPACKED_BYTES
    for part in parts:
        left -= _check_part(content, part, file, left)


def _check_part(content: bytes, part: zipfile.ZipInfo, file: str, left: int) -> int:
    """Unpack one part a piece at a time; returns its size. [bytes]"""
    grid, size, carried = _Grid(), 0, b""
    for piece in _pieces(content, part, file):
        if not size and piece.startswith(_OTHER_LETTERS):
            raise _unreadable(file)
        size += len(piece)
        if size > left:
            raise FileProblem(file, f"unpacks to more than {MOST_UNPACKED_BYTES >> 20} MB", expected=SMALLER)
        carried += piece
        cut = carried.rfind(b"<")
        if cut > 0:
            grid.add(carried[:cut])
            carried = carried[cut:]
        if cut < 0:
            carried = b""
        if len(carried) > LONGEST_TAG + PIECE:
            raise _unreadable(file)
        if grid.size > MOST_CELLS:
            break
    grid.add(carried)
    if grid.size > MOST_CELLS:
        raise FileProblem(file, f"has a sheet of more than {MOST_CELLS // 1_000_000} million cells", expected=SMALLER)
    return size


def _pieces(content: bytes, part: zipfile.ZipInfo, file: str) -> Iterator[bytes]:
    """What a part truly unpacks to, whatever its header says."""
    start = part.header_offset
    if not 0 <= start <= len(content) - _LOCAL_HEADER.size or part.flag_bits & 1:
        raise _unreadable(file)
    signature, name, extra = _LOCAL_HEADER.unpack_from(content, start)
    start += _LOCAL_HEADER.size + name + extra
    packed = memoryview(content)[start : start + part.compress_size]
    if signature != b"PK\x03\x04" or part.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
        raise _unreadable(file)
    if part.compress_type == zipfile.ZIP_STORED:
        for place in range(0, len(packed), PIECE):
            yield bytes(packed[place : place + PIECE])
        return
    unpacker = zlib.decompressobj(-zlib.MAX_WBITS)
    for place in range(0, len(packed), PIECE):
        given = bytes(packed[place : place + PIECE])
        while given and not unpacker.eof:
            try:
                piece = unpacker.decompress(given, PIECE)
            except zlib.error as error:
                raise _unreadable(file) from error
            given = unpacker.unconsumed_tail
            if piece:
                yield piece


def _column(letters: bytes) -> int:
    """Number of a column by its letters: A is 1, XFD is 16384."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + letter - 64
    return number


def _unreadable(file: str) -> FileProblem:
    return FileProblem(file, "cannot be read as an XLSX file", expected=EXPECTED)
