"""Whether a file has the headers of the canonical layout, by its first rows alone."""

from collections.abc import Sequence

from server.errors import AppError
from server.intake.headers import TIME, UnknownQuantity, WrongUnit, parse_header, plain_name
from server.intake.moments import read_clock
from server.intake.rows import Cell, Decoding, read_rows


def is_canonical(content: bytes, file: str, *, with_unit: bool = True) -> bool:
    """Whether the first row of a file names a time and a quantity as the canonical layout does; a unit may be asked.

    A column of clock times alone is not the time of the canonical layout: their day stands in another column.
    """
    try:
        rows = read_rows(content, file, Decoding())
        first = next(rows, None)
        if first is not None and len(first.cells) == 1 and isinstance(first.cells[0], str):
            rows = read_rows(content, file, Decoding(delimiter=";" if ";" in first.cells[0] else "\t"))
            first = next(rows, None)
        second = next(rows, None)
    except AppError:
        return False
    if first is None:
        return False
    names = [plain_name(cell) if isinstance(cell, str) else "" for cell in first.cells]
    if TIME not in names or (second is not None and _is_clock(second.cells, names.index(TIME))):
        return False
    return any(_is_quantity(cell, with_unit=with_unit) for cell in first.cells if isinstance(cell, str))


def _is_clock(cells: Sequence[Cell], place: int) -> bool:
    cell = cells[place] if place < len(cells) else None
    return isinstance(cell, str) and ":" in cell and read_clock(cell) is not None


def _is_quantity(name: str, *, with_unit: bool) -> bool:
    try:
        return bool(parse_header(name).unit) or not with_unit
    except WrongUnit:
        return not with_unit
    except UnknownQuantity:
        return False
