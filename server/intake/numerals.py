"""Read numbers as people type them: decimal comma, marks between thousands, `<` before and a unit behind."""

import re
from dataclasses import dataclass
from functools import lru_cache

from server.intake.rows import NEVER_WORKED_OUT, Cell

GAPS = " \u00a0\u2009\u202f'\u2019"
"""Signs that can only stand between thousands, whatever the decimal mark is."""
NO_VALUE = frozenset(
    [
        "-",
        "--",
        "---",
        "----",
        "–",
        "—",
        ".",
        "..",
        "...",
        "/",
        "\\",
        "*",
        "?",
        "x",
        "xx",
        "na",
        "n/a",
        "n.a.",
        "n.a",
        "n\\a",
        "nan",
        "null",
        "none",
        "nil",
        "nd",
        "n.d.",
        "n/d",
        "n.d",
        "ns",
        "n/s",
        "s/d",
        "s/r",
        "s.d.",
        "k.a.",
        "k.w.",
        "e.h.",
        "err",
        "error",
        "#n/a",
        "#na",
        "#div/0!",
        "#ref!",
        "#value!",
        "#name?",
        "#num!",
        "#null!",
        "#error",
        "bad",
        "badinput",
        "nodata",
        "missing",
        "notavailable",
        "notmeasured",
        "notread",
        "notrecorded",
        "notaken",
        "nottaken",
        "nosample",
        "noreading",
        "unavailable",
        "offline",
        "oos",
        "outofservice",
        "commfail",
        "timeout",
        "i/otimeout",
        "ptcreated",
        "scanoff",
        "configure",
        "calibration",
        "calib",
        "broken",
        "faulty",
        "fault",
        "defekt",
        "ausfall",
        "keinwert",
        "kein",
        "ausserbetrieb",
        "horsservice",
        "fueradeservicio",
        "off",
        "down",
        "shutdown",
        "stop",
        "stopped",
        "standby",
        "shut",
        "notrunning",
        "idle",
        "blank",
        "ol",
        "o.l.",
        "o/l",
        "ofl",
        "ovfl",
        "overload",
        "overflow",
        "overrange",
        "underrange",
        "outofrange",
        "over",
        "under",
        "vacio",
        "vide",
        "leer",
        "n.n.",
        "n.n",
        "nn",
        "n.m.",
        "n.b.",
        "u.d.b.",
        "bdl",
        "b.d.l.",
        "lod",
        "<lod",
        "<dl",
        "f/s",
        "f.s.",
        "cip",
        "cleaning",
        "reinigung",
        "lavado",
        "lavage",
        "flush",
        "flushing",
        "rinse",
        "backwash",
        "maintenance",
        "wartung",
        "trip",
        "tripped",
        "fail",
        "failed",
        "nopower",
        "nowater",
        "nofeed",
        "notinservice",
        "nichtinbetrieb",
        "closed",
    ]
)
"""Cells that say that there is no value, in small letters and without spaces."""
DITTO = frozenset((
    "\"", "''", "``", "\u201c", "\u201d", "\u201e", "\u2033", "\u3003", "do", "do.", "dto", "dto.", "dito", "ditto",
    "idem", "id.",
))  # fmt: skip
"""Marks for "the same as above", in small letters, without spaces and dashes."""
ESTIMATED = frozenset((
    "est", "est.", "estimated", "estimate", "e", "approx", "approx.", "ca", "ca.", "?", "??", "aprox", "aprox.",
    "env.", "env", "gesch.", "geschatzt", "geschätzt", "estim.", "estime", "estimé",
))  # fmt: skip
"""What stands behind numbers that somebody judged rather than read."""
_SIGNS = "<>\u2264\u2265~\u2248"


@dataclass(frozen=True)
class Marks:
    """The decimal mark (`.,` where both were typed), and the mark between thousands, beside `GAPS`."""

    decimal: str = "."
    thousands: str = ""


@dataclass(frozen=True)
class Numeral:
    """A number, the sign before it (`<`, `>` or nothing), and what was written behind it."""

    value: float
    sign: str
    behind: str
    bracketed: bool = False
    """Whether it stood in round brackets, as accounts write a minus; `value` has no sign then."""


_IN_BRACKETS = re.compile(r"\(\s*(\d[^()]*)\)")


@lru_cache(maxsize=16)
def _pattern(marks: Marks) -> re.Pattern[str]:
    gap = re.escape(GAPS + marks.thousands)
    mark = re.escape(marks.decimal)
    return re.compile(
        rf"(?P<sign>[{_SIGNS}]=?|ca\.?|approx\.?)?\s*(?P<minus>[+\-\u2212\u2013])?\s*"
        rf"(?P<whole>\d{{1,3}}(?:[{gap}]\d{{3}})+(?!\d)|\d{{1,2}}(?:[{gap}]\d{{2}})+[{gap}]\d{{3}}(?!\d)|\d*)(?:[{mark}](?P<rest>\d*))?(?P<power>[eE][+-]?\d{{1,3}})?"
        r"(?P<behind>[\s\u00a0\u202f]*[^\W\d_].*|[\s\u00a0\u202f]*[%\u00b0*(\[\"?].*)?"
    )


def is_no_value(cell: Cell) -> bool:
    """Whether a cell says, in one way or another, that nothing was measured."""
    if cell is None:
        return True
    return isinstance(cell, str) and "".join(cell.lower().split()) in NO_VALUE


def is_ditto(cell: Cell) -> bool:
    """Whether a cell says that it is the same as the one above.

    Examples
    --------
    >>> is_ditto("ditto"), is_ditto("- \u201d -"), is_ditto("-")
    (True, True, False)
    """
    return isinstance(cell, str) and "".join(cell.lower().split()).strip("-\u2013\u2014") in DITTO


def read_number(cell: Cell, marks: Marks) -> Numeral | None:
    """The number in a cell, or None when it holds something else.

    Examples
    --------
    >>> read_number("1.234,5 kPa", Marks(",", "."))
    Numeral(value=1234.5, sign='', behind='kPa', bracketed=False)
    >>> read_number("<0.05", Marks())
    Numeral(value=0.05, sign='<', behind='', bracketed=False)
    """
    if isinstance(cell, float):
        return Numeral(cell, "", "")
    if not isinstance(cell, str) or cell == NEVER_WORKED_OUT:
        return None
    bracketed = _IN_BRACKETS.fullmatch(cell)
    found = _pattern(marks).fullmatch(bracketed[1] if bracketed else cell)
    if found is None or not (found["whole"] or found["rest"]):
        return None
    whole = "".join(sign for sign in found["whole"] if sign.isdigit())
    text = f"{whole or '0'}.{found['rest'] or '0'}{found['power'] or ''}"
    value = float(text)
    minus = found["minus"] is not None and found["minus"] != "+"
    sign = (found["sign"] or "")[:1]
    sign = {"\u2264": "<", "\u2265": ">"}.get(sign, sign if sign in "<>" else "")
    return Numeral(-value if minus else value, sign, (found["behind"] or "").strip(), bracketed is not None)


def plain_number(text: str, marks: Marks) -> float | None:
    """The number in a cell of nothing but digits and a decimal mark, as most are; None for all others."""
    digits = text.replace(marks.decimal, ".", 1) if len(marks.decimal) == 1 else ""
    if not digits.replace(".", "", 1).isdecimal() or (marks.decimal == "," and "." in text):
        return None
    return float(digits)


def could_be_two(text: str, marks: Marks) -> bool:
    """Whether a number can be read in two ways where both decimal marks are in use: `1,234`."""
    return len(marks.decimal) > 1 and re.fullmatch(r"[+-]?[1-9]\d{0,2}[.,]\d{3}", text) is not None
