"""Find out which sign is the decimal mark of a table, and which stands between thousands."""

import math
import re
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from server.intake.numerals import GAPS, Marks
from server.intake.rows import Cell

_NUMBER = re.compile(r"[<>~\u2264\u2265]?=?\s*[+\-\u2212]?(\d[\d.,]*\d|\d)(?:\s*[^\d\s.,].*)?$")
_GAPS = re.compile(rf"(?<=\d)[{re.escape(GAPS)}](?=\d{{3}}(?!\d))")
_GROUPS = {
    sign: re.compile(rf"\d{{1,3}}(?:\{sign}\d{{3}})+|\d{{1,2}}(?:\{sign}\d{{2}})+\{sign}\d{{3}}") for sign in ".,"
}
"""Thousands in threes, or in twos beyond the first as in India: 5,40,000."""
_ONE_GROUP = {sign: re.compile(rf"[1-9]\d{{0,2}}\{sign}\d{{3}}") for sign in ".,"}


@dataclass(frozen=True)
class FoundMarks:
    """The marks, in words how they are known, and a number that can be read in two ways ("" when none is left)."""

    marks: Marks
    reason: str
    doubtful: str = ""


@dataclass
class _Seen:
    """What speaks for which mark: examples of each."""

    decimals: dict[str, list[str]]
    groups: dict[str, list[str]]
    either: dict[str, list[str]]


def find_marks(columns: Sequence[Sequence[Cell]], delimiter: str) -> FoundMarks:
    """Marks of the numbers in some columns; `delimiter` is that between the columns of a text ("" in a workbook)."""
    seen = _look(columns)
    point, comma = seen.decimals["."], seen.decimals[","]
    if point and comma:
        reason = f'both decimal point ("{point[0]}") and decimal comma ("{comma[0]}") were typed'
        return FoundMarks(Marks(".,"), reason)
    for mark, other, name in ((",", ".", "comma"), (".", ",", "point")):
        if seen.decimals[mark]:
            groups = seen.groups[other] + seen.either[other]
            also = f', and "{groups[0]}" has a mark between thousands' if groups else ""
            reason = f'"{seen.decimals[mark][0]}" has a decimal {name}{also}'
            return FoundMarks(Marks(mark, other if groups else ""), reason)
    for mark, other in ((",", "."), (".", ",")):
        if seen.groups[mark]:
            return FoundMarks(Marks(other, mark), f'"{seen.groups[mark][0]}" has marks between thousands')
    return _by_neighbours(columns, seen, delimiter)


def _look(columns: Sequence[Sequence[Cell]]) -> _Seen:
    seen = _Seen({".": [], ",": []}, {".": [], ",": []}, {".": [], ",": []})
    for column in columns:
        for cell in column:
            found = _NUMBER.fullmatch(_GAPS.sub("", cell)) if isinstance(cell, str) else None
            if found is not None and ("." in found[1] or "," in found[1]):
                _note(found[1], seen)
    return seen


def _note(text: str, seen: _Seen) -> None:
    last = max(text.rfind("."), text.rfind(","))
    mark = text[last]
    other = "," if mark == "." else "."
    if other in text:
        if text.count(mark) == 1:
            seen.decimals[mark].append(text)
            seen.groups[other].append(text)
    elif text.count(mark) > 1:
        if _GROUPS[mark].fullmatch(text):
            seen.groups[mark].append(text)
    elif _ONE_GROUP[mark].fullmatch(text):
        seen.either[mark].append(text)
    else:
        seen.decimals[mark].append(text)


def _by_neighbours(columns: Sequence[Sequence[Cell]], seen: _Seen, delimiter: str) -> FoundMarks:
    """For a table whose marked numbers all look like `1,234`: what do the unmarked ones beside them say?"""
    for mark, other, name in ((",", ".", "comma"), (".", ",", "point")):
        if not seen.either[mark]:
            continue
        example = seen.either[mark][0]
        verdicts = [verdict for column in columns if (verdict := _fits(column, mark))]
        if verdicts and all(verdict == "thousands" for verdict in verdicts):
            reason = f'"{example}" continues whole numbers just below a thousand'
            return FoundMarks(Marks(other, mark), reason)
        if verdicts and all(verdict == "decimal" for verdict in verdicts):
            return FoundMarks(Marks(mark), f'"{example}" is of the size of its neighbours with a decimal {name}')
        if mark == "," and delimiter == ",":
            return FoundMarks(Marks(".", ","), f'"{example}" stands in quotation marks in a file of commas', example)
        return FoundMarks(Marks(mark), f'nothing but numbers like "{example}" was typed', example)
    return FoundMarks(Marks(), "no number has a mark")


def _fits(column: Sequence[Cell], mark: str) -> str:
    """`decimal` or `thousands` where the unmarked numbers of a column tell, else nothing."""
    texts = [cell for cell in column if isinstance(cell, str)]
    marked = [text for text in texts if _ONE_GROUP[mark].fullmatch(text)]
    plain = [float(text) for text in texts if text.isdigit() and float(text) > 0]
    if not marked or not plain:
        return ""
    middle = math.log(statistics.median(plain))
    decimal = math.log(statistics.median([float(text.replace(mark, ".")) for text in marked]))
    distance = abs(decimal - middle), abs(decimal + math.log(1000) - middle)
    return "" if max(distance) - min(distance) < 1 else "decimal" if distance[0] < distance[1] else "thousands"
