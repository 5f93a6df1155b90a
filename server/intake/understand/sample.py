"""Take rows of a file to look at: all of a small one; of a long one the first and then every so many."""

from collections.abc import Iterator
from dataclasses import dataclass

from server.errors import FileProblem
from server.intake.kinds import is_workbook, refuse_wrong_kind
from server.intake.rows import Cell, Decoding, Row, decode, read_rows, sheet_names
from server.intake.sideways import is_sideways, titles_above, upright
from server.intake.understand.encoding import find_delimiter, find_encoding
from server.intake.understand.place import Place, find_place

WHOLE = 5_000
"""Rows that are all looked at; of those beyond, one in `STEP`."""
STEP = 20
MOST_SHEETS = 60


@dataclass(frozen=True)
class SheetSample:
    """Rows of one sheet (or of a text) and where its table lies; None where there is none."""

    name: str
    rows: tuple[Row, ...]
    place: Place | None
    sideways: bool = False
    titles: tuple[Cell, ...] = ()
    """Cells above a table on its side, which are no row of it any more."""


@dataclass(frozen=True)
class FileSample:
    """How a file is decoded, and its sheets."""

    decoding: Decoding
    encoding_reason: str
    sheets: tuple[SheetSample, ...]


def sample_file(content: bytes, file: str, header_row: int = 0) -> FileSample:
    """Look into a file; raises `FileProblem` when it cannot be a table at all."""
    refuse_wrong_kind(content, file)
    if not is_workbook(content):
        encoding = find_encoding(content, file)
        text = decode(content, file, encoding.name)
        if not text.strip():
            raise FileProblem(file, "is empty", expected="a table")
        decoding = Decoding(encoding.name, find_delimiter(text))
        del text
        sheet = _sheet("", read_rows(content, file, decoding), header_row)
        return FileSample(decoding, encoding.reason, (sheet,))
    names = sheet_names(content, file)
    if len(names) > MOST_SHEETS:
        raise FileProblem(file, f"has {len(names)} sheets", expected=f"at most {MOST_SHEETS}")
    sheets = [_sheet(name, read_rows(content, file, Decoding(sheets=(name,))), header_row) for name in names]
    return FileSample(Decoding(delimiter=""), "", tuple(sheets))


def _sheet(name: str, rows: Iterator[Row], header_row: int) -> SheetSample:
    kept = tuple(row for place, row in enumerate(rows) if place < WHOLE or place % STEP == 0)
    sideways = is_sideways(kept)
    titles = titles_above(kept) if sideways else ()
    if sideways:
        kept = tuple(upright(kept))
    if not header_row or sideways:
        return SheetSample(name, kept, find_place(kept), sideways, titles)
    skipped = kept[header_row - 1 :]
    place = find_place(skipped, at_top=True)
    return SheetSample(name, kept, place and place.below(header_row - 1))
