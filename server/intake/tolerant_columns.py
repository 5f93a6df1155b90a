"""The cells of one column of a table that is read tolerantly: numbers, states, remarks, and how good they are."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from server.intake.header_rows import cell_text
from server.intake.headers import parse_header
from server.intake.mapping import FileMapping
from server.intake.qualities import are_good
from server.intake.rows import Cell
from server.intake.tolerant_numbers import Numbers, Told


def read_column(
    cells: Sequence[Cell], rows: Sequence[int], name: str, ours: str, mapping: FileMapping, told: Told
) -> list[Any] | npt.NDArray[np.float64]:
    if ours == "remark":
        return [None if cell is None else cell_text(cell) for cell in cells]
    if ours == "state":
        return [mapping.states.get(text, text) for text in (cell_text(cell) for cell in cells)]
    return Numbers(name, parse_header(ours), mapping, told).read(cells, rows)


def good_values(
    qualities: Sequence[Cell], name: str, values: Sequence[Cell], rows: Sequence[int], told: Told
) -> list[Cell]:
    """The values whose quality is good; the others are told and left out."""
    good = are_good(qualities, name)
    for is_good, value, row in zip(good, values, rows, strict=True):
        if not is_good and value is not None:
            told.note("Values whose quality is not good were left out", row)
    return [value if is_good else None for is_good, value in zip(good, values, strict=True)]
