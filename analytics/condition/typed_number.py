"""Numbers as people type them: with a decimal point or comma, with or without thousands marks."""

import re
from decimal import ROUND_HALF_UP, Decimal

LONGEST = 16
_GAPS = re.compile("[ \u00a0\u2009\u202f']")
_PLAIN = re.compile(r"^[+-]?(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)$")
_POINTS_THEN_COMMA = re.compile(r"^[+-]?[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+$")
_COMMAS_THEN_POINT = re.compile(r"^[+-]?[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+$")
_ONE_COMMA = re.compile(r"^[+-]?[1-9][0-9]{0,2},[0-9]{3}$")
_THOUSANDS = re.compile(r"^[+-]?[0-9]{1,3}(?:(?:\.[0-9]{3}){2,}|(?:,[0-9]{3}){2,})$")


def plain_number(text: str) -> str | None:
    """The number in a text, written with a point and nothing else; None when it is no number.

    A single comma is a decimal comma: "1,243" is 1.243, and a value a thousand times too small is asked about; where
    nobody can tell, so is the comma (`without_comma`).

    Examples
    --------
    >>> plain_number("12,5"), plain_number("1 243"), plain_number("1.234,5"), plain_number("12 bar")
    ('12.5', '1243', '1234.5', None)
    """
    found = _GAPS.sub("", text.strip()).replace("\u2212", "-")
    if len(found) > LONGEST:
        return None
    if _PLAIN.match(found):
        return found.replace(",", ".")
    if _POINTS_THEN_COMMA.match(found):
        return found.replace(".", "").replace(",", ".")
    if _COMMAS_THEN_POINT.match(found):
        return found.replace(",", "")
    return re.sub("[.,]", "", found) if _THOUSANDS.match(found) else None


def without_comma(text: str) -> str | None:
    """What a number with one comma would be if that were a thousands mark; None where it can be none.

    Examples
    --------
    >>> without_comma("12,480"), without_comma("12,48"), without_comma("0,125")
    ('12480', None, None)
    """
    found = _GAPS.sub("", text.strip()).replace("\u2212", "-")
    return found.replace(",", "") if _ONE_COMMA.match(found) else None


MOST_DECIMALS = 9
"""Decimals of the least numbers that are written. [-]"""


def count_digits(digits: str) -> int:
    """Digits of a number as typed, zeros in front left out."""
    return len("".join(sign for sign in digits if sign.isdigit()).lstrip("0"))


def number_text(value: float, digits: int = 4, *, trim: bool = True) -> str:
    """Write a number with so many significant digits, never fewer than its whole part has.

    Examples
    --------
    >>> number_text(11.99688), number_text(11.99688, 3, trim=False), number_text(24000.4)
    ('12', '12.0', '24000')
    """
    size, decimals, edge = abs(value), digits - 1, 10.0
    while size >= edge and decimals > 0:
        edge *= 10.0
        decimals -= 1
    edge = 1.0
    while 0 < size < edge and decimals < MOST_DECIMALS:
        edge /= 10.0
        decimals += 1
    text = f"{Decimal(value).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP):f}"
    if trim and "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text.strip("-0.") == "" and trim else text


def shifted(digits: str, power: int) -> str:
    """A number as typed with its decimal point moved by some places.

    Examples
    --------
    >>> shifted("121", -1), shifted("1.21", 1), shifted("5", -2)
    ('12.1', '12.1', '0.05')
    """
    sign = digits[0] if digits[0] in "+-" else ""
    whole, _, rest = digits[len(sign) :].partition(".")
    signs, place = whole + rest, len(whole) + power
    if place <= 0:
        signs, place = "0" * (1 - place) + signs, 1
    signs = signs.ljust(place, "0")
    text = signs[:place].lstrip("0") or "0"
    after = signs[place:].rstrip("0")
    return f"{sign}{text}.{after}" if after else f"{sign}{text}"
