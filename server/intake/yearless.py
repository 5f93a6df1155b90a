"""Dates without a year ("30.12. 06:00", "5 Jan"): the year is said once, and counted on from one row to the next."""

import re
from collections.abc import Sequence
from datetime import time

from server.intake.moments import ORDERS, Order, plain_text, read_moment
from server.intake.month_names import LETTERS, MONTHS
from server.intake.rows import Cell

_FIGURES = re.compile(r"(\d{1,2})\s?([-/.])\s?(\d{1,2})(\.?)(?=$|[\s,]+\d{1,2}[:h.]?\d{2}|[\s,]+\d{1,2}\s?[ap]\.?m)")
_DAY_NAME = re.compile(
    rf"(\d{{1,2}})\.?[-/\s]*({LETTERS}{{3,12}})\.?(?=$|[\s,]+\d{{1,2}}[:h]|[\s,]+\d{{1,2}}\s?[ap]\.?m)"
)
_NAME_DAY = re.compile(rf"({LETTERS}{{3,12}})\.?[-/\s]*(\d{{1,2}})(?=$|[\s,]+\d{{1,2}}[:h]|[\s,]+\d{{1,2}}\s?[ap]\.?m)")
_YEAR = re.compile(r"(?<!\d)(20\d{2})(?!\d)")
_YEAR_BEHIND = re.compile(r":\d{2} (?:[a-z]{3,4} )?20\d{2}$")
LONGEST_DATE = 40
"""Signs; a longer text is no date."""
LEAP_YEAR = 2024
"""A leap year, which has every day that a date can name."""
_HALF = 6
"""Months; a leap of more than these is the turn of a year."""


def with_year(cell: Cell, year: int) -> str | None:
    """The date with a year put in, or None when the cell holds no date without one.

    Examples
    --------
    >>> with_year("30.12. 06:00", 2024), with_year("Mon 5 Jan", 2024), with_year("12.5", 2024)
    ('30.12.2024 06:00', '5 jan 2024', None)
    """
    if not isinstance(cell, str) or len(cell) > LONGEST_DATE:
        return None
    text = plain_text(cell)
    if _YEAR_BEHIND.search(text):
        return None
    figures = _FIGURES.match(text)
    if figures is not None:
        first, mark, second, dot = figures.groups()
        bare = mark == "." and not dot and figures.end() == len(text)  # a number such as 12.5
        days = sorted((int(first), int(second)))
        if bare or not (1 <= days[0] <= 12 and days[1] <= 31):
            return None
        return f"{first}{mark}{second}{mark}{year}{text[figures.end() :]}"
    for pattern, month in ((_DAY_NAME, 2), (_NAME_DAY, 1)):
        found = pattern.match(text)
        if found is not None and found[month] in MONTHS:
            day = found[3 - month]
            return f"{day} {found[month]} {year}{text[found.end() :]}"
    return None


def is_date(cell: Cell) -> bool:
    """Whether a cell holds a date, with a year or without; a number alone is none."""
    if cell is None or isinstance(cell, float | time) or (isinstance(cell, str) and _is_no_date(cell)):
        return False
    full = with_year(cell, LEAP_YEAR) or cell
    return any(read_moment(full, order) is not None for order in ORDERS)


def _is_no_date(cell: str) -> bool:
    return len(cell) > LONGEST_DATE or re.fullmatch(r"[\d,]+(?:[.,]\d*)?", cell) is not None


def with_years(cells: Sequence[Cell], order: Order, year: int) -> list[Cell]:
    """Dates with their years, where the first is of `year`: a leap back of many months is the turn of a year.

    Examples
    --------
    >>> with_years(["31.12.", "1.1."], "day first", 2024)
    ['31.12.2024', '1.1.2025']
    """
    full: list[Cell] = []
    last = 0
    for cell in cells:
        month = _month(cell, order)
        if month:
            year += 1 if last - month > _HALF else -1 if last and month - last > _HALF else 0
            last = month
        full.append(with_year(cell, year) or cell)
    return full


def _month(cell: Cell, order: Order) -> int:
    text = with_year(cell, 2000) or ""
    named = next((MONTHS[word] for word in re.findall(r"[a-z]{3,}", text) if word in MONTHS), 0)
    numbers = [int(number) for number in re.findall(r"\d+", text)[:2]]
    if named or len(numbers) < 2:
        return named
    return numbers[0] if order == "month first" else numbers[1]


def year_in(texts: Sequence[str]) -> tuple[int, str]:
    """The year that a title, a sheet or a file is called after, and that text; 0 where none or several are named."""
    found = {int(year): text for text in reversed(texts) for year in _YEAR.findall(text)}
    return next(iter(found.items())) if len(found) == 1 else (0, "")
