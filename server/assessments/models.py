"""What was found out: the daily values and the latest assessment of each train."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import Date, ForeignKey, Integer, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, Json, UtcTime, now


class Daily(Base):
    """Medians, spreads and counts of one train on one local day.

    `content` maps the columns of `Assessment.daily` to numbers; what is not there is null.
    """

    __tablename__ = "daily"

    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"), primary_key=True)
    day: Mapped[date] = mapped_column(Date, primary_key=True)
    content: Mapped[dict[str, float | None]] = mapped_column(Json)


class AssessmentRecord(Base):
    """The latest assessment of one train.

    `document` is the assessment document without its series, `series` the part of it named so, and `summary` the few
    parts of it that the fleet page shows, so that it need not read a thousand documents. `inputs_version`
    is that of the train when it was made: another one there means that it is out of date.
    """

    __tablename__ = "assessments"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"), unique=True)
    as_of: Mapped[datetime] = mapped_column(UtcTime)
    level: Mapped[str] = mapped_column(String(32))
    headline: Mapped[str] = mapped_column(Text)
    summary: Mapped[dict[str, Any]] = mapped_column(Json)
    document: Mapped[dict[str, Any]] = mapped_column(Json)
    series: Mapped[dict[str, Any]] = mapped_column(Json, deferred=True, deferred_raiseload=True)
    version: Mapped[str] = mapped_column(String(32))
    inputs_version: Mapped[int] = mapped_column(Integer)
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
