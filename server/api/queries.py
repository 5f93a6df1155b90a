"""What machines are told, as typed documents, a page at a time."""

from datetime import UTC, date, datetime
from typing import Any

from pydantic import BaseModel
from sqlalchemy import select
from sqlalchemy.orm import Session

from analytics.quantities import COLUMNS
from server.assessments.due import due_of
from server.assessments.models import Daily as DailyRow
from server.assessments.models import PastAssessment
from server.assessments.queries import latest_assessment
from server.errors import AppError, NotFound
from server.plants.models import Site
from server.plants.models import Train as TrainRow
from server.readings.models import Reading as ReadingRow


class Train(BaseModel):
    """A train and its number."""

    id: int
    name: str
    timezone: str
    columns: list[str]


class Reading(BaseModel):
    """A reading in use; values in canonical units, only those that there are."""

    taken_at: datetime
    values: dict[str, float]
    state: str
    remark: str
    source: str
    revision: int


class Readings(BaseModel):
    """A page of readings, oldest first; `next` is the cursor of the page after it, null at the end."""

    readings: list[Reading]
    next: str | None


class Daily(BaseModel):
    """Daily values of one local day."""

    day: date
    values: dict[str, float | None]


class DailyValues(BaseModel):
    """A page of days, oldest first; `next` is the cursor of the page after it, null at the end."""

    days: list[Daily]
    next: str | None


class Verdict(BaseModel):
    """A verdict that differed from the one before it in level, settings or program."""

    id: int
    as_of: datetime | None
    level: str
    headline: str
    reasons: list[str]
    figures: dict[str, list[float | None]]
    version: str
    created_at: datetime


class Verdicts(BaseModel):
    """A page of verdicts, newest first; `next` is the cursor of the page after it, null at the end."""

    assessments: list[Verdict]
    next: str | None


class WrongCursor(AppError):
    """A cursor that no page has given."""

    status_code = 422

    def __init__(self, text: str) -> None:
        super().__init__(f"cursor: {text[:60]!r} is not the `next` of a page")


def api_trains(session: Session, site_id: int) -> list[Train]:
    """Trains of a site, by number."""
    timezone = session.scalar(select(Site.timezone).where(Site.id == site_id)) or "UTC"
    rows = session.scalars(select(TrainRow).where(TrainRow.site_id == site_id).order_by(TrainRow.id))
    return [Train(id=row.id, name=row.name, timezone=timezone, columns=row.columns) for row in rows]


def api_readings(
    session: Session, train_id: int, *, since: datetime | None, until: datetime | None, limit: int, cursor: str
) -> Readings:
    """Readings of a train that are in use, oldest first; a time without an offset is UTC."""
    query = select(ReadingRow).where(ReadingRow.train_id == train_id, ReadingRow.voided_at.is_(None))
    if since is not None:
        query = query.where(ReadingRow.taken_at >= _moment(since))
    if until is not None:
        query = query.where(ReadingRow.taken_at <= _moment(until))
    if cursor:
        try:
            query = query.where(ReadingRow.taken_at > _moment(datetime.fromisoformat(cursor)))
        except (ValueError, OverflowError):
            raise WrongCursor(cursor) from None
    rows = list(session.scalars(query.order_by(ReadingRow.taken_at).limit(limit + 1)))
    readings = [
        Reading(
            taken_at=row.taken_at,
            values={name: value for name in COLUMNS if (value := getattr(row, name)) is not None},
            state=row.state,
            remark=row.remark,
            source=row.source,
            revision=row.revision,
        )
        for row in rows[:limit]
    ]
    return Readings(readings=readings, next=_written(rows[limit - 1].taken_at) if len(rows) > limit else None)


def _moment(given: datetime) -> datetime:
    return given if given.tzinfo else given.replace(tzinfo=UTC)


def _written(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")


def api_daily(session: Session, train_id: int, *, limit: int, cursor: str) -> DailyValues:
    """Daily values of a train, oldest first."""
    query = select(DailyRow).where(DailyRow.train_id == train_id)
    if cursor:
        try:
            query = query.where(DailyRow.day > date.fromisoformat(cursor))
        except ValueError:
            raise WrongCursor(cursor) from None
    rows = list(session.scalars(query.order_by(DailyRow.day).limit(limit + 1)))
    days = [Daily(day=row.day, values=row.content) for row in rows[:limit]]
    return DailyValues(days=days, next=days[-1].day.isoformat() if len(rows) > limit else None)


def api_assessment(session: Session, train_id: int) -> dict[str, Any]:
    """The latest assessment document of a train, and whether it knows of all readings."""
    record = latest_assessment(session, train_id)
    if record is None:
        raise NotFound("This train has no assessment yet.")
    return dict(record.document) | {"being_worked_out": bool(due_of(session, train_id).ids)}


def api_assessments(session: Session, train_id: int, *, limit: int, cursor: str) -> Verdicts:
    """The verdicts of a train, newest first."""
    query = select(PastAssessment).where(PastAssessment.train_id == train_id)
    if cursor:
        if not (cursor.isascii() and cursor.isdigit() and len(cursor) < 18):
            raise WrongCursor(cursor)
        query = query.where(PastAssessment.id < int(cursor))
    rows = list(session.scalars(query.order_by(PastAssessment.id.desc()).limit(limit + 1)))
    verdicts = [
        Verdict(
            id=row.id,
            as_of=row.as_of,
            level=row.level,
            headline=row.headline,
            reasons=row.reasons,
            figures=row.figures,
            version=row.version,
            created_at=row.created_at,
        )
        for row in rows[:limit]
    ]
    return Verdicts(assessments=verdicts, next=str(verdicts[-1].id) if len(rows) > limit else None)
