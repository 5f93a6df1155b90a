"""The day that the name of a file or a title says, for a table that has times of day alone."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from server.intake.dates_above import OF_OTHER_THINGS, date_in
from server.intake.moments import read_moment
from server.intake.understand.words import words_of

_YEAR_FIRST = re.compile(r"(?<!\d)(20\d{2})([-_. ]?)(0[1-9]|1[0-2])\2(0[1-9]|[12]\d|3[01])(?!\d)")
_YEAR_LAST = re.compile(r"(?<!\d)(\d{1,2})([-_. ])(\d{1,2})\2(20\d{2})(?!\d)")


@dataclass(frozen=True)
class DayNamed:
    """The day that is offered (2024-06-12, "" where none is named), the text that says so, and whether it is sure."""

    day: str
    text: str
    sure: bool


def day_named(texts: Iterable[str]) -> DayNamed:
    """The one day that some texts name.

    Examples
    --------
    >>> day_named(["RO1_2024-06-12.csv"]), day_named(["log 05-06-2024.csv"]).sure
    (DayNamed(day='2024-06-12', text='RO1_2024-06-12.csv', sure=True), False)
    """
    found = [(day, text, sure) for text in texts for day, sure in [_day_in(text)] if day is not None]
    if len({day for day, _, _ in found}) != 1:
        return DayNamed("", "", False)
    day, text, sure = found[0]
    return DayNamed(day.isoformat(), text, sure and not set(words_of(text)) & OF_OTHER_THINGS)


def _day_in(text: str) -> tuple[date | None, bool]:
    """The day that a text names, and whether day and month could not be exchanged."""
    figures = _YEAR_FIRST.search(text)
    if figures is not None:
        return _date(int(figures[1]), int(figures[3]), int(figures[4])), True
    figures = _YEAR_LAST.search(text)
    if figures is not None:
        first, second, year = int(figures[1]), int(figures[3]), int(figures[4])
        day, month = (second, first) if second > 12 else (first, second)
        return _date(year, month, day), max(first, second) > 12 or first == second or figures[2] == "."
    cell = date_in(re.sub(r"[_]|\.(?=[a-z]{3,4}$)", " ", text))
    moment = read_moment(cell, "day first") if isinstance(cell, str) else None
    return (moment.at.date(), True) if moment is not None else (None, False)


def _date(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
