"""Find what was found out about a train, and about the fleet."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import numpy as np
import orjson
import pandas as pd
from sqlalchemy import Text, exists, select, type_coerce
from sqlalchemy.orm import Session, undefer

from server.assessments.models import AssessmentDue, AssessmentRecord, Daily
from server.plants.models import Site, Train


@dataclass(frozen=True)
class FleetLine:
    """One train of the fleet with its latest assessment; `summary` is None while there is none."""

    train_id: int
    site: str
    train: str
    timezone: str
    units: str
    level: str
    headline: str
    as_of: datetime | None
    summary: dict[str, Any] | None
    site_id: int = 0
    due: bool = False
    """Readings or settings have changed since: another verdict is being worked out."""


def latest_assessment(session: Session, train_id: int, *, series: bool = False) -> AssessmentRecord | None:
    """The latest assessment of a train; its `series` can be read only when asked for."""
    query = select(AssessmentRecord).where(AssessmentRecord.train_id == train_id)
    return session.scalar(query.options(undefer(AssessmentRecord.series)) if series else query)


def fleet_lines(session: Session, *, sites: frozenset[int] | None = None) -> list[FleetLine]:
    """Trains with their latest assessment, by the names of site and train: of some sites, or of all."""
    query = (
        select(Train.id, Site.name, Train.name, Site.timezone, Site.units)
        .add_columns(
            AssessmentRecord.level,
            AssessmentRecord.headline,
            AssessmentRecord.as_of,
            AssessmentRecord.summary,
            Train.site_id,
            exists().where(AssessmentDue.train_id == Train.id),
        )
        .join(Site, Train.site_id == Site.id)
        .outerjoin(AssessmentRecord, AssessmentRecord.train_id == Train.id)
        .order_by(Site.name, Train.name)
    )
    if sites is not None:
        query = query.where(Site.id.in_(sites))
    return [
        FleetLine(
            row[0], row[1], row[2], row[3], row[4], row.level or "not enough data", row.headline or "", *row[7:11]
        )
        for row in session.execute(query)
    ]


def daily_frame(session: Session, train_id: int, since: date | None = None) -> pd.DataFrame:
    """The stored daily values of a train: one row per local day, columns as in `Assessment.daily`."""
    content = type_coerce(Daily.content, Text)  # as text: many small documents are read fastest as one
    query = select(Daily.day, content).where(Daily.train_id == train_id).order_by(Daily.day)
    if since is not None:
        query = query.where(Daily.day >= since)
    rows = session.execute(query).all()
    index = pd.DatetimeIndex([day for day, _ in rows], name="day")
    return pd.DataFrame(orjson.loads(f"[{','.join(text for _, text in rows)}]"), index=index, dtype=np.float64)
