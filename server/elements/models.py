"""Elements by serial number, where they lie and lay, their weights, and rounds of vessel conductivities."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import Date, Double, ForeignKey, Index, Integer, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, Json, UtcTime, now


class Element(Base):
    """One element of one site; its serial number names it there."""

    __tablename__ = "elements"
    __table_args__ = (UniqueConstraint("site_id", "serial"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"))
    serial: Mapped[str] = mapped_column(String(60))
    model: Mapped[str] = mapped_column(String(100), default="")
    made_on: Mapped[date | None] = mapped_column(Date)


class ElementStay(Base):
    """One element at one place from a day until another; `until` is empty while it is there."""

    __tablename__ = "element_stays"
    __table_args__ = (Index(None, "train_id", "stage", "vessel", "position"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    element_id: Mapped[int] = mapped_column(ForeignKey("elements.id"), index=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    stage: Mapped[int] = mapped_column(Integer)
    vessel: Mapped[int] = mapped_column(Integer)
    position: Mapped[int] = mapped_column(Integer)
    since: Mapped[date] = mapped_column(Date)
    until: Mapped[date | None] = mapped_column(Date)
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)


class ElementWeight(Base):
    """An element on the scales, drained."""

    __tablename__ = "element_weights"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    element_id: Mapped[int] = mapped_column(ForeignKey("elements.id"), index=True)
    weighed_on: Mapped[date] = mapped_column(Date)
    weight_kg: Mapped[float] = mapped_column(Double)


class VesselRound(Base):
    """Permeate conductivities of single vessels on one round: stage -> vessel -> uS/cm, as text keys.

    `since_version` and `voided_version` are as those of a reading.
    """

    __tablename__ = "vessel_rounds"
    __table_args__ = (Index(None, "train_id", "measured_at"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    measured_at: Mapped[datetime] = mapped_column(UtcTime)
    conductivities: Mapped[dict[str, Any]] = mapped_column(Json)
    remark: Mapped[str] = mapped_column(Text, default="")
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    voided_at: Mapped[datetime | None] = mapped_column(UtcTime)
    void_reason: Mapped[str] = mapped_column(Text, default="")
    since_version: Mapped[int] = mapped_column(Integer, default=1, server_default="1")
    voided_version: Mapped[int | None] = mapped_column(Integer)
