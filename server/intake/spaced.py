"""Read lines whose columns are divided by spaces: a printout of fixed width, or one space between words.

Three ways are tried, the surest first: two spaces or more between cells, the same number of cells in every line;
columns of blanks that run through all lines, so that an empty cell stays in its place; single spaces.
"""

import itertools
import re
from collections.abc import Sequence

SPACES = " "
"""How a mapping names this way of dividing columns."""
_GAP = re.compile(r"(?: |\t){2,}")
_CLOCK = re.compile(r"\d{1,2}:\d{2}(?::\d{2})?")
_TO_SEE = 2_000
"""Lines that say where the columns lie."""


def split_spaced(lines: Sequence[str]) -> list[list[str]]:
    """Cells of each line; a line without anything has none.

    Examples
    --------
    >>> split_spaced(["time   feed bar   flow", "06:00  12.5       14", "14:00             15"])
    [['time', 'feed bar', 'flow'], ['06:00', '12.5', '14'], ['14:00', '', '15']]
    >>> split_spaced(["time bar flow", "2024-01-05 06:00 12.5 14"])
    [['time', 'bar', 'flow'], ['2024-01-05 06:00', '12.5', '14']]
    """
    plain = [line.expandtabs().rstrip() for line in lines]
    table = [line for line in plain[:_TO_SEE] if _is_numbers(line)]
    if not table:
        return [[cell for cell in _GAP.split(line.strip()) if cell] for line in plain]
    gaps = [_GAP.split(line.strip()) for line in table]
    if len(gaps[0]) > 1 and all(len(cells) == len(gaps[0]) for cells in gaps):
        return [_GAP.split(line.strip()) if line.strip() else [] for line in plain]
    columns = _columns(table, narrowest=2)
    if len(columns) > 2:
        return [_by_place(line, columns) for line in plain]
    columns = _columns(table, narrowest=1)
    uneven = len({len(line.split()) for line in table}) > 1
    return [_by_place(line, columns) for line in plain] if uneven else _by_words(plain, table)


def _is_numbers(line: str) -> bool:
    """Whether a line holds readings rather than words."""
    digits, letters = sum(sign.isdigit() for sign in line), sum(sign.isalpha() for sign in line)
    return digits > letters and " " in line.strip()


def _columns(table: Sequence[str], *, narrowest: int) -> list[tuple[int, int]]:
    """From where to where columns reach, between blanks that run through all lines."""
    width = max(map(len, table))
    filled = [any(len(line) > place and line[place] != " " for line in table) for place in range(width)]
    columns: list[tuple[int, int]] = []
    for place in (place for place, is_filled in enumerate(filled) if is_filled):
        if columns and place - columns[-1][1] < narrowest:
            columns[-1] = (columns[-1][0], place + 1)
        else:
            columns.append((place, place + 1))
    return columns


def _by_place(line: str, columns: Sequence[tuple[int, int]]) -> list[str]:
    """Words of a line under the column that they lie over most, else the nearest."""
    if not line.strip():
        return []
    cells = [""] * len(columns)
    single = any(after[0] - before[1] < 2 for before, after in itertools.pairwise(columns))
    for found in re.finditer(r"\S+" if single or _is_numbers(line) else r"\S+(?: \S+)*", line):
        best = max(range(len(columns)), key=lambda n: _overlap(columns[n], found.span()))
        cells[best] = f"{cells[best]} {found[0]}".strip()
    return cells


def _overlap(column: tuple[int, int], word: tuple[int, int]) -> int:
    """Places that both share; below 0 how far they lie apart."""
    return min(column[1], word[1]) - max(column[0], word[0])


def _by_words(lines: Sequence[str], table: Sequence[str]) -> list[list[str]]:
    """Words between single spaces; a date and a clock time are one cell where the header has one name for both."""
    usual = len(table[0].split())
    together = any(len(line.split()) == usual - 1 for line in lines if line.strip() and not _is_numbers(line))
    rows = [line.split() for line in lines]
    if not together:
        return rows
    return [[f"{row[0]} {row[1]}", *row[2:]] if len(row) == usual and _CLOCK.fullmatch(row[1]) else row for row in rows]
