"""Dates whose day stands in a column of its own: month and year beside it, or said once for the first reading."""

import itertools
import re
from collections.abc import Sequence
from datetime import date

from server.intake.moments import plain_text
from server.intake.month_names import LETTERS, MONTHS
from server.intake.rows import Cell

EARLIEST_YEAR, LATEST_YEAR = 1970, 2100
"""Within which readings are taken."""
MONTH = re.compile(r"(\d{4})-(0[1-9]|1[0-2])")
"""How a mapping writes a month."""
_NAME_YEAR = re.compile(rf"(?<!{LETTERS})({LETTERS}{{3,12}})\.?(?:[\s,/'_-]|de\s)*(?:(20\d{{2}})|(\d{{2}})(?!\d))?")
_FIGURES = (
    re.compile(r"(?<!\d)(?P<year>20\d{2})[-/._ ]?(?P<month>0[1-9]|1[0-2])(?!\d)(?![-/.]\d)"),
    re.compile(r"(?<![\d/.-])(?P<month>0?[1-9]|1[0-2])[-/. ](?P<year>20\d{2})(?!\d)"),
)
_YEAR = re.compile(r"(?<!\d)(20\d{2})(?!\d)")
MOST_MONTHS = 12
_BACK = 8
"""Days by which a day must fall (rise, where the newest stands first) to be of another month; fewer is disorder."""


def is_day(text: str) -> bool:
    """Whether a text is a day as a mapping writes it: 2024-06-12."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return False
    return day.isoformat() == text and EARLIEST_YEAR <= day.year <= LATEST_YEAR


def is_month(text: str) -> bool:
    """Whether a text is a month as a mapping writes it: 2024-06."""
    return MONTH.fullmatch(text) is not None and EARLIEST_YEAR <= int(text[:4]) <= LATEST_YEAR


def exchange(cell: Cell) -> Cell:
    """A true date with day and month exchanged; everything else as it is.

    Examples
    --------
    >>> exchange(date(2024, 1, 3)), exchange("13/03/2024")
    (datetime.date(2024, 3, 1), '13/03/2024')
    """
    if isinstance(cell, date) and cell.day <= MOST_MONTHS:
        return cell.replace(month=cell.day, day=cell.month)
    return cell


def day_number(cell: Cell) -> int:
    """Number of a day from 1 to 31, or 0.

    Examples
    --------
    >>> day_number("05"), day_number(31.0), day_number("3rd"), day_number("12.5")
    (5, 31, 3, 0)
    """
    number = _whole(plain_text(cell).removesuffix(".") if isinstance(cell, str) else cell)
    return number if 1 <= number <= 31 else 0


def month_number(cell: Cell) -> int:
    """Number of a month written as a number or by its name, or 0."""
    if isinstance(cell, date):
        return cell.month
    if isinstance(cell, str) and (named := month_and_year(cell)[1]):
        return named
    number = _whole(cell)
    return number if 1 <= number <= 12 else 0


def year_number(cell: Cell) -> int:
    """A year of four or two figures, or 0."""
    if isinstance(cell, date):
        return cell.year
    number = _whole(cell)
    return number if 1970 <= number <= 2100 else 2000 + number if 0 < number < 70 else 0


def _whole(cell: Cell) -> int:
    text = f"{cell:.15g}" if isinstance(cell, float) else cell
    return int(text) if isinstance(text, str) and re.fullmatch(r"\d{1,4}", text.strip()) else 0


def month_and_year(text: str) -> tuple[int, int]:
    """Year and month that a text names; 0 for what it does not.

    Examples
    --------
    >>> month_and_year("Month: January 2024"), month_and_year("log 2024-03.csv"), month_and_year("Enero")
    ((2024, 1), (2024, 3), (0, 1))
    >>> month_and_year("Page 7"), month_and_year("printed 2024-03-05")
    ((0, 0), (0, 0))
    """
    plain = plain_text(text)
    for pattern in _FIGURES:
        found = pattern.search(plain)
        if found is not None:
            return int(found["year"]), int(found["month"])
    named = [found for found in _NAME_YEAR.finditer(plain) if found[1] in MONTHS]
    if len(named) != 1:
        return 0, 0
    year = _YEAR.search(plain)
    short = int(named[0][3]) + 2000 if named[0][3] else 0
    return int(year[1]) if year else short, MONTHS[named[0][1]]


def months_from(first: str, sheets: Sequence[int]) -> tuple[str, ...]:
    """Month of each sheet, where the first is known and the others are called after months.

    Examples
    --------
    >>> months_from("2024-12", (12, 1, 2)), months_from("2024-12", ())
    (('2024-12', '2025-01', '2025-02'), ('2024-12',))
    """
    year, last = int(first[:4]), int(first[5:])
    months = [first]
    for month in sheets[1:]:
        year += last - month > 6  # a leap back of many months is the turn of a year
        months.append(f"{year}-{month:02d}")
        last = month
    return tuple(months)


def whole_dates(
    days: Sequence[Cell],
    months: Sequence[Cell] | None,
    years: Sequence[Cell] | None,
    firsts: Sequence[str] = (),
    sheets: Sequence[int] = (),
) -> list[Cell]:
    """A date for each day; where the year is nowhere, day and month as a text; what is no day stays as it is.

    Parameters
    ----------
    months, years
        Cells of the columns that hold them; an empty one means what stands above it.
    firsts
        Month of the first reading of each sheet, or of the first of all, where no column has it.
    sheets
        Position of the sheet of each day.

    Examples
    --------
    >>> [str(cell) for cell in whole_dates(["30", "31", "1"], None, None, ["2024-01"])]
    ['2024-01-30', '2024-01-31', '2024-02-01']
    >>> whole_dates([5.0], ["Jan"], None)
    ['5 Jan']
    """
    if months is None:
        return _counted_on(days, firsts, sheets or [0] * len(days))
    month: Cell = None
    year: Cell = None
    dates: list[Cell] = []
    for place, cell in enumerate(days):
        month = months[place] if months[place] is not None else month
        year = years[place] if years is not None and years[place] is not None else year
        dates.append(_date(cell, month, year))
    return dates


def _date(day: Cell, month: Cell, year: Cell) -> Cell:
    number, of_year = month_number(month), year_number(year)
    if isinstance(month, date | str) and not of_year:
        of_year = month.year if isinstance(month, date) else month_and_year(month)[0]
    if not day_number(day) or not number:
        return day
    if of_year:
        return _of(of_year, number, day)
    name = next(name for name, known in MONTHS.items() if known == number)
    return f"{day_number(day)} {name.capitalize()}"


def _of(year: int, month: int, day: Cell) -> Cell:
    """The date, or a text that is none where the month has no such day."""
    try:
        return date(year, month, day_number(day))
    except ValueError:
        return f"{year}-{month:02d}-{day_number(day):02d}"


def _counted_on(days: Sequence[Cell], firsts: Sequence[str], sheets: Sequence[int]) -> list[Cell]:
    numbers = [number for cell in days if (number := day_number(cell))]
    rises = sum(after > before for before, after in itertools.pairwise(numbers))
    falls = sum(after < before for before, after in itertools.pairwise(numbers))
    step = 1 if rises >= falls else -1
    dates: list[Cell] = []
    months, last, sheet = 0, 0, -1
    for cell, of_sheet in zip(days, sheets, strict=True):
        if of_sheet != sheet and len(firsts) > of_sheet:
            months, last = _months(firsts[of_sheet]), 0
        sheet, number = of_sheet, day_number(cell)
        if not number:
            dates.append(cell)
            continue
        if last and (last - number) * step >= _BACK:
            months += step
        last = number
        dates.append(_of(months // 12, months % 12 + 1, cell))
    return dates


def _months(month: str) -> int:
    """Months since the year 0."""
    return int(month[:4]) * 12 + int(month[5:]) - 1
