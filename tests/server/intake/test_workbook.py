"""Workbooks that would take the server down are refused before they are parsed; true ones pass."""

import io
import time
import zipfile
import zlib

import pytest
import xlsxwriter

from server.errors import FileProblem
from server.intake import workbook
from server.intake.canonical import read_readings
from server.intake.workbook import MOST_UNPACKED_BYTES, check_workbook

HEAD = b'<?xml version="1.0"?><worksheet><sheetData>'
TAIL = b"</sheetData></worksheet>"
SHEET = "xl/worksheets/sheet1.xml"


def book(*cells: tuple[int, int, object]) -> bytes:
    stream = io.BytesIO()
    made = xlsxwriter.Workbook(stream)
    sheet = made.add_worksheet()
    for row, column, value in cells:
        sheet.write(row, column, value)
    made.close()
    return stream.getvalue()


def with_part(content: bytes, name: str, part: bytes, *, method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """The workbook with one of its parts replaced, or one more."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(stream, "w") as new:
        for info in old.infolist():
            if info.filename != name:
                new.writestr(info.filename, old.read(info))
        new.writestr(name, part, compress_type=method)
    return stream.getvalue()


def refused(content: bytes) -> str:
    with pytest.raises(FileProblem) as error:
        check_workbook(content, "a.xlsx")
    return error.value.message


PLAIN = book((0, 0, "time"), (0, 1, "feed_pressure [bar]"), (1, 0, "2026-02-01T06:00Z"), (1, 1, 12.1))


def test_a_true_workbook_passes_and_is_read() -> None:
    check_workbook(PLAIN, "a.xlsx")
    assert read_readings(PLAIN, timezone="UTC", filename="a.xlsx").rows == 1


@pytest.mark.alone
def test_one_cell_in_the_last_corner_is_refused_in_no_time() -> None:
    corner = book((0, 0, "time"), (1_048_575, 16_383, 1))
    assert len(corner) < 10_000
    start = time.perf_counter()
    assert "20 million cells" in refused(corner)
    with pytest.raises(FileProblem):
        read_readings(corner, timezone="UTC", filename="a.xlsx")
    assert time.perf_counter() - start < 1


@pytest.mark.parametrize(
    "rows",
    [
        b'<row r="1048576"><c r="A1"/><c r="XFD1048576"/></row>',
        b"<row r='1048576'><c r = 'xfd1048576'/></row>",
        b'<x:row r="1048576"><x:c r="XFD1"/></x:row>',
        b'<row><c s="1"r="XFD1048576"/></row>',
        b"<row>" + b"<c/>" * 30_000 + b"</row>" + b"<row/>" * 1_000,
        b"<row>" + b"<y:c></y:c>" * 30_000 + b"</row>" + b"<y:row></y:row>" * 1_000,
        b'<row><c a=">" r="XFD1048576"/></row>',
        b'<row><c r="ZZZZZZZZZZZZZZ99999999999999999999999"/></row>',
    ],
)
def test_a_grid_is_found_however_the_sheet_writes_it(rows: bytes) -> None:
    assert "million cells" in refused(with_part(PLAIN, SHEET, HEAD + rows + TAIL))


def test_a_tag_that_lies_across_two_pieces_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    sheet = HEAD + b'<row><c r="A1"/></row><row r="2"><c r="XFD1048576"/></row>' + TAIL
    content = with_part(PLAIN, SHEET, sheet)
    for size in (7, 16, 33):
        monkeypatch.setattr(workbook, "PIECE", size)
        assert "million cells" in refused(content), size


def test_cells_of_one_row_are_counted_across_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook, "PIECE", 100)
    monkeypatch.setattr(workbook, "MOST_CELLS", 99)
    many, few = b"<row>" + b"<c/>" * 100 + b"</row>", b"<row>" + b"<c/>" * 9 + b"</row>"
    refused(with_part(PLAIN, SHEET, HEAD + many + TAIL))
    check_workbook(with_part(PLAIN, SHEET, HEAD + few * 11 + TAIL), "a.xlsx")


def test_what_unpacks_without_end_is_refused_in_little_room() -> None:
    bomb = with_part(PLAIN, "xl/media/a.bin", bytes(MOST_UNPACKED_BYTES + 1))
    assert len(bomb) < 2_000_000
    assert "unpacks to more than 512 MB" in refused(bomb)


def test_sizes_that_the_file_says_of_itself_are_not_believed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook, "MOST_UNPACKED_BYTES", 100_000)
    honest = with_part(PLAIN, "xl/media/a.bin", bytes(200_000))
    lie = bytearray(honest)
    place = lie.rfind(b"PK\x01\x02", 0, lie.rfind(b"xl/media/a.bin"))
    lie[place + 24 : place + 28] = (10).to_bytes(4, "little")
    lie[place + 16 : place + 20] = zlib.crc32(bytes(10)).to_bytes(4, "little")
    with zipfile.ZipFile(io.BytesIO(bytes(lie))) as archive:
        assert archive.read("xl/media/a.bin") == bytes(10), "the archive's own reader believes it"
    assert "unpacks to more than" in refused(bytes(lie))


@pytest.mark.parametrize(
    "content",
    [
        b"PK\x03\x04",
        b"PK\x03\x04" + bytes(100),
        PLAIN[:-10],
        with_part(PLAIN, "content.xml", b"<a/>"),
        with_part(PLAIN, SHEET, (HEAD + TAIL).decode().encode("utf-16")),
        with_part(PLAIN, SHEET, HEAD + TAIL, method=zipfile.ZIP_LZMA),
        with_part(PLAIN, SHEET, b"<" + b"a" * (3 << 20)),
    ],
    ids=["start", "zeros", "cut", "another kind", "other letters", "other packing", "endless tag"],
)
def test_what_is_no_workbook_is_refused(content: bytes) -> None:
    assert "cannot be read as an XLSX file" in refused(content)


def test_any_byte_may_be_wrong() -> None:
    end_of_directory = range(len(PLAIN) - 22, len(PLAIN))
    for place in (*range(0, len(PLAIN), 7), *end_of_directory):
        spoilt = bytearray(PLAIN)
        spoilt[place] ^= 0xFF
        try:
            read_readings(bytes(spoilt), timezone="UTC", filename="a.xlsx")
        except FileProblem:
            continue
