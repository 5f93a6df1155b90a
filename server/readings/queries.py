"""Find readings. `readings_frame` is the only place where rows become the frame that the science takes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
import pandas as pd
from sqlalchemy import BigInteger, ColumnElement, Select, String, cast, func, or_, select, type_coerce
from sqlalchemy.orm import Session

from analytics.quantities import COLUMNS
from server.db import UtcTime
from server.errors import NotFound
from server.plants.models import Train
from server.readings.models import Reading, ReadingRevision, SetAside

TABLE = Reading.__table__
WORDS = ("state", "remark")
LATEST_READINGS = 200
ROWS_AT_ONCE = 50_000


@dataclass(frozen=True)
class ReadingLine:
    """One reading as a list shows it; `values` holds the columns that have one, in canonical units.

    `reason` says why trends do not use the reading ("" when they do); `values_set_aside` why they do not use
    single values of it.
    """

    id: int
    taken_at: datetime
    values: dict[str, float]
    state: str
    remark: str
    source: str
    author: str
    import_id: int | None
    revision: int
    voided_at: datetime | None
    void_reason: str
    reason: str
    values_set_aside: dict[str, str]


@dataclass(frozen=True)
class ReadingPage:
    """Some of the readings of a train, newest first, and how many there are of the kind asked for."""

    lines: tuple[ReadingLine, ...]
    total: int


@dataclass(frozen=True)
class ReadingCounts:
    """Readings of a train in all, and those among them that were taken out of use."""

    total: int
    voided: int


@dataclass(frozen=True)
class LatestValue:
    """The newest value of one column, in its canonical unit."""

    value: float
    taken_at: datetime


def readings_frame(
    session: Session, train_id: int, since: datetime | None = None, until: datetime | None = None
) -> pd.DataFrame:
    """The readings of a train that are in use, both ends included.

    Returns
    -------
    pandas.DataFrame
        Index `taken_at` (UTC, ascending), the columns that the train has, in canonical units; `state` and `remark`
        where any reading has one.
    """
    given = session.scalar(select(Train.columns).where(Train.id == train_id)) or []
    columns = [name for name in COLUMNS if name in set(given)]
    query = select(_instant(session), *(TABLE.c[name] for name in (*columns, *WORDS)))
    query = query.where(TABLE.c.train_id == train_id, TABLE.c.voided_at.is_(None)).order_by(TABLE.c.taken_at)
    if since is not None:
        query = query.where(TABLE.c.taken_at >= since)
    if until is not None:
        query = query.where(TABLE.c.taken_at <= until)
    return _frame(session, query, columns)


def readings_frame_then(session: Session, train_id: int, version: int, columns: Sequence[str]) -> pd.DataFrame:
    """The readings that were in use at a version of the train's inputs, as they stood then.

    Parameters
    ----------
    columns
        Those that the train had then.
    """
    in_use = or_(TABLE.c.voided_at.is_(None), TABLE.c.voided_version > version)
    query = select(_instant(session), *(TABLE.c[name] for name in (*columns, *WORDS)))
    query = query.where(TABLE.c.train_id == train_id, TABLE.c.since_version <= version, in_use)
    frame = _frame(session, query.order_by(TABLE.c.taken_at), columns, keep_words=True)
    replaced = _replaced_since(session, train_id, version, columns)
    whole = pd.concat([frame, replaced]).sort_index(kind="stable") if len(replaced) else frame
    return _without_empty_words(whole)


def _replaced_since(session: Session, train_id: int, version: int, columns: Sequence[str]) -> pd.DataFrame:
    """Revisions that stood at a version and have been replaced since."""
    query = (
        select(type_coerce(TABLE.c.taken_at, UtcTime), ReadingRevision.content)
        .join(ReadingRevision, ReadingRevision.reading_id == TABLE.c.id)
        .where(
            TABLE.c.train_id == train_id,
            ReadingRevision.since_version <= version,
            ReadingRevision.until_version > version,
        )
    )
    found = [(at, content) for at, content in session.execute(query) if _stood(content, version)]
    data: dict[str, Any] = {
        name: np.array([content.get(name) for _, content in found], dtype=np.float64) for name in columns
    }
    data |= {name: pd.array([content.get(name, "") for _, content in found], dtype="str") for name in WORDS}
    index = pd.DatetimeIndex([at for at, _ in found], name="taken_at", tz="UTC").as_unit("us")
    return pd.DataFrame(data, index=index)


def _stood(content: dict[str, Any], version: int) -> bool:
    voided = content.get("voided_version")
    return "voided_at" not in content or (voided is not None and voided > version)


def _frame(session: Session, query: Select[Any], columns: Sequence[str], *, keep_words: bool = False) -> pd.DataFrame:
    parts = [_part(rows, columns) for rows in _plain_rows(session, query)] or [_part([], columns)]
    frame = pd.concat(parts) if len(parts) > 1 else parts[0]
    return frame if keep_words else _without_empty_words(frame)


def as_read_back(frame: pd.DataFrame) -> pd.DataFrame:
    """The readings of a table as `readings_frame` gives them when they are all that there are."""
    names = [name for name in COLUMNS if name in frame.columns and frame[name].notna().any()]
    words = [name for name in WORDS if name in frame.columns and (frame[name] != "").any()]
    wanted = [*names, *words]
    return frame if wanted == list(frame.columns) else frame[wanted]


def _without_empty_words(frame: pd.DataFrame) -> pd.DataFrame:
    return frame.drop(columns=[name for name in WORDS if not (frame[name] != "").any()])


def _plain_rows(session: Session, query: Select[Any]) -> Iterator[list[tuple[Any, ...]]]:
    """Rows by the part, as the driver gives them: those of SQLAlchemy cost as much again."""
    result = session.execute(query)
    while rows := result.cursor.fetchmany(ROWS_AT_ONCE):  # type: ignore[attr-defined]
        yield rows
    result.close()


def _part(rows: list[tuple[Any, ...]], columns: Sequence[str]) -> pd.DataFrame:
    by_column = list(zip(*rows, strict=True)) or [()] * (1 + len(columns) + len(WORDS))
    data: dict[str, Any] = {
        name: np.array(values, dtype=np.float64) for name, values in zip(columns, by_column[1:], strict=False)
    }
    for name, words in zip(WORDS, by_column[-len(WORDS) :], strict=True):
        data[name] = pd.array(words, dtype="str")
    index = pd.DatetimeIndex(np.array(by_column[0], dtype="datetime64[us]"), name="taken_at")
    return pd.DataFrame(data, index=index.tz_localize("UTC"))


def _instant(session: Session) -> ColumnElement[Any]:
    """The time of a reading in the form that is fastest to read: text from SQLite, microseconds from PostgreSQL."""
    if session.get_bind().dialect.name == "sqlite":
        return type_coerce(TABLE.c.taken_at, String)
    return cast(func.extract("epoch", TABLE.c.taken_at) * 1_000_000, BigInteger)


def list_readings(
    session: Session,
    train_id: int,
    *,
    limit: int = 50,
    offset: int = 0,
    reason: str | None = None,
    only_set_aside: bool = False,
    only_used: bool = False,
    only_voided: bool = False,
    since: datetime | None = None,
    until: datetime | None = None,
) -> ReadingPage:
    """Readings of a train, newest first, the voided ones among them.

    `reason` asks for those set aside for one reason, `only_set_aside` for those set aside for any, `only_used` for
    those that trends use, `only_voided` for those taken out of use.
    """
    at_time = (SetAside.train_id == Reading.train_id) & (SetAside.taken_at == Reading.taken_at)
    wanted: list[ColumnElement[bool]] = [Reading.train_id == train_id]
    if reason is not None:
        wanted.append(SetAside.reason == reason)
    elif only_set_aside:
        wanted.append(SetAside.reason != "")
    elif only_used:
        wanted += [func.coalesce(SetAside.reason, "") == "", Reading.voided_at.is_(None)]
    elif only_voided:
        wanted.append(Reading.voided_at.is_not(None))
    if since is not None:
        wanted.append(Reading.taken_at >= since)
    if until is not None:
        wanted.append(Reading.taken_at <= until)
    query = select(Reading, SetAside).outerjoin(SetAside, at_time).where(*wanted)
    total = session.scalar(select(func.count()).select_from(Reading).outerjoin(SetAside, at_time).where(*wanted))
    rows = session.execute(query.order_by(Reading.taken_at.desc()).limit(limit).offset(offset))
    return ReadingPage(tuple(_line(reading, aside) for reading, aside in rows), total or 0)


def _line(reading: Reading, aside: SetAside | None) -> ReadingLine:
    values = {name: value for name in COLUMNS if (value := getattr(reading, name)) is not None}
    return ReadingLine(
        id=reading.id,
        taken_at=reading.taken_at,
        values=values,
        state=reading.state,
        remark=reading.remark,
        source=reading.source,
        author=reading.author,
        import_id=reading.import_id,
        revision=reading.revision,
        voided_at=reading.voided_at,
        void_reason=reading.void_reason,
        reason=aside.reason if aside else "",
        values_set_aside=(aside.content if aside else None) or {},
    )


def count_set_aside(session: Session, train_id: int) -> dict[str, int]:
    """How many readings each reason sets aside, most first."""
    query = (
        select(SetAside.reason, func.count())
        .where(SetAside.train_id == train_id, SetAside.reason != "")
        .group_by(SetAside.reason)
        .order_by(func.count().desc(), SetAside.reason)
    )
    return {row[0]: row[1] for row in session.execute(query)}


def count_readings(session: Session, train_id: int) -> ReadingCounts:
    """How many readings a train has, and how many of them were taken out of use."""
    query = select(func.count(), func.count(Reading.voided_at)).where(Reading.train_id == train_id)
    total, voided = session.execute(query).one()
    return ReadingCounts(total, voided)


def reading_or_404(session: Session, reading_id: int) -> Reading:
    """One reading."""
    reading = session.get(Reading, reading_id)
    if reading is None:
        raise NotFound(f"There is no reading with the number {reading_id}.")
    return reading


def revisions(session: Session, reading_id: int) -> list[ReadingRevision]:
    """Older versions of a reading, newest first."""
    query = select(ReadingRevision).where(ReadingRevision.reading_id == reading_id)
    return list(session.scalars(query.order_by(ReadingRevision.revision.desc())))


def latest_values(session: Session, train_id: int) -> dict[str, LatestValue]:
    """The newest value of every column, looking back over the last readings only."""
    query = select(Reading).where(Reading.train_id == train_id, Reading.voided_at.is_(None))
    found: dict[str, LatestValue] = {}
    for reading in session.scalars(query.order_by(Reading.taken_at.desc()).limit(LATEST_READINGS)):
        for name in COLUMNS:
            value = getattr(reading, name)
            if value is not None and name not in found:
                found[name] = LatestValue(value, reading.taken_at)
    return found
