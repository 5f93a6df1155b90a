"""Numbers as people type them: with a decimal point or comma, with or without thousands marks."""

import re

LONGEST = 16
_GAPS = re.compile("[ \u00a0\u2009\u202f']")
_PLAIN = re.compile(r"^[+-]?(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)$")
_POINTS_THEN_COMMA = re.compile(r"^[+-]?[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+$")
_COMMAS_THEN_POINT = re.compile(r"^[+-]?[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+$")
_THOUSANDS = re.compile(r"^[+-]?[0-9]{1,3}(?:(?:\.[0-9]{3}){2,}|(?:,[0-9]{3}){2,})$")


def plain_number(text: str) -> str | None:
    """The number in a text, written with a point and nothing else; None when it is no number.

    A single comma is a decimal comma: "1,243" is 1.243, and a value a thousand times too small is asked about.

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
