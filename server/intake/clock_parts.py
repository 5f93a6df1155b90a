"""Times of day that leave something out: the half of the day, the minutes in a column of their own, the day itself."""

import itertools
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from server.intake.header_rows import cell_text
from server.intake.moments import read_clock
from server.intake.rows import Cell

_HALF = timedelta(hours=12)


def read_minutes(cell: Cell) -> timedelta | None:
    """Minutes of an hour; an empty cell has none of them.

    Examples
    --------
    >>> read_minutes("15"), read_minutes(None), read_minutes("75") is None
    (datetime.timedelta(seconds=900), datetime.timedelta(0), True)
    """
    text = cell_text(cell)
    if not text:
        return timedelta(0)
    return timedelta(minutes=int(text)) if text.isdecimal() and int(text) < 60 else None


def after_noon(texts: Sequence[str | None]) -> list[str | None]:
    """Times in ISO 8601 by a clock of twelve hours: on each date, from where they go back (or stand) it is after noon.

    Examples
    --------
    >>> after_noon(["2024-05-01 06:00:00", "2024-05-01 06:00:00", "2024-05-02 12:30:00", "2024-05-02 04:00:00"])
    ['2024-05-01 06:00:00', '2024-05-01 18:00:00', '2024-05-02 00:30:00', '2024-05-02 04:00:00']
    """
    known = [text[:10] for text in texts if text]
    newest_first = bool(known) and known[0] > known[-1]
    found = _forward(list(reversed(texts)) if newest_first else texts)
    return found[::-1] if newest_first else found


def _moment(text: str | None) -> datetime | None:
    """A time in ISO 8601; None for a date alone, and for what could not be read and stands as it was written."""
    try:
        return datetime.fromisoformat(text) if text and len(text) > len("2024-05-01") else None
    except ValueError:
        return None


def _forward(texts: Sequence[str | None]) -> list[str | None]:
    found: list[str | None] = []
    day, last, late = "", timedelta(-1), False
    for text in texts:
        at = _moment(text)
        if text is None or at is None:
            found.append(text)
            continue
        midnight = at.replace(hour=0, minute=0, second=0)
        span = (at - midnight) % _HALF
        if text[:10] != day:
            day, late, last = text[:10], False, timedelta(-1)
        late, last = late or span <= last, span
        found.append((midnight + span + (_HALF if late else timedelta(0))).isoformat(sep=" "))
    return found


def counted_on(clocks: Sequence[Cell], first: date) -> list[str | None]:
    """Times in ISO 8601 of times of day alone; what is no time of day stays as it is.

    Where they go back past midnight, the next day begins (or the one before, where the newest stand first).

    Examples
    --------
    >>> counted_on(["22:00", "23:00", "00:00"], date(2024, 6, 12))
    ['2024-06-12 22:00:00', '2024-06-12 23:00:00', '2024-06-13 00:00:00']
    """
    spans = [read_clock(cell) for cell in clocks]
    known = [span for span in spans if span is not None]
    rises = sum(after > before for before, after in itertools.pairwise(known))
    step = 1 if rises * 2 >= len(known) - 1 else -1
    day, last = datetime.combine(first, datetime.min.time()), None
    found: list[str | None] = []
    for cell, span in zip(clocks, spans, strict=True):
        if span is None:
            found.append(cell_text(cell) or None)
            continue
        if last is not None and (span - last) * step < timedelta(0):
            day += timedelta(days=step)
        last = span
        found.append((day + span).isoformat(sep=" "))
    return found
