"""Numbers that people type into forms, with a decimal point or comma: one reader for all of them."""

import math
import re

from analytics.condition.typed_number import plain_number

NOT_A_NUMBER = "This is not a number; write it like 12.5 or 12,5."
TOO_LARGE = "This is too large a number."
_TWO = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")


def typed_number(text: str) -> str:
    """The number in a field, written with a point and nothing else.

    Raises
    ------
    ValueError
        With the sentence to show: it is no number, or could be two. The shift log knows what each gauge shows, and need
        not ask that.

    Examples
    --------
    >>> typed_number("12,5"), typed_number("9 960.50"), typed_number("1e-3")
    ('12.5', '9960.50', '1e-3')
    >>> typed_number("1,234")
    Traceback (most recent call last):
        ...
    ValueError: This can be read as 1.234 or as 1234; write the one you mean.
    """
    found = text.strip()
    if _TWO.fullmatch(found):
        point, whole = found.replace(",", "."), found.replace(",", "")
        raise ValueError(f"This can be read as {point} or as {whole}; write the one you mean.")
    plain = plain_number(found) or (found if "," not in found and "_" not in found else "")
    try:
        value = float(plain)
    except ValueError:
        raise ValueError(NOT_A_NUMBER) from None
    if not math.isfinite(value):
        raise ValueError(TOO_LARGE if any(sign.isdigit() for sign in plain) else NOT_A_NUMBER)
    return plain


def number_problem(text: str) -> str:
    """What is wrong with a number that was typed, "" where nothing is."""
    try:
        typed_number(text)
    except ValueError as error:
        return str(error)
    return ""
