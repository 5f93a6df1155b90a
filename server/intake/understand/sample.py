"""Take rows of a file to look at: all of a small one; of a long one the first and then every so many."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from server.errors import FileProblem
from server.intake.across import find_across
from server.intake.dates_above import DATE_ABOVE, dates_stand_above, with_dates_above
from server.intake.kinds import is_workbook, refuse_wrong_kind
from server.intake.rows import Cell, Decoding, Row, decode, read_rows, sheet_names
from server.intake.sideways import is_sideways, titles_above, upright
from server.intake.trains_above import TRAIN_ABOVE, trains_stand_above, with_trains_above
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
    dates_above: bool = False
    trains_above: bool = False
    across: tuple[str, ...] = ()
    """Times of day or shifts that stand beside each other."""


@dataclass(frozen=True)
class FileSample:
    """How a file is decoded, and its sheets."""

    decoding: Decoding
    encoding_reason: str
    sheets: tuple[SheetSample, ...]


def sample_file(content: bytes, file: str, header_row: int = 0, train: str = "") -> FileSample:
    """Look into a file; raises `FileProblem` when it cannot be a table at all."""
    refuse_wrong_kind(content, file)
    if not is_workbook(content):
        encoding = find_encoding(content, file)
        text = decode(content, file, encoding.name)
        if not text.strip():
            raise FileProblem(file, "is empty", expected="a table")
        decoding = Decoding(encoding.name, find_delimiter(text))
        del text
        sheet = _sheet("", read_rows(content, file, decoding), header_row, train)
        return FileSample(decoding, encoding.reason, (sheet,))
    names = sheet_names(content, file)
    if len(names) > MOST_SHEETS:
        raise FileProblem(file, f"has {len(names)} sheets", expected=f"at most {MOST_SHEETS}")
    sheets = [_sheet(name, read_rows(content, file, Decoding(sheets=(name,))), header_row, train) for name in names]
    return FileSample(Decoding(delimiter=""), "", tuple(sheets))


def _sheet(name: str, rows: Iterator[Row], header_row: int, train: str) -> SheetSample:
    kept = tuple(row for place, row in enumerate(rows) if place < WHOLE or place % STEP == 0)
    sideways = is_sideways(kept)
    titles = titles_above(kept) if sideways else ()
    if sideways:
        kept = tuple(upright(kept))
    place = _place(kept, 0 if sideways else header_row)
    dates_above = (
        not sideways and place is not None and dates_stand_above(kept, place.names, place.before + place.header, name)
    )
    if dates_above:
        kept = tuple(with_dates_above(kept, (name,)))
        place = place and replace(place, names=(DATE_ABOVE, *place.names))
    trains_above = not (sideways or dates_above) and place is not None and trains_stand_above(kept)
    if trains_above:
        kept = tuple(with_trains_above(kept))
        place = place and replace(place, names=(TRAIN_ABOVE, *place.names))
    across = find_across(place.names, train) if place is not None else None
    if across is not None and place is not None:
        kept = (*kept[: place.first], *across.apart(kept[place.first :]))
        place = replace(place, names=across.names)
    return SheetSample(name, kept, place, sideways, titles, dates_above, trains_above, across.moments if across else ())


def _place(rows: tuple[Row, ...], header_row: int) -> Place | None:
    """Where the table lies; with a header in the row that a person says, where one says it."""
    if not header_row:
        return find_place(rows)
    place = find_place(rows[header_row - 1 :], at_top=True)
    return place and place.below(header_row - 1)
