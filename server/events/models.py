"""Events of a train: cleanings, replacements, calibrations, notes."""

from datetime import datetime

from sqlalchemy import ForeignKey, Index, Integer, String, Text, text
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, UtcTime, now


class Event(Base):
    """One event; `kind` is one of `analytics.events.KINDS`, `stage` is empty when it concerns the whole train.

    An event is never changed: a correction withdraws it and writes a new one, whose `replaces_id` names it.
    `since_version` and `voided_version` are as those of a reading.
    """

    __tablename__ = "events"
    __table_args__ = (Index(None, "train_id", "happened_at"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    happened_at: Mapped[datetime] = mapped_column(UtcTime)
    kind: Mapped[str] = mapped_column(String(32))
    stage: Mapped[int | None] = mapped_column(Integer)
    detail: Mapped[str] = mapped_column(Text, default="")
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    voided_at: Mapped[datetime | None] = mapped_column(UtcTime)
    void_reason: Mapped[str] = mapped_column(Text, default="")
    voided_by: Mapped[str] = mapped_column(String(200), default="", server_default=text("''"))
    since_version: Mapped[int] = mapped_column(Integer, default=1, server_default="1")
    voided_version: Mapped[int | None] = mapped_column(Integer)
    replaces_id: Mapped[int | None] = mapped_column(ForeignKey("events.id"))
