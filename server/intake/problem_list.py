"""The list of all cells of a file that cannot be used, as a table to take away."""

import csv
import io

from sqlalchemy.orm import Session

from server.db import now
from server.intake.actions import Upload, read_upload
from server.intake.contents import import_content
from server.intake.header_rows import line_name
from server.intake.known import FUTURE
from server.intake.queries import import_or_404
from server.security.spreadsheets import plain_cell

MOST = 200_000
COLUMNS = ("sheet", "row", "column", "value", "reason", "expected")


def problem_list(session: Session, import_id: int) -> tuple[str, str]:
    """Name and text of the list, read anew from the file as it came.

    A value that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    found = import_or_404(session, import_id)
    upload = Upload(
        found.file_name, import_content(session, import_id), found.mapping, latest=now() + FUTURE, most_problems=MOST
    )
    table = read_upload(session, found.train_id, upload)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for problem in table.problems:
        row = line_name(problem.row, sideways=True) if problem.sideways else problem.row
        cells = (problem.sheet, row, problem.column, problem.value, problem.what, problem.expected)
        writer.writerow(plain_cell(cell) if isinstance(cell, str) else cell for cell in cells)
    return f"problems-of-import-{import_id}.csv", "\ufeff" + text.getvalue()
