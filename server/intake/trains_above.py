"""Tables of several trains under each other, each below its name, which goes before each of its readings."""

from collections.abc import Iterable, Iterator, Sequence

from server.intake.numerals import Marks, read_number
from server.intake.rows import Row
from server.intake.understand.facets import facets_of

TRAIN_ABOVE = "train above"
"""How the column of these names is called."""
_EITHER = Marks(".,")
_LONGEST = 40
"""Signs of a row that names a train; a longer text tells something else."""


def with_trains_above(rows: Iterable[Row]) -> Iterator[Row]:
    """The rows, each reading with the train above it before its cells; all others with nothing there."""
    named = None
    for row in rows:
        named = train_heading(row) or named
        yield Row(row.number, (named if _is_reading(row) else None, *row.cells))


def trains_stand_above(rows: Sequence[Row]) -> bool:
    """Whether readings stand below rows that name several trains."""
    named, found = "", set()
    for row in rows:
        named = train_heading(row) or named
        if _is_reading(row):
            found.add(named)
    return len(found - {""}) > 1


def train_heading(row: Row) -> str:
    """The train that a row names which holds nothing else; "" where it names none.

    Examples
    --------
    >>> train_heading(Row(1, ("RO 1", None))), train_heading(Row(2, ("Date", "RO 1 bar")))
    ('RO 1', '')
    """
    filled = [cell for cell in row.cells if cell is not None]
    if len(filled) != 1 or not isinstance(filled[0], str) or len(filled[0]) > _LONGEST:
        return ""
    return filled[0] if facets_of(f"{filled[0]} x").owner else ""


def _is_reading(row: Row) -> bool:
    filled = [cell for cell in row.cells if cell is not None]
    return len(filled) > 1 and any(read_number(cell, _EITHER) is not None for cell in filled)
