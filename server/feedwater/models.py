"""Analyses of the feed of a train, as the laboratory gave them."""

from datetime import datetime
from typing import Any

from sqlalchemy import Double, ForeignKey, Index, Integer, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, Json, UtcTime, now


class FeedAnalysis(Base):
    """One analysis. `entered` holds ion -> {"value": ..., "given_as": ...}; alkalinity is in mg/L as CaCO3.

    An analysis is never changed: it is withdrawn with a reason, and another written down.
    """

    __tablename__ = "feed_analyses"
    __table_args__ = (Index(None, "train_id", "sampled_at"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    sampled_at: Mapped[datetime] = mapped_column(UtcTime)
    entered: Mapped[dict[str, Any]] = mapped_column(Json)
    ph: Mapped[float] = mapped_column(Double)
    temperature_c: Mapped[float] = mapped_column(Double)
    alkalinity_mg_l: Mapped[float | None] = mapped_column(Double)
    conductivity_us_cm: Mapped[float | None] = mapped_column(Double)
    remark: Mapped[str] = mapped_column(Text, default="")
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    voided_at: Mapped[datetime | None] = mapped_column(UtcTime)
    void_reason: Mapped[str] = mapped_column(Text, default="")
    voided_by: Mapped[str] = mapped_column(String(200), default="")


class ScalingLimits(Base):
    """Limits of the concentrate that a train has instead of the defaults: name -> [without, with antiscalant]."""

    __tablename__ = "scaling_limits"

    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"), primary_key=True)
    limits: Mapped[dict[str, Any]] = mapped_column(Json)
