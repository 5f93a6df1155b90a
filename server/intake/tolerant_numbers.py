"""Read the cells of one column of a log as numbers, and tell what was bent straight on the way."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

import numpy as np
import numpy.typing as npt

from analytics.quantities import QUANTITIES
from analytics.units import from_canonical, to_canonical, units_of
from server.intake.header_rows import cell_text, column_letters
from server.intake.headers import Header
from server.intake.mapping import FileMapping
from server.intake.numerals import ESTIMATED, Marks, could_be_two, is_ditto, is_no_value, plain_number, read_number
from server.intake.rows import NEVER_WORKED_OUT, Cell, place_of
from server.intake.table import A_NUMBER, RowProblem
from server.intake.understand.unit_words import not_taken, read_unit

MOST_PROBLEMS = 200_000
QUANTITIES_BY_UNIT = {units_of(q.unit)[0]: q.unit for q in QUANTITIES.values()}
"""Canonical unit by the first of the units that fit it."""


@dataclass
class Told:
    """What was bent straight, counted, and what could not be."""

    counts: Counter[str] = field(default_factory=Counter)
    rows: dict[str, list[int]] = field(default_factory=dict)
    problems: list[RowProblem] = field(default_factory=list)

    def note(self, what: str, row: int) -> None:
        self.counts[what] += 1
        self.rows.setdefault(what, []).append(row)

    def problem(self, row: int, column: str, value: Cell, what: str, expected: str) -> None:
        if len(self.problems) < MOST_PROBLEMS:
            self.problems.append(RowProblem(row, column, cell_text(value), what, expected))

    def notes(self, sheets: tuple[str, ...], *, sideways: bool = False) -> tuple[str, ...]:
        return tuple(f"{what}: {_listed(self.rows[what], sheets, sideways=sideways)}." for what in self.counts)


def _listed(rows: list[int], sheets: tuple[str, ...], *, sideways: bool) -> str:
    places = [place_of(row, sheets) for row in dict.fromkeys(rows)]
    lines = [(sheet, column_letters(row - 1) if sideways else str(row)) for sheet, row in places]
    texts = [f'{line} of "{sheet}"' if len(sheets) > 1 else line for sheet, line in lines]
    shown = ", ".join(texts[:5])
    noun = "column" if sideways else "row"
    return f"{noun if len(texts) == 1 else noun + 's'} {shown}" + (
        f" and {len(texts) - 5} more" if len(texts) > 5 else ""
    )


class Numbers:
    """Reads the cells of one column as numbers in its unit."""

    def __init__(self, name: str, header: Header, mapping: FileMapping, told: Told) -> None:
        quantity = header.quantity
        self.name, self.unit, self.units, self.told = name, header.unit or quantity.unit, units_of(quantity.unit), told
        self.can_be_negative = quantity.usual[0] < 0  # brackets around a pressure are more likely a doubt
        self.marks = Marks(mapping.layout.decimal, mapping.layout.thousands)
        self.missing = frozenset(mapping.layout.missing)

    def read(self, cells: Sequence[Cell], rows: Sequence[int]) -> list[Any] | npt.NDArray[np.float64]:
        found: list[Any] = []
        for cell, row in zip(cells, rows, strict=True):
            found.append(self._above(found, row) if is_ditto(cell) else self._one(cell, row))
        if all(value is None or isinstance(value, float) for value in found):
            return np.array([np.nan if value is None else value for value in found], dtype=np.float64)
        return found

    def _above(self, found: Sequence[Any], row: int) -> Any:
        """What a ditto mark stands for."""
        self.told.note(f'"{self.name}": ditto marks stand for the value above', row)
        return found[-1] if found else None

    def _one(self, cell: Cell, row: int) -> Any:
        if isinstance(cell, float):
            return cell
        plain = plain_number(cell, self.marks) if isinstance(cell, str) else None
        if plain is not None:
            return plain
        if is_no_value(cell) or cell in self.missing:
            if cell is not None and any(sign.isalpha() for sign in str(cell)):
                self.told.note(f'Cells that say "{cell_text(cell)[:20]}" have no value', row)
            return None
        numeral = read_number(cell, self.marks)
        if numeral is None or (isinstance(cell, str) and could_be_two(cell, self.marks)):
            return self._not_a_number(cell, row, two=numeral is not None)
        if numeral.sign:
            self.told.note(
                f'"{self.name}": values beyond what the instrument shows ({numeral.sign}) are taken at it', row
            )
        if numeral.bracketed and not self.can_be_negative:
            what = "stands in round brackets, which can mean a minus or a doubt"
            self.told.problem(row, self.name, cell, what, "the number alone")
            return None
        if numeral.bracketed:
            self.told.note(f'"{self.name}": numbers in round brackets are taken as less than nothing', row)
        return self._in_unit(-numeral.value if numeral.bracketed else numeral.value, numeral.behind, cell, row)

    def _not_a_number(self, cell: Cell, row: int, *, two: bool) -> Any:
        if isinstance(cell, str) and cell.startswith("="):
            what = "is a formula that was saved without its value" if cell == NEVER_WORKED_OUT else "is a formula"
            self.told.problem(row, self.name, None if cell == NEVER_WORKED_OUT else cell, what, "its value, a number")
            return None
        if two:
            self.told.problem(row, self.name, cell, "can be read as two numbers", "one decimal mark in the whole file")
            return None
        if isinstance(cell, datetime | date):
            what = "is a date, perhaps a number that a spreadsheet has turned into one"
            self.told.problem(row, self.name, cell, what, A_NUMBER)
            return None
        return cell if isinstance(cell, str) else cell_text(cell)

    def _in_unit(self, value: float, behind: str, cell: Cell, row: int) -> Any:
        """The value in the unit of the column, when another is written behind it."""
        behind = behind.strip("*() ")
        if not behind:
            return value
        if behind.lower() in ESTIMATED:
            self.told.note(f'"{self.name}": values marked as estimated are taken as they stand', row)
            return value
        unit = read_unit(behind)
        if not_taken(behind)[0]:
            self.told.problem(row, self.name, cell, f"is {not_taken(behind)[1]}", f"a number in {self.unit}")
            return None
        if unit is None or unit == self.unit:
            return value if unit else cell
        if unit not in self.units:
            self.told.problem(row, self.name, cell, f"is in {behind}", f"a number in {self.unit}")
            return None
        canonical = QUANTITIES_BY_UNIT[self.units[0]]
        self.told.note(f'"{self.name}": values in {unit} were converted to {self.unit}', row)
        return float(from_canonical(to_canonical(value, unit, canonical), canonical, self.unit))
