"""How good values are, as historians say it in a column beside them."""

from collections.abc import Mapping, Sequence

from server.intake.header_rows import cell_text
from server.intake.numerals import Marks, is_no_value, read_number
from server.intake.plain_letters import plain_letters
from server.intake.rows import Cell
from server.intake.understand.words import facet_of, words_of

GOOD = frozenset((
    "", "good", "ok", "0", "192", "valid", "g", "true", "1", "gut", "bon", "bueno", "bom", "normal",
    "gultig", "correct",
))  # fmt: skip
"""Quality of a value that counts."""
_BAD = frozenset((
    "bad", "uncertain", "fail", "failed", "fault", "error", "err", "invalid", "stale", "suspect", "questionable", "b",
    "u", "nok", "false", "no data", "not connected", "comm fail", "schlecht", "ungultig", "unsicher", "storung",
    "malo", "mauvais", "douteux", "dudoso", "incierto", "forced", "substituted", "out of service",
))  # fmt: skip
_OPC_GOOD = 192
"""Codes of OPC (Data Access 3.0, quality flags): good from here on, uncertain from 64, bad below."""
_SAYS = frozenset(("quality", "state"))
_SHORT = frozenset(("q", "qc", "qual", "st", "flag", "valid"))
_YES = frozenset(("valid", "ok", "good", "gultig", "gut", "valide", "bon"))
"""Words that make 0 a no."""
_NO_NAME = _SHORT | {"value", "val", "pv"}
_FEWEST_PAIRS = 2


def are_good(cells: Sequence[Cell], name: str = "") -> list[bool]:
    """Whether each quality is good; 0 is in most programs, but not among codes of OPC, nor in a column called valid.

    Examples
    --------
    >>> are_good(["1", "0"], "Feed pressure valid"), are_good(["1", "0"], "Quality")
    ([True, False], [True, True])
    >>> are_good(["Good", "Bad", None]), are_good(["192", "0", "64"]), are_good([0.0, 1.0, 2.0])
    ([True, False, True], [True, False, False], [True, True, False])
    """
    texts = [plain_letters(cell_text(cell)).strip() for cell in cells]
    opc = any(text.isdigit() and _OPC_GOOD <= int(text) < 256 for text in texts)
    if opc:
        return [not text or (text.isdigit() and int(text) >= _OPC_GOOD) for text in texts]
    good = GOOD - {"0", "false"} if set(words_of(name)) & _YES else GOOD
    return [text in good for text in texts]


def find_qualities(columns: Mapping[str, Sequence[Cell]], marks: Marks) -> dict[str, str]:
    """Columns of qualities by the columns of values that they belong to: of the same name, or just left of them."""
    names = list(columns)
    qualities = [name for name in names if _holds_qualities(name, columns[name])]
    values = [name for name in names if name not in qualities and _holds_numbers(columns[name], marks)]
    found: dict[str, str] = {}
    beside = 0
    for name in qualities:
        own = _own_words(name)
        same = [value for value in values if own and _own_words(value) == own]
        left = names[names.index(name) - 1] if names.index(name) else ""
        if len(same) == 1:
            found[same[0]] = name
        elif left in values and not own:
            found[left], beside = name, beside + 1
    named = len(found) - beside
    return found if named or beside >= _FEWEST_PAIRS else {}


def _holds_qualities(name: str, cells: Sequence[Cell]) -> bool:
    texts = {plain_letters(cell_text(cell)).strip() for cell in cells if cell is not None}
    words = words_of(name)
    named = any(word in _SHORT or (facet_of(word) or ("", ""))[1] in _SAYS for word in words)
    codes = all(text.isdigit() and int(text) < 256 for text in texts)
    return bool(texts) and named and (texts <= GOOD | _BAD or codes)


def _holds_numbers(cells: Sequence[Cell], marks: Marks) -> bool:
    filled = [cell for cell in cells if not is_no_value(cell)]
    return sum(read_number(cell, marks) is not None for cell in filled) > 0.5 * len(filled)


def _own_words(name: str) -> frozenset[str]:
    """Words of a name that are its own: not those for value, quality, unit or that it comes again."""
    name = name.split("[")[0].split("(")[0]
    return frozenset(
        word for word in words_of(name) if word not in _NO_NAME and (facet_of(word) or ("", ""))[1] not in _SAYS
    )
