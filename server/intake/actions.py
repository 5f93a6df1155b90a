"""Bring files of readings in: look first, then store, and take back as a whole."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from server.assessments.actions import refresh_assessment
from server.audit.actions import record
from server.audit.author import writer
from server.db import after_commit, now
from server.errors import Conflict
from server.intake.canonical import read_readings
from server.intake.contents import import_content, keep_content
from server.intake.description import describe, difference_of, note_comparison
from server.intake.known import FUTURE
from server.intake.mapping_text import mapping_from_text
from server.intake.models import ASKED, DISCARDED, DONE, PENDING, UNDONE, WORKING, Import
from server.intake.queries import import_or_404
from server.intake.table import MOST_PROBLEMS, ReadingsTable
from server.memory import trim_memory
from server.plants.queries import train_or_404
from server.readings.actions import StoreResult, store_readings, void_import
from server.readings.compare import compare_readings
from server.readings.replace import Replaced, give_back, take_values
from server.watching.metrics import IMPORTS


@dataclass(frozen=True)
class Upload:
    """A file as it came, and how to read it; readings later than `latest` are problems (this clock and a day).

    `on_rows` is told how many rows have been read, now and then.
    """

    file_name: str
    content: bytes
    mapping_text: str = ""
    mapping_name: str = "mapping"
    author: str = ""
    latest: datetime | None = None
    max_rows: int | None = None
    most_problems: int = MOST_PROBLEMS
    on_rows: Callable[[int], None] | None = None


def read_upload(session: Session, train_id: int, upload: Upload) -> ReadingsTable:
    """Read a file by the clock of a train's site; raises `FileProblem` when it cannot be used at all."""
    train = train_or_404(session, train_id)
    text = upload.mapping_text
    table = read_readings(
        upload.content,
        filename=upload.file_name,
        timezone=train.site.timezone,
        mapping=mapping_from_text(text, file=upload.mapping_name) if text.strip() else None,
        latest=upload.latest or now() + FUTURE,
        max_rows=upload.max_rows,
        most_problems=upload.most_problems,
        on_rows=upload.on_rows,
    )
    trim_memory(len(table.frame))
    return table


def preview_import(session: Session, train_id: int, upload: Upload) -> Import:
    """What importing a file would do; nothing is kept, not even the file.

    Raises
    ------
    FileProblem
        When the file, or any cell of it, cannot be used.
    """
    table = read_upload(session, train_id, upload)
    table.require_clean()
    seen = _new_import(session, train_id, upload, table)
    note_comparison(seen, compare_readings(session, train_id, table.frame, table.row_numbers), table)
    return seen


def import_readings(session: Session, train_id: int, upload: Upload) -> Import:
    """Keep a file and store its readings in one go, all that are new or none; assess the train again.

    Raises
    ------
    FileProblem
        When the file, or any cell of it, cannot be used.
    """
    table = read_upload(session, train_id, upload)
    table.require_clean()
    kept = _new_import(session, train_id, upload, table)
    keep_import(session, kept, upload)
    del upload  # a long file would take its room while all readings are assessed
    _assess(session, kept, _store(session, kept, table, kept.author))
    return kept


def _new_import(session: Session, train_id: int, upload: Upload, table: ReadingsTable) -> Import:
    """A pending import, not yet added to the session, with what reading its file has shown."""
    found = new_import(session, train_id, upload)
    describe(session, found, table)
    return found


def new_import(session: Session, train_id: int, upload: Upload) -> Import:
    """An import of a file that has not been read yet, not yet added to the session."""
    return Import(
        train_id=train_id,
        file_name=upload.file_name[:255],
        sha256=hashlib.sha256(upload.content).hexdigest(),
        mapping=upload.mapping_text,
        author=upload.author,
        status=PENDING,
        counts={"rows": 0, "problems": 0, "stored": 0, "same": 0, "different": 0},
    )


def keep_import(session: Session, found: Import, upload: Upload) -> None:
    """Keep a new import, and the bytes of its file."""
    found.author = writer(session, upload.author)
    session.add(found)
    session.flush()
    keep_content(session, found.id, upload.content)


def restage(session: Session, found: Import, upload: Upload, table: ReadingsTable | None = None) -> Import:
    """Read the file of a pending import another way; nothing is stored but what it would bring.

    `table` is what it says, where that was read already.

    Raises
    ------
    FileProblem
        When the file as a whole cannot be used that way.
    """
    table = table or read_upload(session, found.train_id, upload)
    found.mapping, found.status = upload.mapping_text, PENDING
    describe(session, found, table)
    note_comparison(found, compare_readings(session, found.train_id, table.frame, table.row_numbers), table)
    session.flush()
    return found


@dataclass(frozen=True)
class Decision:
    """What a person decides before a file is brought in.

    `leave_out` leaves out the rows that have problems. `take` gives readings that are there already the values of the
    file where they differ, with a reason; without it they stay as they are.
    """

    leave_out: bool = False
    take: bool = False
    reason: str = ""


AS_IT_IS = Decision()


def confirm_import(
    session: Session,
    import_id: int,
    *,
    author: str = "",
    latest: datetime | None = None,
    decision: Decision = AS_IT_IS,
    table: ReadingsTable | None = None,
    assess: bool = True,
) -> Import:
    """Store the readings of a pending import, all that are new or none, and assess the train again.

    `table` is what its file says, where that was read already. Without `assess` the assessment stays due.

    Raises
    ------
    FileProblem
        When any of its cells has a problem.
    Conflict
        When it is not pending any more.
    """
    found = _pending(session, import_id)
    author = writer(session, author)
    if table is None:
        content = import_content(session, import_id)
        table = read_upload(session, found.train_id, Upload(found.file_name, content, found.mapping, latest=latest))
    if decision.take and not decision.reason.strip():
        raise Conflict("Taking the values of the file over those in the logbook needs a reason.")
    if decision.leave_out:
        table = table.without_bad_rows()
        found.notes = list(table.notes)
    result = _store(session, found, table, author, decision)
    if assess:
        _assess(session, found, result)
    return found


def _store(
    session: Session, kept: Import, table: ReadingsTable, author: str, decision: Decision = AS_IT_IS
) -> StoreResult:
    result = store_readings(session, kept.train_id, table, source="file", author=author, import_id=kept.id)
    kept.status, kept.finished_at = DONE, now()
    kept.counts = kept.counts | {"stored": result.stored, "same": result.same, "different": result.different}
    kept.differences = [difference_of(difference, table) for difference in result.differences]
    after: dict[str, Any] = {"stored": result.stored, "sha256": kept.sha256}
    if decision.take:
        why = f"import {kept.id}: {decision.reason.strip()}"
        replaced = take_values(session, kept.train_id, table, reason=why, author=author)
        kept.revised = [[entry.reading_id, entry.revision] for entry in replaced]
        kept.counts = kept.counts | {"revised": len(replaced)}
        after["revised"] = len(replaced)
    session.flush()
    _record(session, "import-stored", kept, after=after, reason=decision.reason, author=author)
    return result


def _assess(session: Session, kept: Import, result: StoreResult) -> None:
    if result.stored or kept.revised:
        trim_memory(result.stored)
        refresh_assessment(session, kept.train_id, None if kept.revised else result.all_readings)


def _record(
    session: Session, kind: str, found: Import, *, after: dict[str, Any], reason: str = "", author: str = ""
) -> None:
    outcome = found.status
    after_commit(session, lambda: IMPORTS.labels(outcome).inc())
    record(
        session, kind, train_id=found.train_id, object_id=found.id, after={"file": found.file_name} | after,
        reason=reason, author=author,
    )  # fmt: skip


def discard_import(session: Session, import_id: int) -> Import:
    """Put a pending import aside; its file stays, nothing was stored."""
    found = _pending(session, import_id, also=(ASKED, WORKING))
    found.status, found.finished_at = DISCARDED, now()
    _record(session, "import-discarded", found, after={})
    return found


def undo_import(session: Session, import_id: int, *, reason: str, author: str = "") -> Import:
    """Take every reading of an import out of use, also those corrected since, and assess the train again."""
    found = _locked(session, import_id)
    if found.status != DONE:
        raise Conflict(f"This import is {found.status}; only one that is done can be undone.")
    if not reason.strip():
        raise Conflict("Undoing an import needs a reason.")
    author, why = writer(session, author), f"import {found.id} undone: {reason.strip()}"
    count = void_import(session, found.train_id, found.id, reason=why, author=author)
    back = give_back(
        session, found.train_id, [Replaced(*entry) for entry in found.revised or ()], reason=why, author=author
    )
    found.status, found.finished_at = UNDONE, now()
    found.counts = found.counts | {"undone": count} | ({"given_back": back} if found.revised else {})
    _record(session, "import-undone", found, after={"taken out": count}, reason=reason, author=author)
    refresh_assessment(session, found.train_id)
    return found


def _locked(session: Session, import_id: int) -> Import:
    """An import of which nobody else changes the state until the end of the transaction."""
    found = import_or_404(session, import_id)
    session.refresh(found, with_for_update=True)
    return found


def _pending(session: Session, import_id: int, *, also: tuple[str, ...] = ()) -> Import:
    found = _locked(session, import_id)
    if found.status not in (PENDING, *also):
        raise Conflict(f"This import is {found.status} already; nothing was changed.")
    return found
