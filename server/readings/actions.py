"""Store readings, correct them, and take them out of use. Nothing is ever deleted."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
import pandas as pd
from sqlalchemy import bindparam, func, insert, select, update
from sqlalchemy.orm import Session

from analytics.quantities import COLUMNS, STATES
from server.assessments.due import Span
from server.audit.actions import changes, record
from server.audit.author import writer
from server.db import after_commit, now
from server.errors import Conflict, NotFound
from server.intake.table import ReadingsTable, rows_of
from server.plants.actions import inputs_changed
from server.plants.models import Train
from server.readings.bulk import insert_readings
from server.readings.compare import Comparison, Difference, compare_readings
from server.readings.models import SOURCES, Reading, ReadingRevision
from server.readings.queries import as_read_back
from server.watching.metrics import READINGS

TABLE = Reading.__table__
WORDS = ("state", "remark", "typed", "void_reason", "voided_by")
BY_ONES = 500
"""Rows that one statement names by their keys."""


@dataclass(frozen=True)
class StoreResult:
    """How many readings were stored, were there already, or contradict those that were (and were not stored).

    `all_readings` are those of the train where it had none before, so that nobody need read them back.
    """

    stored: int
    same: int
    different: int
    differences: tuple[Difference, ...]
    all_readings: pd.DataFrame | None = None


def store_readings(
    session: Session,
    train_id: int,
    table: ReadingsTable,
    *,
    source: str,
    author: str = "",
    import_id: int | None = None,
) -> StoreResult:
    """Store the readings of a table: all that are new, or none.

    Readings that are there already with the same values are skipped; those with other values are not stored but
    listed, because only a person can say which is right.

    Raises
    ------
    FileProblem
        When the table has any problem.
    """
    table.require_clean()
    if source not in SOURCES:
        raise ValueError(f"{source} is not one of {SOURCES}")
    train = locked_train(session, train_id)
    author = writer(session, author)
    comparison = compare_readings(session, train_id, table.frame, table.row_numbers)
    common: dict[str, Any] = {"train_id": train_id, "source": source, "author": author, "created_at": now()}
    common["since_version"] = train.inputs_version + 1
    if import_id is not None:
        common["import_id"] = import_id
    if source != "file":
        common["typed"] = table.units
    insert_readings(session, rows_of(table.frame, comparison.new), common)
    _bring_back(session, table.frame, comparison, common, author)
    stored = len(comparison.new) + len(comparison.back)
    first = stored > 0 and not train.columns and not comparison.back_ids
    if stored:
        known = {name for name in table.frame.columns if name in COLUMNS and table.frame[name].notna().any()}
        train.columns = [name for name in COLUMNS if name in known | set(train.columns)]
        times = table.frame.index[np.concatenate([comparison.new, comparison.back])]
        inputs_changed(session, train_id, Span(times.min().to_pydatetime(), times.max().to_pydatetime(), stored))
    after_commit(session, lambda: READINGS.labels(source).inc(stored))
    session.flush()
    whole = as_read_back(rows_of(table.frame, comparison.new)) if first and comparison.different == 0 else None
    return StoreResult(stored, comparison.same, comparison.different, comparison.differences, whole)


def locked_train(session: Session, train_id: int) -> Train:
    """A train of which nobody else changes the readings until the end of the transaction."""
    train = session.get(Train, train_id, with_for_update=True)
    if train is None:
        raise NotFound(f"There is no train with the number {train_id}.")
    return train


def _bring_back(
    session: Session, frame: pd.DataFrame, comparison: Comparison, common: dict[str, Any], author: str
) -> None:
    """Write readings over voided ones of the same instant, whose old versions are kept."""
    if not comparison.back_ids:
        return
    version = common["since_version"]
    keep_versions(session, comparison.back_ids, replaced_by=author, reason="read in again", version=version)
    empty: dict[str, Any] = dict.fromkeys(COLUMNS) | {"state": "", "remark": "", "typed": None, "import_id": None}
    shared = empty | common | {"voided_at": None, "void_reason": "", "voided_by": "", "voided_version": None}
    rows = frame.iloc[comparison.back].to_dict("records")
    session.connection().execute(
        update(TABLE).where(TABLE.c.id == bindparam("key")).values(revision=TABLE.c.revision + 1),
        [
            shared | {str(name): _known(value) for name, value in row.items()} | {"key": key}
            for key, row in zip(comparison.back_ids, rows, strict=True)
        ],
    )


def _known(value: Any) -> Any:
    return None if isinstance(value, float) and np.isnan(value) else value


def keep_versions(session: Session, reading_ids: Sequence[int], *, replaced_by: str, reason: str, version: int) -> None:
    """Copy readings as they are now into their revisions; `version` of the inputs has the new ones."""
    for start in range(0, len(reading_ids), BY_ONES):
        some = list(reading_ids[start : start + BY_ONES])
        versions = [
            {
                "reading_id": reading.id,
                "revision": reading.revision,
                "content": _content(reading),
                "source": reading.source,
                "author": reading.author,
                "written_at": reading.created_at,
                "replaced_by": replaced_by,
                "reason": reason,
                "since_version": reading.since_version,
                "until_version": version,
            }
            for reading in session.scalars(select(Reading).where(Reading.id.in_(some)))
        ]
        session.execute(insert(ReadingRevision), versions)
    session.expire_all()


def _content(reading: Reading) -> dict[str, Any]:
    """What a reading says, and how it came to say it, as a document."""
    content = {name: value for name in COLUMNS if (value := getattr(reading, name)) is not None}
    content |= {name: value for name in WORDS if (value := getattr(reading, name))}
    if reading.import_id is not None:
        content["import_id"] = reading.import_id
    if reading.voided_at is not None:
        content["voided_at"] = reading.voided_at.isoformat()
        content["voided_version"] = reading.voided_version
    return content


def amend_reading(
    session: Session,
    reading_id: int,
    values: Mapping[str, float | None],
    *,
    reason: str,
    author: str = "",
    state: str | None = None,
    remark: str | None = None,
) -> Reading:
    """Correct a reading: the named values change, the old version stays readable.

    Parameters
    ----------
    values
        By column, in canonical units; None takes a value away.
    reason
        Why, in words; it must not be empty.
    """
    reading, train = _locked_reading(session, reading_id)
    if reading.voided_at is not None:
        raise Conflict("This reading was taken out of use; it cannot be corrected.")
    if not reason.strip():
        raise Conflict("A correction needs a reason.")
    if unknown := [name for name in values if name not in COLUMNS]:
        raise ValueError(f"no such columns: {', '.join(unknown)}")
    if state is not None and state not in ("", *STATES):
        raise ValueError(f"no such state: {state}")
    author = writer(session, author)
    before, version = _content(reading), train.inputs_version + 1
    keep_versions(session, [reading_id], replaced_by=author, reason=reason, version=version)
    for name, value in values.items():
        setattr(reading, name, value)
    reading.state = reading.state if state is None else state
    reading.remark = reading.remark if remark is None else remark
    reading.revision += 1
    reading.author, reading.created_at, reading.since_version = author, now(), version
    reading.source = "form"
    train.columns = [
        name
        for name in COLUMNS
        if name in {*train.columns, *(name for name, value in values.items() if value is not None)}
    ]
    inputs_changed(session, reading.train_id, Span(reading.taken_at, reading.taken_at, 1))
    old, new = changes(before, _content(reading))
    record(
        session, "reading-amended", train_id=train.id, object_id=reading_id, before=old, after=new, reason=reason,
        author=author,
    )  # fmt: skip
    session.flush()
    return reading


def _locked_reading(session: Session, reading_id: int) -> tuple[Reading, Train]:
    """A reading and its train, which stays locked: whatever changes readings locks their train first."""
    train_id = session.scalar(select(Reading.train_id).where(Reading.id == reading_id))
    if train_id is None:
        raise NotFound(f"There is no reading with the number {reading_id}.")
    train = locked_train(session, train_id)
    return session.get_one(Reading, reading_id, populate_existing=True), train


def void_reading(session: Session, reading_id: int, *, reason: str, author: str = "") -> Reading:
    """Take a reading out of use, with the reason; it stays readable."""
    reading, train = _locked_reading(session, reading_id)
    if reading.voided_at is not None:
        raise Conflict("This reading was taken out of use already.")
    if not reason.strip():
        raise Conflict("Taking a reading out of use needs a reason.")
    author = writer(session, author)
    reading.voided_at, reading.void_reason, reading.voided_by = now(), reason.strip(), author
    reading.voided_version = inputs_changed(session, train.id, Span(reading.taken_at, reading.taken_at, 1))
    taken_at = {"taken_at": reading.taken_at.isoformat()}
    record(
        session,
        "reading-voided",
        train_id=train.id,
        object_id=reading_id,
        before=taken_at,
        reason=reason,
        author=author,
    )
    session.flush()
    return reading


def void_import(
    session: Session, train_id: int, import_id: int, *, reason: str, author: str = "", at: datetime | None = None
) -> int:
    """Take all readings of an import out of use; returns how many."""
    in_use = (Reading.train_id == train_id, Reading.import_id == import_id, Reading.voided_at.is_(None))
    query = select(func.min(Reading.taken_at), func.max(Reading.taken_at), func.count()).where(*in_use)
    first, last, count = session.execute(query).one()
    version = inputs_changed(session, train_id, Span(first, last, count) if count else None)
    outcome = session.execute(
        update(Reading)
        .where(*in_use)
        .values(voided_at=at or now(), void_reason=reason, voided_by=writer(session, author), voided_version=version),
        execution_options={"synchronize_session": False},
    )
    session.expire_all()
    return int(outcome.rowcount)  # type: ignore[attr-defined]
