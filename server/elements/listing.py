"""A list of elements as people keep it: pasted from a spreadsheet, or a file of this program read back."""

import csv
import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from analytics.decisions.element_map import Change, Place, Problem

COLUMNS = ("day", "serial", "model", "stage", "vessel", "position", "made", "weight_kg")
NEEDED = ("day", "serial", "stage", "vessel", "position")
MOST_ROWS = 5_000
LONGEST_SERIAL, LONGEST_MODEL = 60, 100
OUT = ("out", "-", "")


@dataclass(frozen=True)
class Listed:
    """Changes of a list, with what the map itself does not need: model and weight by serial number."""

    changes: tuple[Change, ...]
    models: Mapping[str, str]
    weights: Mapping[str, float]
    problems: tuple[Problem, ...]


def read_list(text: str) -> Listed:
    """Read a list with a first row of column names; tab, semicolon or comma between cells."""
    lines = [line for line in text.replace("\ufeff", "").splitlines() if line.strip()]
    if not lines:
        return _refused("The list is empty.")
    delimiter = max("\t;,", key=lines[0].count)
    rows = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=delimiter))
    names = [cell.strip().lower().replace(" ", "_") for cell in rows[0]]
    missing = [name for name in NEEDED if name not in names]
    if missing:
        return _refused(
            f"The first row must name the columns; {', '.join(missing)} not found among {', '.join(COLUMNS)}."
        )
    if len(rows) - 1 > MOST_ROWS:
        return _refused(f"At most {MOST_ROWS} rows at a time, please.")
    return _read_rows(names, rows[1:])


def _refused(text: str) -> Listed:
    return Listed((), {}, {}, (Problem(1, text),))


def _read_rows(names: Sequence[str], rows: Sequence[Sequence[str]]) -> Listed:
    changes: list[Change] = []
    models: dict[str, str] = {}
    weights: dict[str, float] = {}
    problems: list[Problem] = []
    for number, cells in enumerate(rows, start=2):
        row = dict(zip(names, (cell.strip() for cell in cells), strict=False))
        try:
            change = _change(number, row)
        except ValueError as error:
            problems.append(Problem(number, str(error)))
            continue
        changes.append(change)
        if row.get("model"):
            models[change.serial] = row["model"][:LONGEST_MODEL]
        if row.get("weight_kg"):
            weights[change.serial] = _weight(row["weight_kg"])
            if not 0 < weights[change.serial] < 100:
                problems.append(Problem(number, f'Weight "{row["weight_kg"][:20]}" is not between 0 and 100 kg.'))
    return Listed(tuple(changes), models, weights, tuple(problems))


def _change(number: int, row: Mapping[str, str]) -> Change:
    """One row as a change; raises ValueError with what to do about it."""
    serial = row.get("serial", "").lstrip("'")
    if len(serial) > LONGEST_SERIAL:
        raise ValueError(f"The serial number is longer than {LONGEST_SERIAL} characters.")
    made = _day(row["made"], "made") if row.get("made") else None
    place = None
    if row.get("stage", "").lower() not in OUT:
        place = Place(*(_count(row.get(name, ""), name) for name in ("stage", "vessel", "position")))
    return Change(number, _day(row.get("day", ""), "day"), serial, place, made)


def _day(text: str, name: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError(f'{name.capitalize()} "{text[:20]}" is not a day such as 2026-03-01.') from None


def _count(text: str, name: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 5):
        raise ValueError(f'{name.capitalize()} "{text[:20]}" is not a whole number.')
    return int(text)


def _weight(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        return math.nan
    return value
