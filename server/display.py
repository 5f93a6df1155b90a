"""How numbers, units and dates are written for people: thin spaces, a true minus sign, dates in words.

Values come in canonical units and leave as text in the reader's units ("SI" or "US"); `analytics.units` converts.
"""

import math
import re
from datetime import date, datetime, tzinfo

from analytics.quantities import Quantity
from analytics.units import display_unit, from_canonical

THIN = "\u202f"
"""Narrow no-break space: between digits grouped by thousands, and between a number and its unit."""
MINUS = "\u2212"
DASH = "\u2013"
UNKNOWN = DASH
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
UNIT_SYMBOLS = {
    "degC": "°C", "degF": "°F", "m3/h": "m³/h", "uS/cm": "µS/cm", "m3": "m³", "-": "",
}  # fmt: skip

_UNIT_NAMES = re.compile(r"(?<!\w)(?:degC|degF|m3/h|m3|uS/cm)(?![\w/])")


def unit_symbol(unit: str) -> str:
    """Write a unit the way a page does: `m3/h` as m³/h, none as nothing."""
    return UNIT_SYMBOLS.get(unit, unit)


def with_symbols(text: str) -> str:
    """Write the units of a sentence the way a page does.

    Examples
    --------
    >>> with_symbols("The largest flow, in m3/h, at 25 degC.")
    'The largest flow, in m³/h, at 25 °C.'
    """
    return _UNIT_NAMES.sub(lambda found: UNIT_SYMBOLS[found[0]], text)


def number(value: float | None, decimals: int = 0) -> str:
    """Write a number with thin spaces between thousands; a missing one as a dash.

    Examples
    --------
    >>> number(-3480.26, 1) == "\u22123\u202f480.3"
    True
    """
    if value is None or not math.isfinite(value):
        return UNKNOWN
    text = f"{abs(value):,.{decimals}f}".replace(",", THIN)
    negative = value < 0 and any(digit in text for digit in "123456789")
    return f"{MINUS}{text}" if negative else text


def measured(value: float | None) -> str:
    """Write a measured value with about three significant figures, as a gauge is read.

    Examples
    --------
    >>> measured(13.62), measured(0.624), measured(78.4)
    ('13.6', '0.62', '78.4')
    """
    if value is None or not math.isfinite(value):
        return UNKNOWN
    size = abs(value)
    decimals = 0 if size >= 100 else 1 if size >= 10 else 2
    return number(value, decimals)


def in_reader_units(value: float | None, quantity: Quantity, units: str) -> str:
    """Write a value of a quantity in the reader's units, without the unit."""
    if value is None or not math.isfinite(value):
        return UNKNOWN
    return measured(float(from_canonical(value, quantity.unit, display_unit(quantity.unit, units))))


def reader_unit(quantity: Quantity, units: str) -> str:
    """Symbol of the unit in which the reader sees a quantity."""
    return unit_symbol(display_unit(quantity.unit, units))


def with_unit(value: float | None, quantity: Quantity, units: str) -> str:
    """Write a value of a quantity in the reader's units, with the unit."""
    symbol = reader_unit(quantity, units)
    text = in_reader_units(value, quantity, units)
    return f"{text}{THIN}{symbol}" if symbol and text != UNKNOWN else text


def signed(value: float | None, decimals: int = 0) -> str:
    """Write a number with its sign, zero without one."""
    text = number(value, decimals)
    plus = value is not None and text[0].isdigit() and any(digit in text for digit in "123456789")
    return f"+{text}" if plus else text


def percent_change(ratio: float | None, decimals: int = 1) -> str:
    """Write a ratio to the reference as the change against it.

    Examples
    --------
    >>> percent_change(0.931) == "\u22126.9\u202f%"
    True
    """
    return percent(None if ratio is None else ratio - 1, decimals)


def percent(fraction: float | None, decimals: int = 1) -> str:
    """Write a fraction as a signed percentage."""
    if fraction is None or not math.isfinite(fraction):
        return UNKNOWN
    return f"{signed(fraction * 100, decimals)}{THIN}%"


def day(value: date) -> str:
    """Write a day in words: 24 April 2026."""
    return f"{value.day}\u00a0{MONTHS[value.month - 1]} {value.year}"


def short_day(value: date) -> str:
    """Write a day where there is little room: 24 Apr 2026."""
    return f"{value.day}\u00a0{MONTHS[value.month - 1][:3]}\u00a0{value.year}"


def days_between(first: date, last: date) -> str:
    """Write a span of days in words, naming month and year once where they are shared."""
    if first == last:
        return day(first)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} to {day(last)}"
    if first.year == last.year:
        return f"{first.day}\u00a0{MONTHS[first.month - 1]} to {day(last)}"
    return f"{day(first)} to {day(last)}"


def moment(value: datetime, zone: tzinfo) -> str:
    """Write an instant as local day and clock: 24 April 2026, 06:10."""
    local = value.astimezone(zone)
    return f"{day(local)}, {local:%H:%M}"


def ago(then: datetime, now: datetime) -> str:
    """Write how long ago an instant was, in the largest unit that says enough."""
    minutes = (now - then).total_seconds() / 60
    for size, word, least in (
        (60 * 24 * 365.25, "year", 2), (60 * 24 * 30.44, "month", 2), (60 * 24, "day", 2), (60, "hour", 1),
        (1, "minute", 2),
    ):  # fmt: skip
        count = int(minutes // size)
        if count >= least:
            return f"{number(count)} {word}{'s' if count > 1 else ''} ago"
    return "just now"


def counted(count: int, one: str, many: str = "") -> str:
    """Write a count with its noun: 1 reading, 1 246 readings."""
    return f"{number(count)}\u00a0{one if count == 1 else many or one + 's'}"


def in_words(count: int) -> str:
    """Small counts as a sentence writes them: one, two, ... twelve; larger ones in figures."""
    words = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
    return words[count] if 0 <= count < len(words) else number(count)


def file_size(count: int) -> str:
    """A size as people speak of files: 64 MB."""
    megabytes = count / 1024**2
    return f"{number(megabytes, 0 if megabytes >= 10 else 1)}{THIN}MB"


def uncapitalized(text: str) -> str:
    """Start with a small letter, as inside a sentence."""
    return text[:1].lower() + text[1:]


def sentence(text: str) -> str:
    """Start with a capital letter, as a sentence does, leaving the rest alone."""
    return text[:1].upper() + text[1:]
