"""Find out how the bytes of a text file stand for signs, and which sign stands between its columns."""

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass

from server.errors import FileProblem
from server.intake.kinds import TABLE
from server.intake.spaced import SPACES, split_spaced
from server.intake.understand.encoding_words import encoding_by_words

_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig", "begins with the mark of UTF-8"),
    (b"\xff\xfe", "utf-16", "begins with the mark of UTF-16"),
    (b"\xfe\xff", "utf-16", "begins with the mark of UTF-16"),
)
_DELIMITERS = ("\t", ";", "|", ",")
"""Where two fit the lines equally well, the rarer sign is the one that was meant."""
DELIMITER_WORDS = {"\t": "tabs", ";": "semicolons", "|": "upright strokes", ",": "commas", SPACES: "spaces"}
_LINES = 400
_MOST = 0.6
"""Share of the lines that a sign must split alike before spaces are not thought of."""
_NUMBER = re.compile(r"[-+<>]?\d[\d.:/-]*(?:,\d+)?")
_FEWEST = 2
"""Numbers, dates or clock times in a row of a table that is divided by spaces."""
_OLD_DOS = ("øC", "æS", "m\xfc/h", "øF")
"""Degree, micro and cube signs of an old DOS code page, read as Windows text."""


@dataclass(frozen=True)
class Encoding:
    """Name of an encoding, and how that is known."""

    name: str
    reason: str


def find_encoding(content: bytes, file: str) -> Encoding:
    """Encoding of a text file.

    Raises
    ------
    FileProblem
        When the bytes are no text at all.
    """
    for mark, name, reason in _MARKS:
        if content.startswith(mark):
            return Encoding(name, reason)
    head = content[:4096]
    if b"\x00" in head:
        return _without_mark(head, file)
    if any(byte < 9 or 13 < byte < 32 for byte in head if byte not in (26, 27)):
        raise FileProblem(file, "is not a text file", expected=TABLE)
    try:
        content.decode("utf-8")
        return Encoding("utf-8", "every byte fits UTF-8")
    except UnicodeDecodeError:
        pass
    windows = content[:200_000].decode("cp1252", errors="replace")
    if any(sign in windows for sign in _OLD_DOS):
        return Encoding("cp850", "not UTF-8; degree and micro signs are those of an old DOS page")
    name, letters = encoding_by_words(content)
    if name:
        return Encoding(name, f"not UTF-8; read as {letters} text its words make sense")
    if "\ufffd" in content.decode("cp1252", errors="replace"):
        return Encoding("latin-1", "not UTF-8, and not Windows text either")
    return Encoding("cp1252", "not UTF-8, so it is taken as Windows text")


def _without_mark(head: bytes, file: str) -> Encoding:
    even, odd = head[::2].count(0), head[1::2].count(0)
    half = len(head) // 4
    if odd > half and even == 0:
        return Encoding("utf-16-le", "every second byte is empty, as in UTF-16")
    if even > half and odd == 0:
        return Encoding("utf-16-be", "every second byte is empty, as in UTF-16")
    raise FileProblem(file, "is not a text file", expected=TABLE)


def find_delimiter(text: str) -> str:
    """The sign that splits most lines into the same number of cells.

    Examples
    --------
    >>> find_delimiter("Datum;Druck\\n01.02.2024;12,5\\n02.02.2024;12,6\\n")
    ';'
    """
    first = text.lstrip().split("\n", 1)[0].strip()
    if first.lower().startswith("sep=") and len(first) == 5:
        return first[4]
    if first.lower() == "sep=":
        return "\t"
    lines = [line for line in text[:200_000].splitlines()[:_LINES] if line.strip()]
    scores = {delimiter: _score(lines, delimiter) for delimiter in _DELIMITERS}
    best = max(scores.values())
    found = next(delimiter for delimiter in _DELIMITERS if scores[delimiter] >= 0.9 * best) if best else ","
    return SPACES if (best < _MOST or found == ",") and _is_spaced(lines, found) else found


def _score(lines: list[str], delimiter: str) -> float:
    """Share of lines with the usual number of cells, where that is more than one."""
    try:
        widths = [len(cells) for cells in csv.reader(io.StringIO("\n".join(lines)), delimiter=delimiter) if cells]
    except csv.Error:
        return 0.0
    several = Counter(width for width in widths if width > 1)
    if not several:
        return 0.0
    return several.most_common(1)[0][1] / len(lines)


def _is_spaced(lines: list[str], other: str) -> bool:
    """Whether spaces divide the columns: numbers stand between them, and `other` only parts units from tenths."""
    if any(re.search(rf"(?<!\d){re.escape(other)}|{re.escape(other)}(?!\d)", line) for line in lines):
        return False
    rows = [cells for cells in split_spaced(lines) if len(cells) > 1]
    numbers = [cells for cells in rows if sum(_NUMBER.fullmatch(cell) is not None for cell in cells) >= _FEWEST]
    return len(numbers) >= 0.5 * len(lines) and len({len(cells) for cells in numbers}) <= 2
