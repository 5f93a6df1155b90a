"""What is wrong with the cells of a file and what a person should know of it, gathered on the way through."""

from dataclasses import dataclass, field, replace
from typing import Any

import pandas as pd

from server.intake.rows import place_of
from server.intake.table import MOST_PROBLEMS, RowProblem


@dataclass
class Findings:
    """Problems and notes, gathered on the way through one file."""

    problems: list[RowProblem] = field(default_factory=list)
    count: int = 0
    notes: list[str] = field(default_factory=list)
    rows: set[int] = field(default_factory=set)
    most: int = MOST_PROBLEMS

    def add(self, row: int, column: str, value: Any, what: str, expected: str) -> None:
        self.count += 1
        self.rows.add(int(row))
        self.problems.append(RowProblem(int(row), column, "" if value is None else str(value), what, expected))

    def add_cells(self, bad: "pd.Series[Any]", column: str, what: str, expected: str) -> None:
        for row, value in bad.iloc[: self.most].items():
            self.add(row, column, value, what, expected)  # type: ignore[arg-type]  # rows are whole numbers
        self.count += max(0, len(bad) - self.most)
        self.rows.update(int(row) for row in bad.index[self.most :])

    def rows_of(self, column: str) -> set[int]:
        """Rows with a problem in a column."""
        return {problem.row for problem in self.problems if problem.column == column}

    def first(self, sheets: tuple[str, ...], *, sideways: bool) -> tuple[RowProblem, ...]:
        first = sorted(self.problems, key=lambda problem: problem.row)[: self.most]
        places = [(problem, *place_of(problem.row, sheets)) for problem in first]
        return tuple(replace(problem, row=row, sheet=sheet, sideways=sideways) for problem, sheet, row in places)
