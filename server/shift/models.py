"""The shift log: what was entered and how it was answered, how a train's page is laid out, and pictures of gauges."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, LargeBinary, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, Json, LargeId, UtcTime, now

SAVED, SAME, CONFLICT, SETTLED = "saved", "same", "conflict", "settled"
LONGEST_KEY = 64


class ShiftEntry(Base):
    """One entry as a person sent it, kept beside the reading that it became.

    `key` was made where it was typed: the same key again is the same entry, which is answered as it was the first
    time (`answer`) and stored once. `content` holds what was typed, as typed: {"values", "units", "canonical",
    "state", "remark", "findings", "digest", "entered_by"}. `status` is saved, same (nothing new), conflict (another
    reading of that instant says otherwise, and nobody has decided yet) or settled.
    """

    __tablename__ = "shift_entries"
    __table_args__ = (UniqueConstraint("train_id", "key"), Index(None, "train_id", "id"))

    id: Mapped[int] = mapped_column(LargeId, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    key: Mapped[str] = mapped_column(String(LONGEST_KEY))
    taken_at: Mapped[datetime] = mapped_column(UtcTime)
    content: Mapped[dict[str, Any]] = mapped_column(Json)
    answer: Mapped[dict[str, Any]] = mapped_column(Json, default=dict)
    status: Mapped[str] = mapped_column(String(16))
    reading_id: Mapped[int | None] = mapped_column(ForeignKey("readings.id"))
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    settled_by: Mapped[str] = mapped_column(String(200), default="")
    settled_at: Mapped[datetime | None] = mapped_column(UtcTime)


class GaugePhoto(Base):
    """A picture of a gauge that came with an entry; `kind` was told by its content, not by its name."""

    __tablename__ = "gauge_photos"
    __table_args__ = (Index(None, "entry_id"),)

    id: Mapped[int] = mapped_column(LargeId, primary_key=True)
    entry_id: Mapped[int] = mapped_column(ForeignKey("shift_entries.id"))
    kind: Mapped[str] = mapped_column(String(32))
    content: Mapped[bytes] = mapped_column(LargeBinary, deferred=True, deferred_raiseload=True)
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)


class ShiftLayout(Base):
    """How the shift log of a train is laid out: [{"column", "tag", "unit", "hidden"}] in the order of the walk."""

    __tablename__ = "shift_layouts"

    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"), primary_key=True, autoincrement=False)
    fields: Mapped[list[dict[str, Any]]] = mapped_column(Json)
    author: Mapped[str] = mapped_column(String(200), default="")
    changed_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
