"""Give stored readings the values of a file, where a person has decided so, and take that back."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from sqlalchemy import bindparam, select, update
from sqlalchemy.orm import Session

from analytics.quantities import COLUMNS
from server.audit.author import writer
from server.db import now
from server.intake.table import ReadingsTable
from server.plants.actions import inputs_changed
from server.readings.actions import BY_ONES, TABLE, keep_versions, locked_train
from server.readings.compare import contradicts, stored_in_span
from server.readings.models import Reading, ReadingRevision

WORDS = ("state", "remark")


@dataclass(frozen=True)
class Replaced:
    """A reading that was given other values, and the revision that has them."""

    reading_id: int
    revision: int


def take_values(
    session: Session, train_id: int, table: ReadingsTable, *, reason: str, author: str = ""
) -> tuple[Replaced, ...]:
    """Write the values of a table over those of readings in use that say otherwise; the old versions are kept.

    Where the table has several values for one instant, the last counts. Cells without a value change nothing.
    """
    train = locked_train(session, train_id)
    frame = table.frame[~table.frame.index.duplicated(keep="last")]
    rows = _contradicting(session, train_id, frame)
    if not rows:
        return ()
    author, version = writer(session, author), train.inputs_version + 1
    ids = [row["key"] for row in rows]
    keep_versions(session, ids, replaced_by=author, reason=reason, version=version)
    common = {"author": author, "created_at": now(), "source": "file", "since_version": version}
    columns = [name for name in frame.columns if name in TABLE.c]
    statement = update(TABLE).where(TABLE.c.id == bindparam("key"))
    statement = statement.values({name: bindparam(name) for name in (*columns, *common)})
    session.connection().execute(statement.values(revision=TABLE.c.revision + 1), [common | row for row in rows])
    known = {name for name in columns if name in COLUMNS and frame[name].notna().any()}
    train.columns = [name for name in COLUMNS if name in known | set(train.columns)]
    inputs_changed(session, train_id)
    session.expire_all()
    return _revisions(session, ids)


def _contradicting(session: Session, train_id: int, frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Of each reading that is stored with other values: its number as `key`, and what it shall say."""
    stored = stored_in_span(session, train_id, frame)
    at = pd.DatetimeIndex(stored.index).get_indexer(pd.DatetimeIndex(frame.index))
    in_use = at >= 0
    in_use[in_use] = ~stored["voided"].to_numpy(dtype=bool)[at[in_use]]
    given = frame[in_use]
    kept = stored.take(at[in_use]).set_axis(given.index)
    columns = [name for name in frame.columns if name in kept.columns]
    flags = np.logical_or.reduce(
        [np.zeros(len(given), dtype=bool), *(contradicts(given[name], kept[name]) for name in columns)]
    )
    rows = []
    for position in np.flatnonzero(flags):
        row: dict[str, Any] = {"key": int(kept["id"].iloc[position])}
        for name in columns:
            value, before = given[name].iloc[position], kept[name].iloc[position]
            missing = value == "" or (isinstance(value, float) and np.isnan(value))
            row[name] = _plain(before if missing else value, name)
        rows.append(row)
    return rows


def _plain(value: Any, name: str) -> Any:
    if name not in COLUMNS:
        return "" if value is None else value
    return None if value is None or np.isnan(value) else float(value)


def _revisions(session: Session, ids: Sequence[int]) -> tuple[Replaced, ...]:
    found: list[Replaced] = []
    for start in range(0, len(ids), BY_ONES):
        query = select(TABLE.c.id, TABLE.c.revision).where(TABLE.c.id.in_(ids[start : start + BY_ONES]))
        found += [Replaced(key, revision) for key, revision in session.execute(query.order_by(TABLE.c.id))]
    return tuple(found)


def give_back(session: Session, train_id: int, replaced: Sequence[Replaced], *, reason: str, author: str = "") -> int:
    """Write back what readings said before; those that were changed again since are left. Returns how many."""
    train = locked_train(session, train_id)
    author, version = writer(session, author), train.inputs_version + 1
    count = 0
    for entry in replaced:
        reading = session.get(Reading, entry.reading_id, populate_existing=True)
        if reading is None or reading.revision != entry.revision or reading.voided_at is not None:
            continue
        before = session.scalar(
            select(ReadingRevision.content).where(
                ReadingRevision.reading_id == entry.reading_id, ReadingRevision.revision == entry.revision - 1
            )
        )
        keep_versions(session, [reading.id], replaced_by=author, reason=reason, version=version)
        reading = session.get_one(Reading, entry.reading_id, populate_existing=True)
        for name in (*COLUMNS, *WORDS):
            setattr(reading, name, (before or {}).get(name, None if name in COLUMNS else ""))
        reading.revision += 1
        reading.author, reading.created_at, reading.since_version = author, now(), version
        session.flush()
        count += 1
    if count:
        inputs_changed(session, train_id)
    return count
