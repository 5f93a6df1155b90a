"""What an import is put down as: counts, problems, first readings, and what differs from the logbook."""

import dataclasses
from typing import Any

from sqlalchemy.orm import Session

from analytics.quantities import COLUMNS
from server.intake.known import known_of
from server.intake.models import Import
from server.intake.queries import same_file_before
from server.intake.rows import place_of
from server.intake.table import ReadingsTable
from server.intake.understand.column_doubts import doubtful_columns
from server.readings.compare import Comparison, Difference

PREVIEW_ROWS = 10


def describe(session: Session, found: Import, table: ReadingsTable) -> None:
    """Put down what reading a file has shown."""
    frame = table.frame
    notes = [*doubtful_columns(table, known_of(session, found.train_id)), *table.notes]
    before = same_file_before(session, found.train_id, found.sha256)
    if before is not None:
        notes.insert(0, f"This very file was brought in already, as import {before.id}.")
    found.column_units = table.units
    found.unknown_columns = list(table.unknown_columns)
    found.counts = {"rows": table.rows, "problems": table.problem_count}
    if table.problems and table.can_leave_out:
        found.counts = found.counts | {"bad_rows": len(table.bad_rows)}
    found.problems = [
        {"row": p.row, "column": p.column, "value": p.value, "expected": p.expected, "text": p.text}
        | {"what": p.what, "sheet": p.sheet}
        | ({"sideways": True} if p.sideways else {})
        for p in table.problems
    ]
    found.preview = _preview(table)
    found.notes = notes
    found.first_taken_at = frame.index[0].to_pydatetime() if len(frame) else None
    found.last_taken_at = frame.index[-1].to_pydatetime() if len(frame) else None


def note_comparison(seen: Import, comparison: Comparison, table: ReadingsTable) -> None:
    new = len(comparison.new) + len(comparison.back)
    seen.counts = seen.counts | {"stored": new, "same": comparison.same, "different": comparison.different}
    seen.differences = [difference_of(difference, table) for difference in comparison.differences]


def difference_of(difference: Difference, table: ReadingsTable) -> dict[str, Any]:
    sheet, row = place_of(difference.row, table.sheets)
    place: dict[str, Any] = {"row": row, "sheet": sheet} if sheet else {}
    place["earlier_row"] = place_of(difference.earlier_row, table.sheets)[1]
    place |= {"sideways": True} if table.sideways else {}
    return dataclasses.asdict(difference) | {"taken_at": difference.taken_at.isoformat()} | place


def _preview(table: ReadingsTable) -> list[dict[str, Any]]:
    """The first readings: row of the file, time, and values in canonical units."""
    head = table.frame.iloc[:PREVIEW_ROWS]
    return [
        {
            "row": place_of(int(row), table.sheets)[1],
            "taken_at": taken_at.isoformat(),
            "values": {name: value for name, value in values.items() if name in COLUMNS and value == value},
            "state": values.get("state", ""),
            "remark": values.get("remark", ""),
        }
        | ({"sideways": True} if table.sideways else {})
        for row, taken_at, values in zip(table.row_numbers, head.index, head.to_dict("records"), strict=False)
    ]
