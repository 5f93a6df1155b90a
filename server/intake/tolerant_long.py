"""Read a table with one row for each tag and time: it becomes one row for each time."""

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from server.errors import FileProblem
from server.intake.header_rows import cell_text
from server.intake.headers import WORDS, parse_header
from server.intake.numerals import is_no_value
from server.intake.rows import Cell, Row, cell_at
from server.intake.tolerant_columns import good_values, read_column
from server.intake.tolerant_numbers import Told
from server.intake.tolerant_table import Table
from server.intake.tolerant_times import When
from server.intake.understand.unit_words import read_unit


def read_long(table: Table, told: Told) -> pd.DataFrame:
    """One row for each tag and time becomes one row for each time."""
    mapping = table.mapping
    if mapping.long is None:
        raise ValueError("the mapping is not one of a long table")
    when_is = When(table.mapping, table.number, told)
    tag, value = (table.number(name) for name in (mapping.long.tag, mapping.long.value))
    quality = table.number(mapping.long.quality) if mapping.long.quality else -1
    unit = table.number(mapping.long.unit) if mapping.long.unit else -1
    rows = [row for row in table.readings(told) if cell_at(row, tag) is not None]
    values = [cell_at(row, value) for row in rows]
    if quality >= 0:
        qualities = [cell_at(row, quality) for row in rows]
        values = good_values(qualities, mapping.long.quality, values, [row.number for row in rows], told)
    texts = when_is.texts([cell_at(row, when_is.time) for row in rows], rows)
    texts = _together(texts, [cell_text(cell_at(row, tag)) for row in rows], rows, told)
    by_tag: dict[str, list[int]] = {}
    for position, row in enumerate(rows):
        by_tag.setdefault(cell_text(cell_at(row, tag)), []).append(position)
    _require_tags(table, by_tag)
    table.tags = (mapping.time_column, *by_tag)
    first: dict[str | None, int] = {}
    for position, text in enumerate(texts):
        first.setdefault(text, rows[position].number)
    frame: dict[int, Any] = {0: list(first)}
    order = {text: place for place, text in enumerate(first)}
    for number, (name, positions) in enumerate(by_tag.items(), start=1):
        if name in mapping.columns:
            usual = _unit_of(mapping.columns[name])
            cells = [_with_unit(values[p], cell_at(rows[p], unit), usual) for p in positions]
            numbers = [rows[p].number for p in positions]
            found = read_column(cells, numbers, name, mapping.columns[name], mapping, told)
            frame[number] = placed(found, [order[texts[p]] for p in positions], numbers, len(first), name, told)
    return pd.DataFrame(frame, index=pd.Index(list(first.values()), dtype=np.int64))


def _together(texts: list[str | None], tags: list[str], rows: list[Row], told: Told) -> list[str | None]:
    """Times to the minute, where tags were read some seconds apart and would otherwise never meet."""
    if not rows:
        return texts
    longest = max(Counter(tags).values(), default=0)
    minutes = [text and text[:16] + ":00" + text[19:] if text and len(text) > 16 else text for text in texts]
    apart, together = len(set(texts)), len(set(minutes))
    pairs = len(set(zip(minutes, tags, strict=True)))
    if apart < 1.5 * longest or together > 0.7 * apart or pairs < len(set(zip(texts, tags, strict=True))):
        return texts
    told.note("Tags that were read within one minute were taken together, from", rows[0].number)
    return minutes


def _require_tags(table: Table, by_tag: Iterable[str]) -> None:
    for name in table.mapping.columns:
        if name not in by_tag:
            listed = ", ".join(list(by_tag)[:20])
            what = f'has no tag "{name}", which the mapping names'
            raise FileProblem(table.file, what, row=table.header_row, expected=f"one of: {listed}")


def _unit_of(ours: str) -> str:
    if ours in WORDS:
        return ""
    header = parse_header(ours)
    return header.unit or header.quantity.unit


def _with_unit(cell: Cell, unit: Cell, usual: str) -> Cell:
    """A value with its unit behind it, where that is another than the usual one of its tag."""
    if cell is None or not isinstance(unit, str) or not usual or is_no_value(unit) or read_unit(unit) == usual:
        return cell
    return f"{cell_text(cell)} {unit}"


def placed(
    found: Iterable[Any], places: Sequence[int], rows: Sequence[int], count: int, name: str, told: Told
) -> list[Any] | npt.NDArray[np.float64]:
    """Values at their times; another value of the same tag and time is a problem of its row."""
    column: list[Any] = [None] * count
    for cell, place, row in zip(found, places, rows, strict=True):
        missing = cell is None or (isinstance(cell, float) and np.isnan(cell))
        if missing:
            continue
        if column[place] is not None and column[place] != cell:
            told.problem(row, name, str(cell), "is a second value for the same tag and time", "one")
            continue
        column[place] = cell
    if all(value is None or isinstance(value, float) for value in column):
        return np.array([np.nan if value is None else value for value in column], dtype=np.float64)
    return column
