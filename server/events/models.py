"""Events of a train: cleanings, replacements, calibrations, notes."""

from datetime import datetime

from sqlalchemy import ForeignKey, Index, Integer, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, UtcTime, now


class Event(Base):
    """One event; `kind` is one of `analytics.events.KINDS`, `stage` is empty when it concerns the whole train."""

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
