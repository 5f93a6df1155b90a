"""What machines are told, as typed documents."""

from datetime import UTC, date, datetime
from typing import Any

from pydantic import BaseModel
from sqlalchemy import select
from sqlalchemy.orm import Session

from analytics.quantities import COLUMNS
from server.assessments.models import Daily as DailyRow
from server.assessments.queries import latest_assessment
from server.errors import NotFound
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


class Daily(BaseModel):
    """Daily values of one local day."""

    day: date
    values: dict[str, float | None]


def api_trains(session: Session, site_id: int) -> list[Train]:
    """Trains of a site, by number."""
    timezone = session.scalar(select(Site.timezone).where(Site.id == site_id)) or "UTC"
    rows = session.scalars(select(TrainRow).where(TrainRow.site_id == site_id).order_by(TrainRow.id))
    return [Train(id=row.id, name=row.name, timezone=timezone, columns=row.columns) for row in rows]


def api_readings(session: Session, train_id: int, *, since: datetime | None, limit: int) -> list[Reading]:
    """Readings of a train that are in use, oldest first; a time without an offset is UTC."""
    query = select(ReadingRow).where(ReadingRow.train_id == train_id, ReadingRow.voided_at.is_(None))
    if since is not None:
        moment = since if since.tzinfo else since.replace(tzinfo=UTC)
        query = query.where(ReadingRow.taken_at >= moment)
    rows = session.scalars(query.order_by(ReadingRow.taken_at).limit(limit))
    return [
        Reading(
            taken_at=row.taken_at,
            values={name: value for name in COLUMNS if (value := getattr(row, name)) is not None},
            state=row.state,
            remark=row.remark,
            source=row.source,
            revision=row.revision,
        )
        for row in rows
    ]


def api_daily(session: Session, train_id: int) -> list[Daily]:
    """Daily values of a train, oldest first."""
    rows = session.scalars(select(DailyRow).where(DailyRow.train_id == train_id).order_by(DailyRow.day))
    return [Daily(day=row.day, values=row.content) for row in rows]


def api_assessment(session: Session, train_id: int) -> dict[str, Any]:
    """The latest assessment document of a train."""
    record = latest_assessment(session, train_id)
    if record is None:
        raise NotFound("This train has no assessment yet.")
    return dict(record.document)
