"""Records of cleanings with their older versions, and the prices of a site that their economics rest on."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, Integer, LargeBinary, String, Text, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, Json, LargeId, UtcTime, now


class Cleaning(Base):
    """One cleaning of a train, or of one stage of it.

    `content` holds what was written down, in canonical units: the fields of `server.cleanings.fields`, the baths under
    `steps`, and under `dangers` what was outside the limits and confirmed. `event_id` is the event that makes it count
    for runs. A record is never deleted: `voided_at`, `voided_by` and `void_reason` take it out of use.
    """

    __tablename__ = "cleanings"
    __table_args__ = (Index(None, "train_id", "started_at"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    event_id: Mapped[int | None] = mapped_column(ForeignKey("events.id"))
    stage: Mapped[int | None] = mapped_column(Integer)
    started_at: Mapped[datetime] = mapped_column(UtcTime)
    ended_at: Mapped[datetime] = mapped_column(UtcTime)
    content: Mapped[dict[str, Any]] = mapped_column(Json)
    author: Mapped[str] = mapped_column(String(200), default="")
    revision: Mapped[int] = mapped_column(Integer, default=1, server_default="1")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    voided_at: Mapped[datetime | None] = mapped_column(UtcTime)
    void_reason: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
    voided_by: Mapped[str] = mapped_column(String(200), default="", server_default=text("''"))


class CleaningRevision(Base):
    """One older version of a cleaning: what it said, who wrote it, and who replaced it, when and why."""

    __tablename__ = "cleaning_revisions"
    __table_args__ = (UniqueConstraint("cleaning_id", "revision"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    cleaning_id: Mapped[int] = mapped_column(ForeignKey("cleanings.id"))
    revision: Mapped[int] = mapped_column(Integer)
    content: Mapped[dict[str, Any]] = mapped_column(Json)
    author: Mapped[str] = mapped_column(String(200), default="")
    written_at: Mapped[datetime] = mapped_column(UtcTime)
    replaced_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    replaced_by: Mapped[str] = mapped_column(String(200), default="")
    reason: Mapped[str] = mapped_column(Text, default="")


class CleaningPhoto(Base):
    """A picture that belongs to the record of a cleaning; `kind` was told by its content, not by its name."""

    __tablename__ = "cleaning_photos"
    __table_args__ = (Index(None, "cleaning_id"),)

    id: Mapped[int] = mapped_column(LargeId, primary_key=True)
    cleaning_id: Mapped[int] = mapped_column(ForeignKey("cleanings.id"))
    kind: Mapped[str] = mapped_column(String(32))
    content: Mapped[bytes] = mapped_column(LargeBinary, deferred=True, deferred_raiseload=True)
    caption: Mapped[str] = mapped_column(String(200), default="")
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    voided_at: Mapped[datetime | None] = mapped_column(UtcTime)
    voided_by: Mapped[str] = mapped_column(String(200), default="", server_default=text("''"))


class CleaningPrices(Base):
    """The prices that somebody gave for a site, in its currency; the newest counts, the older ones are its history."""

    __tablename__ = "cleaning_prices"
    __table_args__ = (Index(None, "site_id", "id"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"))
    content: Mapped[dict[str, float]] = mapped_column(Json)
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
