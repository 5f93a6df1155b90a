"""Readings: one wide row per train and instant, and the older versions of each."""

from datetime import datetime
from typing import Any

from sqlalchemy import Column, Double, ForeignKey, Index, Integer, String, Table, Text, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from analytics.quantities import COLUMNS
from server.db import Base, Json, LargeId, UtcTime, now

SOURCES = ("form", "file", "api")


class Reading(Base):
    """What was read from the gauges of one train at one instant; the quantities are those of the glossary.

    `typed` holds the units as typed by a person ({column: unit}); for a reading of a file they stand at its
    import. A reading is never deleted: `voided_at`, `voided_by` and `void_reason` take it out of use.
    `since_version` is the version of the train's inputs that this revision came with, `voided_version` the one with
    which it went out of use, so that the readings of any past assessment can be found again.
    """

    __table__ = Table(
        "readings",
        Base.metadata,
        Column("id", LargeId, primary_key=True),
        Column("train_id", ForeignKey("trains.id"), nullable=False),
        Column("taken_at", UtcTime, nullable=False),
        *(Column(name, Double) for name in COLUMNS),
        Column("state", String(16), nullable=False, default="", server_default=text("''")),
        Column("remark", Text, nullable=False, default="", server_default=text("''")),
        Column("typed", Json),
        Column("source", String(8), nullable=False),
        Column("author", String(200), nullable=False, default="", server_default=text("''")),
        Column("import_id", ForeignKey("imports.id")),
        Column("revision", Integer, nullable=False, default=1, server_default="1"),
        Column("created_at", UtcTime, nullable=False, default=now),
        Column("voided_at", UtcTime),
        Column("void_reason", Text, nullable=False, default="", server_default=text("''")),
        Column("voided_by", String(200), nullable=False, default="", server_default=text("''")),
        Column("since_version", Integer, nullable=False, default=1, server_default="1"),
        Column("voided_version", Integer),
        UniqueConstraint("train_id", "taken_at"),
        Index(None, "import_id"),
    )

    id: Mapped[int]
    train_id: Mapped[int]
    taken_at: Mapped[datetime]
    state: Mapped[str]
    remark: Mapped[str]
    typed: Mapped[dict[str, str] | None]
    source: Mapped[str]
    author: Mapped[str]
    import_id: Mapped[int | None]
    revision: Mapped[int]
    created_at: Mapped[datetime]
    voided_at: Mapped[datetime | None]
    void_reason: Mapped[str]
    voided_by: Mapped[str]
    since_version: Mapped[int]
    voided_version: Mapped[int | None]


class ReadingRevision(Base):
    """One older version of a reading: what it said, who wrote it, and who replaced it, when and why.

    It stood from `since_version` of the train's inputs until `until_version`, which had the next one. Rows are only
    added: triggers in the database refuse all else.
    """

    __tablename__ = "reading_revisions"
    __table_args__ = (UniqueConstraint("reading_id", "revision"),)

    id: Mapped[int] = mapped_column(LargeId, primary_key=True)
    reading_id: Mapped[int] = mapped_column(ForeignKey("readings.id"))
    revision: Mapped[int] = mapped_column(Integer)
    content: Mapped[dict[str, Any]] = mapped_column(Json)
    source: Mapped[str] = mapped_column(String(8))
    author: Mapped[str] = mapped_column(String(200), default="")
    written_at: Mapped[datetime] = mapped_column(UtcTime)
    replaced_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    replaced_by: Mapped[str] = mapped_column(String(200), default="")
    reason: Mapped[str] = mapped_column(Text, default="")
    since_version: Mapped[int] = mapped_column(Integer, default=1, server_default="1")
    until_version: Mapped[int] = mapped_column(Integer, default=1, server_default="1")


class SetAside(Base):
    """A reading that trends do not use, with its reason; or one of which single values are not used.

    Derived by the assessment and replaced as a whole. `reason` is empty when only the values in `content`
    ({column: reason}) are set aside.
    """

    __tablename__ = "set_aside"

    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"), primary_key=True)
    taken_at: Mapped[datetime] = mapped_column(UtcTime, primary_key=True)
    reason: Mapped[str] = mapped_column(String(32))
    content: Mapped[dict[str, str] | None] = mapped_column(Json)
