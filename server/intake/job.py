"""The process of one long import: `python -m server.intake.job` with its `Job` as JSON on standard input."""

import json
import os
import sys
from collections.abc import Callable
from dataclasses import replace

from sqlalchemy import Engine
from sqlalchemy.orm import Session

import server.tables  # noqa: F401  # all tables must be known
from server.assessments.worker import refresh_train
from server.db import make_engine, transaction
from server.errors import AppError
from server.guard import check_packages
from server.intake.actions import Decision, Upload, confirm_import, read_upload, restage
from server.intake.contents import import_content
from server.intake.guided import keep_look, look_at
from server.intake.jobs import ANSWER, LOOK, STORE, Job, put_back
from server.intake.kinds import is_workbook
from server.intake.models import PENDING, WORKING, Import
from server.intake.queries import import_or_404
from server.intake.table import ReadingsTable

NICENESS = 5


def main() -> None:
    """Do what is asked; what a person can mend is noted with the import."""
    check_packages()
    os.nice(NICENESS)
    job = Job(**json.load(sys.stdin))
    engine = make_engine(job.database_url)
    try:
        _KINDS[job.kind](engine, job)
    except AppError as error:
        with transaction(engine) as session:
            put_back(session, job, error.message)
    finally:
        engine.dispose()


def _upload(engine: Engine, job: Job) -> tuple[int, Upload]:
    with transaction(engine, writes=False) as session:
        found = import_or_404(session, job.import_id)
        content = import_content(session, job.import_id)
        mapping = job.mapping or found.mapping
        return found.train_id, Upload(
            found.file_name, content, mapping_text=mapping, author=job.author, max_rows=job.max_rows
        )


def _read(engine: Engine, job: Job) -> tuple[Upload, ReadingsTable]:
    """Read the file; the session is only one to look things up, and holds nobody else up."""
    train_id, upload = _upload(engine, job)
    lines = 0 if is_workbook(upload.content) else upload.content.count(b"\n")
    _note(engine, job, "reading", lines=lines)
    upload = replace(upload, on_rows=lambda rows: _note(engine, job, "reading", rows, lines))
    with transaction(engine, writes=False) as session:
        table = read_upload(session, train_id, upload)
    _note(engine, job, "storing" if job.kind == STORE else "comparing", rows=len(table.frame))
    return upload, table


def _note(engine: Engine, job: Job, step: str, rows: int = 0, lines: int = 0) -> None:
    """Note what is being done, with the rows that it is done to, of so many lines (0 where nobody has counted)."""
    with transaction(engine) as session:
        found = import_or_404(session, job.import_id)
        if found.status == WORKING:
            found.job = (found.job or {}) | {"step": step, "rows": rows, "lines": lines}


def _look(engine: Engine, job: Job) -> None:
    train_id, upload = _upload(engine, job)
    _note(engine, job, "understanding")
    with transaction(engine, writes=False) as session:
        looked = look_at(session, train_id, upload)
    with transaction(engine) as session:
        found = _working(session, job)
        if found is not None:
            keep_look(session, found, upload, looked)


def _answer(engine: Engine, job: Job) -> None:
    upload, table = _read(engine, job)
    with transaction(engine) as session:
        found = _working(session, job)
        if found is not None:
            restage(session, found, upload, table)


def _store(engine: Engine, job: Job) -> None:
    """Store, and assess when that is committed: the server is held up by neither for long."""
    table = _read(engine, job)[1]
    with transaction(engine) as session:
        found = _working(session, job)
        train_id = found.train_id if found is not None else None
        if found is not None:
            decision = Decision(**job.decision)
            confirm_import(session, found.id, author=job.author, decision=decision, table=table, assess=False)
    del table  # its room is needed for the assessment
    if train_id is not None:
        refresh_train(engine, train_id)


def _working(session: Session, job: Job) -> Import | None:
    """The import, as it was before its work began; None when somebody has put it aside meanwhile."""
    found = import_or_404(session, job.import_id)
    if found.status != WORKING:
        return None
    found.status, found.job = PENDING, None
    session.flush()
    return found


_KINDS: dict[str, Callable[[Engine, Job], None]] = {LOOK: _look, ANSWER: _answer, STORE: _store}

if __name__ == "__main__":
    main()
