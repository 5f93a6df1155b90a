"""Answers that machines were given, so that the same request twice gets the same answer."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Integer, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, Json, LargeId, UtcTime, now


class ApiAnswer(Base):
    """What was answered to a batch of readings that came with a key; `digest` is that of the batch."""

    __tablename__ = "api_answers"
    __table_args__ = (UniqueConstraint("train_id", "key"),)

    id: Mapped[int] = mapped_column(LargeId, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    key: Mapped[str] = mapped_column(String(200))
    digest: Mapped[str] = mapped_column(String(64))
    readings: Mapped[int] = mapped_column(Integer)
    answer: Mapped[dict[str, Any]] = mapped_column(Json)
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
