"""Join the rows of a header into one name for each column. Finding out and reading use the same names."""

from collections.abc import Sequence

from server.intake.rows import Cell

LONGEST_NAME = 200
NAMELESS = "column "
"""How a column without a header is called, before its letters."""


def header_names(rows: Sequence[Sequence[Cell]]) -> tuple[str, ...]:
    """Name of each column.

    In all rows but the last, a cell also stands for the empty ones to its right, where the row is a row of groups:
    it has fewer cells than the row below. A name that comes again gets a number; a column without one its letter.

    Examples
    --------
    >>> header_names([("", "Feed", None, "Permeate"), ("Date", "psi", "gpm", "gpm")])
    ('Date', 'Feed psi', 'Feed gpm', 'Permeate gpm')
    """
    width = max((len(row) for row in rows), default=0)
    filled = [_text_row(row, width) for row in rows]
    for number in range(len(filled) - 1):
        here, below = (sum(1 for text in filled[n] if text) for n in (number, number + 1))
        if here < below:
            filled[number] = _spread(filled[number], filled[number + 1])
    seen: dict[str, int] = {}
    names = []
    for column in range(width):
        parts: list[str] = []
        for row in filled:
            if row[column] and row[column] not in parts:
                parts.append(row[column])
        name = " ".join(parts)[:LONGEST_NAME] or f"{NAMELESS}{column_letters(column)}"
        seen[name] = seen.get(name, 0) + 1
        names.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return tuple(names)


def _text_row(row: Sequence[Cell], width: int) -> list[str]:
    texts = [" ".join(cell_text(cell).split()) for cell in row]
    texts = ["" if len(text) > 2 and not text.strip("-=_:") else text for text in texts]  # a rule below a header
    return texts + [""] * (width - len(texts))


def _spread(row: list[str], below: list[str]) -> list[str]:
    spread, last = [], ""
    for text, under in zip(row, below, strict=True):
        last = text or (last if under else "")
        spread.append(last)
    return spread


def cell_text(cell: Cell) -> str:
    """A cell as a person sees it."""
    if cell is None:
        return ""
    if isinstance(cell, float):
        return f"{cell:.15g}"
    return cell if isinstance(cell, str) else str(cell)


def line_name(number: int, *, sideways: bool = False) -> str:
    """What a person calls the line of a file that holds a reading: its row, or its column in a table on its side.

    Examples
    --------
    >>> line_name(3), line_name(3, sideways=True)
    ('row 3', 'column C')
    """
    return f"column {column_letters(number - 1)}" if sideways else f"row {number}"


def column_letters(number: int) -> str:
    """Letters that a spreadsheet shows above a column, counted from 0.

    Examples
    --------
    >>> column_letters(0), column_letters(27)
    ('A', 'AB')
    """
    letters = ""
    while number >= 0:
        letters = chr(ord("A") + number % 26) + letters
        number = number // 26 - 1
    return letters
