"""Read dates and times as people type them. The order of day and month is given; nothing is guessed here."""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone
from functools import lru_cache
from typing import Literal

from server.intake.month_names import LETTERS, MONTHS
from server.intake.plain_letters import plain_letters
from server.intake.rows import Cell

Order = Literal["day first", "month first", "year first"]
ORDERS: tuple[Order, ...] = ("day first", "month first", "year first")
SERIAL_DAY_0 = datetime(1899, 12, 30)  # noqa: DTZ001  # by the local clock
"""Day 0 of the date numbers of a spreadsheet, as counted from 1 March 1900 on (ECMA-376, part 1, 18.17.4.1)."""
SERIALS = (20_000.0, 80_000.0)
"""Date numbers that are taken as such: 1954 to 2119."""
SECONDS = (1e9, 2.2e9)
"""Seconds since 1970 that are taken as such: 2001 to 2039; a thousand times that is milliseconds."""
HALVES = {"am": 0, "a": 0, "a.m.": 0, "a.m": 0, "pm": 12, "p": 12, "p.m.": 12, "p.m": 12}
"""Hours from midnight or noon on, by the words for before and after noon."""
_ZONES = {
    "z": 0, "utc": 0, "gmt": 0, "est": -5, "edt": -4, "cst": -6, "cdt": -5, "mst": -7, "mdt": -6, "pst": -8, "pdt": -7,
    "cet": 1, "mez": 1, "cest": 2, "mesz": 2, "eet": 2, "eest": 3, "aest": 10, "aedt": 11, "jst": 9,
}  # fmt: skip
FARTHEST_ZONE_H = 14
"""No clock on earth is further from UTC. [h]"""
_CLOCK = re.compile(
    r"(?P<hour>\d{1,2})(?:(?::|\s?h\s?)(?P<minute>\d{2})(?:(?:[:m](?P<second>\d{2}))(?:[.,]\d+)?)?)?"
    r"\s*(?:(?P<half>[ap])(?:\.?\s?m\.?)?(?![a-z])|m(?![a-z]))?\s*(?:(?P<said>uhr|hrs?|h)|min)?\s*(?P<zone>[a-z]{1,4}|[+-]\d{2}(?::?\d{2})?)?"
)
_NUMBERS = re.compile(r"(\d{1,4})\s?[-/.\s]\s?(\d{1,2})\s?[-/.\s]\s?(\d{4}|\d{2}|\d)(?!\d)")
_DAY_NAME = re.compile(
    rf"(\d{{1,2}})\.?[-/\s]*(?:de\s+)?({LETTERS}{{3,12}})\.?[-/\s,]*(?:de\s+)?(\d{{4}}|\d{{2}})(?!\d)"
)
_NAME_DAY = re.compile(rf"({LETTERS}{{3,12}})\.?[-/\s]*(\d{{1,2}})[-/\s,]+(\d{{4}}|\d{{2}})(?!\d)")
_YEAR_NAME = re.compile(rf"(\d{{4}})[-/\s]({LETTERS}{{3,12}})[-/\s](\d{{1,2}})(?!\d)")
_YEAR_LAST = re.compile(rf"^({LETTERS}{{3,9}} \d{{1,2}}) (\d{{1,2}}:\d{{2}}(?::\d{{2}})?) ?([a-z]{{3,4}})? (\d{{4}})$")
"""As computers of one family write the time: Jan 15 06:00:00 EST 2024."""
_COMPACT = re.compile(r"((?:19|20)\d{2})(\d{2})(\d{2})[t_\s]?(?:(\d{2})(\d{2})(\d{2})?)?")
_WEEKDAY = re.compile(
    r"^(?:mo|di|mi|do|fr|sa|so|mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun|(?:mon|tues|wednes|thurs|fri|satur|sun)day|"
    r"(?:mon|diens|donners|frei|sams|sonn)tag|mittwoch|sonnabend|lun|mar|mer|jeu|ven|sam|dim|lundi|mardi|mercredi|jeudi|"
    r"vendredi|samedi|dimanche|lunes|martes|miercoles|jueves|viernes|sabado|domingo|segunda|terca|quarta|quinta|sexta)"
    r"(?:-feira)?\.?,?\s+(?=\S)"
)


_CHARACTERS_OF_DATES = re.compile(r"(?<=\d)\s*[\u5e74\u6708]\s*|(?<=\d)[\u65e5\u65f6\u6642\u5206\u79d2]\s*")
"""Behind the numbers of a date in Chinese and Japanese."""


@dataclass(frozen=True)
class DateNumbers:
    """The three numbers of a date whose order is open, as they stand in the cell."""

    first: int
    second: int
    third: int
    first_digits: int
    third_digits: int


@dataclass(frozen=True)
class Moment:
    """A date, with a clock time or without, with an offset or without."""

    at: datetime
    has_clock: bool


def read_moment(cell: Cell, order: Order) -> Moment | None:
    """The date, and clock time if there is one, in a cell; None when it holds none.

    Examples
    --------
    >>> read_moment("12/31/2024 2:15 PM", "month first").at.isoformat()
    '2024-12-31T14:15:00'
    >>> read_moment("31.12.24", "day first")
    Moment(at=datetime.datetime(2024, 12, 31, 0, 0), has_clock=False)
    """
    if isinstance(cell, datetime):
        return Moment(_to_second(cell), True)
    if isinstance(cell, date):
        return Moment(datetime.combine(cell, time()), False)
    if isinstance(cell, float):
        return _from_number(cell)
    return _from_text(plain_text(cell), order) if isinstance(cell, str) else None


def date_numbers(cell: Cell) -> DateNumbers | None:
    """The numbers of a date written in figures alone, to find out their order; None for anything else."""
    if not isinstance(cell, str):
        return None
    found = _NUMBERS.match(plain_text(cell))
    if found is None:
        return None
    return DateNumbers(int(found[1]), int(found[2]), int(found[3]), len(found[1]), len(found[3]))


@lru_cache(maxsize=4096)
def read_clock(cell: Cell) -> timedelta | None:
    """Time of day in a cell of its own, since midnight; None when it holds none.

    Examples
    --------
    >>> read_clock("2:15 pm"), read_clock("0600"), read_clock("6h")
    (datetime.timedelta(seconds=51300), datetime.timedelta(seconds=21600), datetime.timedelta(seconds=21600))
    """
    if isinstance(cell, datetime):
        cell = cell.time()
    if isinstance(cell, time):
        return timedelta(hours=cell.hour, minutes=cell.minute, seconds=cell.second)
    if isinstance(cell, float):
        return _clock_number(cell)
    if not isinstance(cell, str):
        return None
    text = plain_text(cell)
    if re.fullmatch(r"\d{1,2}", text):
        return _span(int(text), 0, 0)
    if re.fullmatch(r"\d{5,6}", text):
        return _span(int(text[:-4]), int(text[-4:-2]), int(text[-2:]))
    if re.fullmatch(r"\d{3,4}", text):
        return _span(int(text[:-2]), int(text[-2:]), 0)
    if re.fullmatch(r"0?\.\d+", text):
        return _clock_number(float(text))
    text = re.sub(r"^(\d{1,2})\.(\d{2})(?!\d)", r"\1:\2", text)
    found = _CLOCK.fullmatch(text)
    return _clock(found) if found and not found["zone"] else None


def read_clock_of_half(cell: Cell, half: Cell) -> timedelta | None:
    """Time of day of which another cell says whether it is before noon or after; a clock of 24 hours stays itself.

    Examples
    --------
    >>> read_clock_of_half("2:15", "PM"), read_clock_of_half("12:30", "am"), read_clock_of_half("14:15", "PM")
    (datetime.timedelta(seconds=51300), datetime.timedelta(seconds=1800), datetime.timedelta(seconds=51300))
    """
    span = read_clock(cell)
    hours = HALVES.get(plain_text(half)) if isinstance(half, str) else None
    noon = timedelta(hours=12)
    if span is None or hours is None or span >= timedelta(hours=13):
        return span
    return span % noon + timedelta(hours=hours)


def _clock_number(number: float) -> timedelta | None:
    """A share of a day as spreadsheets keep it, a whole hour, or 1415 for a quarter past two."""
    if 0 <= number < 1:
        return timedelta(seconds=round(number * 86_400))
    if not number.is_integer():
        return None
    whole = int(number)
    return _span(whole, 0, 0) if whole <= 24 else _span(whole // 100, whole % 100, 0)


def _span(hour: int, minute: int, second: int) -> timedelta | None:
    if hour > 24 or minute > 59 or second > 59 or (hour == 24 and minute + second):
        return None
    return timedelta(hours=hour, minutes=minute, seconds=second)


def _clock(found: re.Match[str]) -> timedelta | None:
    hour, minute, second = (int(found[name] or 0) for name in ("hour", "minute", "second"))
    if found["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if found["half"] == "p" else 0)
    elif found["minute"] is None and not found["said"]:
        return None
    return _span(hour, minute, second)


def _mark_of(found: re.Match[str]) -> str:
    """The mark that stands for a character of a date."""
    return "-" if found[0].strip() in "\u5e74\u6708" else ":" if found[0].strip() in "\u65f6\u6642\u5206" else " "


def plain_text(text: str) -> str:
    """Small letters without accents, plain spaces, no weekday, no ordinals."""
    plain = plain_letters(text)
    plain = " ".join((plain if plain.isascii() else _CHARACTERS_OF_DATES.sub(_mark_of, plain).rstrip(": ")).split())
    plain = _WEEKDAY.sub("", plain)
    return re.sub(r"(?<=\d)(?:st|nd|rd|th)\b", "", plain)


def _from_number(number: float) -> Moment | None:
    if SERIALS[0] <= number <= SERIALS[1]:
        at = SERIAL_DAY_0 + timedelta(seconds=round(number * 86_400))
        return Moment(at, number != int(number))
    for size in (1.0, 1000.0):
        if SECONDS[0] <= number / size <= SECONDS[1]:
            return Moment(datetime.fromtimestamp(number / size, UTC).replace(microsecond=0), True)
    return _from_text(str(int(number)), "year first") if 19_000_101 <= number <= 20_991_231 else None


def _from_text(text: str, order: Order) -> Moment | None:
    compact = _COMPACT.fullmatch(text)
    if compact is not None:
        parts = [int(part) for part in compact.groups() if part]
        return _moment(parts[0], parts[1], parts[2], _span(*[*parts[3:], 0, 0, 0][:3]), len(parts) > 3)
    if re.fullmatch(r"\d+(?:[.,]\d+)?", text):
        return _from_number(float(text.replace(",", ".")))
    text = _YEAR_LAST.sub(r"\1 \4 \2 \3", text)
    day = _date(text, order)
    if day is None:
        return None
    found, year, month, number = day
    rest = text[found.end() :].lstrip(" ,-_t").rstrip(" ,")
    if not rest:
        return _moment(year, month, number, timedelta(0), False)
    clock = _CLOCK.fullmatch(rest)
    span = _clock(clock) if clock else None
    if clock is None or span is None:
        return None
    moment = _moment(year, month, number, span, True)
    return _with_zone(moment, clock["zone"]) if moment and clock["zone"] else moment


def _date(text: str, order: Order) -> tuple[re.Match[str], int, int, int] | None:
    """Where the date stands in a text, and its year, month and day."""
    found = _NUMBERS.match(text)
    if found is not None:
        first, second, third = int(found[1]), int(found[2]), int(found[3])
        if len(found[1]) > 2 or order == "year first":
            return found, _full_year(first), second, third
        day, month = (first, second) if order == "day first" else (second, first)
        return found, _full_year(third), month, day
    for pattern, places in ((_DAY_NAME, (3, 2, 1)), (_NAME_DAY, (3, 1, 2)), (_YEAR_NAME, (1, 2, 3))):
        found = pattern.match(text)
        if found is not None and found[places[1]] in MONTHS:
            return found, _full_year(int(found[places[0]])), MONTHS[found[places[1]]], int(found[places[2]])
    return None


def _full_year(year: int) -> int:
    """A year of two figures is of this century up to 69, as POSIX has it."""
    return year + (2000 if year < 70 else 1900) if year < 100 else year


def _moment(year: int, month: int, day: int, clock: timedelta | None, has_clock: bool) -> Moment | None:
    if clock is None:
        return None
    try:
        return Moment(datetime.combine(date(year, month, day), time()) + clock, has_clock)
    except (ValueError, OverflowError):
        return None


def _with_zone(moment: Moment, zone: str) -> Moment | None:
    if zone in _ZONES:
        return Moment(moment.at.replace(tzinfo=timezone(timedelta(hours=_ZONES[zone]))), True)
    if zone[0] not in "+-":
        return None
    digits = zone[1:].replace(":", "").ljust(4, "0")
    hours, minutes = int(digits[:2]), int(digits[2:])
    if hours > FARTHEST_ZONE_H or minutes > 59:
        return None
    span = timedelta(hours=hours, minutes=minutes)
    return Moment(moment.at.replace(tzinfo=timezone(-span if zone[0] == "-" else span)), True)


def _to_second(at: datetime) -> datetime:
    """Spreadsheets keep times as shares of a day, some microseconds beside the second."""
    return (at + timedelta(microseconds=500_000)).replace(microsecond=0)
