"""What was found out: the daily values and the latest assessment of each train."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import Boolean, Date, ForeignKey, Index, Integer, LargeBinary, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, Json, LargeId, UtcTime, now


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
    is that of the train when it was made: another one there means that it is out of date. `settings_id` names the
    settings that it used.
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
    settings_id: Mapped[int | None] = mapped_column(ForeignKey("train_settings.id"))
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)


class TrainSettings(Base):
    """The whole plant as one or more assessments of a train took it, as the dictionary of a plant file."""

    __tablename__ = "train_settings"
    __table_args__ = (UniqueConstraint("train_id", "digest"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    digest: Mapped[str] = mapped_column(String(64))
    content: Mapped[dict[str, Any]] = mapped_column(Json)
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)


class PastAssessment(Base):
    """A verdict that differed from the one before it in level, settings or program: enough to work it out again.

    `figures` maps "scope name" to [value, low, high], `columns` are those that the readings had. `as_of` and
    `settings_id` are empty where there was no reading in use.
    """

    __tablename__ = "past_assessments"
    __table_args__ = (Index(None, "train_id", "id"),)

    id: Mapped[int] = mapped_column(LargeId, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    as_of: Mapped[datetime | None] = mapped_column(UtcTime)
    level: Mapped[str] = mapped_column(String(32))
    headline: Mapped[str] = mapped_column(Text)
    reasons: Mapped[list[str]] = mapped_column(Json)
    figures: Mapped[dict[str, Any]] = mapped_column(Json)
    columns: Mapped[list[str]] = mapped_column(Json)
    version: Mapped[str] = mapped_column(String(32))
    inputs_version: Mapped[int] = mapped_column(Integer)
    settings_id: Mapped[int | None] = mapped_column(ForeignKey("train_settings.id"))
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)


class AssessmentDue(Base):
    """A change that the assessment of a train does not know yet; written with the change, gone with the answer to it.

    Readings from `since` to `until` have changed, `readings` of them; both are empty where no reading has. `whole` asks
    for everything to be worked out again.
    """

    __tablename__ = "assessments_due"
    __table_args__ = (Index(None, "train_id"),)

    id: Mapped[int] = mapped_column(LargeId, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    since: Mapped[datetime | None] = mapped_column(UtcTime)
    until: Mapped[datetime | None] = mapped_column(UtcTime)
    readings: Mapped[int] = mapped_column(Integer)
    whole: Mapped[bool] = mapped_column(Boolean)
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)


class WorkingBasis(Base):
    """What the next assessment of a train needs in order to work out some of its days alone.

    `basis` holds the levels of the screen and the reference, learned when all was worked out last, from `readings`
    readings with `columns`; `changed` counts those that have changed since. `inputs_version` is that of the days in
    `working_days`.
    """

    __tablename__ = "working_bases"

    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"), primary_key=True)
    settings_id: Mapped[int] = mapped_column(ForeignKey("train_settings.id"))
    version: Mapped[str] = mapped_column(String(32))
    inputs_version: Mapped[int] = mapped_column(Integer)
    basis: Mapped[dict[str, Any]] = mapped_column(Json)
    columns: Mapped[list[str]] = mapped_column(Json)
    readings: Mapped[int] = mapped_column(Integer)
    changed: Mapped[int] = mapped_column(Integer)


class WorkingDays(Base):
    """The table of days of one train, a month in a row: `content` holds days by columns as doubles, the day first."""

    __tablename__ = "working_days"

    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"), primary_key=True)
    month: Mapped[date] = mapped_column(Date, primary_key=True)
    columns: Mapped[list[str]] = mapped_column(Json)
    content: Mapped[bytes] = mapped_column(LargeBinary)
