"""What comes out of a file of readings: the frame, and everything a person should be told about the file."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from server.errors import FileProblem

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

    @property
    def text(self) -> str:
        """The problem without the name of the file, as a page lists it."""
        place = f'row {self.row}, column "{self.column}"' if self.column else f"row {self.row}"
        return f"{place}: {self.complaint}; expected {self.expected}"

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

    def require_clean(self) -> None:
        """Raise `FileProblem` for the first problem, when there is any."""
        if not self.problems:
            return
        first = self.problems[0]
        more = self.problem_count - 1
        also = f" (and {more} more {'problem' if more == 1 else 'problems'})" if more else ""
        raise FileProblem(
            self.file,
            first.complaint,
            row=first.row,
            column=first.column or None,
            expected=first.expected + also,
        )


def shortened(text: str, longest: int = 40) -> str:
    """A cell as it is quoted to a person: on one line, and not the whole of a long one."""
    line = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    return line if len(line) <= longest else line[: longest - 1] + "…"
