"""What comes out of a file of readings: the frame, and everything a person should be told about the file."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from server.errors import FileProblem
from server.intake.header_rows import line_name

A_NUMBER = "a number such as 174.5"
MOST_PROBLEMS = 100
"""Problems that are listed one by one; all are counted."""


@dataclass(frozen=True)
class RowProblem:
    """One cell (or row, or header) that cannot be used. Rows are counted as seen in the file: the header is row 1."""

    row: int
    column: str
    value: str
    what: str
    expected: str
    sheet: str = ""
    sideways: bool = False
    """Whether the table lies on its side: `row` then counts its columns, and `column` names one of its rows."""

    @property
    def place(self) -> str:
        """Where it stands in the file."""
        line = line_name(self.row, sideways=self.sideways)
        name = "row" if self.sideways else "column"
        place = f'{line}, {name} "{self.column}"' if self.column else line
        return f'sheet "{self.sheet}", {place}' if self.sheet else place

    @property
    def text(self) -> str:
        """The problem without the name of the file, as a page lists it."""
        return f"{self.place}: {self.complaint}; expected {self.expected}"

    @property
    def complaint(self) -> str:
        return f'"{shortened(self.value)}" {self.what}' if self.value else self.what


@dataclass(frozen=True)
class ReadingsTable:
    """The readings of one file.

    Attributes
    ----------
    frame
        Index `taken_at` (UTC, ascending, duplicates kept), columns of the glossary in canonical units, `state` and
        `remark` where the file has them. Without the rows that have a problem with their time.
    row_numbers
        The row of the file that each row of `frame` came from.
    units
        The unit of each column as typed in the file.
    unknown_columns
        Headers that name no quantity known here; they were ignored.
    problems, problem_count
        The first problems by row, and how many there are.
    notes
        What was decided on the way, in plain sentences.
    rows
        Rows of the file that hold anything at all, the header aside.
    sheets
        Sheets of a workbook that were read one after the other; `place_of` takes the numbers of their rows apart.
    bad_rows
        Every row that has a problem, also those beyond the first listed.
    sideways
        Whether the table lies on its side: the rows are columns of the file.
    """

    file: str
    frame: pd.DataFrame
    row_numbers: npt.NDArray[np.int64]
    units: dict[str, str]
    unknown_columns: tuple[str, ...]
    problems: tuple[RowProblem, ...]
    problem_count: int
    notes: tuple[str, ...]
    rows: int
    sheets: tuple[str, ...] = ()
    bad_rows: frozenset[int] = frozenset()
    can_leave_out: bool = True
    sideways: bool = False

    def without_bad_rows(self) -> "ReadingsTable":
        """The readings of the rows without problems.

        Raises
        ------
        FileProblem
            When a problem is that of a header, so that it is in every row.
        """
        if not self.can_leave_out:
            self.require_clean()
        kept = ~np.isin(self.row_numbers, np.fromiter(self.bad_rows, dtype=np.int64))
        count = len(self.bad_rows)
        note = f"{count} {'row' if count == 1 else 'rows'} with problems {'was' if count == 1 else 'were'} left out."
        return replace(
            self,
            frame=self.frame[kept],
            row_numbers=self.row_numbers[kept],
            problems=(),
            problem_count=0,
            notes=(*self.notes, note) if count else self.notes,
        )

    def require_clean(self) -> None:
        """Raise `FileProblem` for the first problem, when there is any."""
        if not self.problems:
            return
        first = self.problems[0]
        more = self.problem_count - 1
        also = f" (and {more} more {'problem' if more == 1 else 'problems'})" if more else ""
        problem = FileProblem(f"{self.file}, {first.place}", first.complaint, expected=first.expected + also)
        problem.file, problem.row, problem.column = self.file, first.row, first.column or None
        raise problem


def rows_of(frame: pd.DataFrame, positions: npt.NDArray[np.intp]) -> pd.DataFrame:
    """Some rows of a frame; the frame itself, not copied, where they are all of them in their order."""
    every = len(positions) == len(frame) and bool((np.diff(positions) == 1).all())
    return frame if every else frame.iloc[positions]


def shortened(text: str, longest: int = 40) -> str:
    """A cell as it is quoted to a person: on one line, and not the whole of a long one."""
    line = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    return line if len(line) <= longest else line[: longest - 1] + "…"
