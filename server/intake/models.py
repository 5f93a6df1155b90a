"""Files of readings that came in, and saved mappings of foreign layouts."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, Integer, LargeBinary, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, Json, UtcTime, now

ASKED, PENDING, DONE, DISCARDED, UNDONE = "asked", "pending", "done", "discarded", "undone"
WORKING = "working"


class Import(Base):
    """One file of readings for one train, kept as it came: its bytes are its `ImportPart`s.

    `status` is working (a process of its own is at it; `job` says at what), asked (understood, and a person is to say
    whether rightly), pending (previewed, nothing stored), done, discarded or undone. `counts` holds whole numbers
    (rows, stored, same, different, problems; before it is done, `stored` is what would be); `column_units` the unit
    each column was typed in; `problems` and `differences` the first of each, and `preview` the first readings, as
    dictionaries; `notes` plain sentences. `understanding` is what was found out about a foreign file, `choices` what a
    person said about its layout, `revised` the stored readings that were given other values: number and revision of
    each.
    """

    __tablename__ = "imports"
    __table_args__ = (Index(None, "train_id", "id"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    file_name: Mapped[str] = mapped_column(String(255))
    sha256: Mapped[str] = mapped_column(String(64))
    mapping: Mapped[str] = mapped_column(Text, default="")
    column_units: Mapped[dict[str, str]] = mapped_column(Json, default=dict)
    unknown_columns: Mapped[list[str]] = mapped_column(Json, default=list)
    counts: Mapped[dict[str, int]] = mapped_column(Json, default=dict)
    problems: Mapped[list[dict[str, Any]]] = mapped_column(Json, default=list)
    differences: Mapped[list[dict[str, Any]]] = mapped_column(Json, default=list)
    preview: Mapped[list[dict[str, Any]]] = mapped_column(Json, default=list)
    notes: Mapped[list[str]] = mapped_column(Json, default=list)
    first_taken_at: Mapped[datetime | None] = mapped_column(UtcTime)
    last_taken_at: Mapped[datetime | None] = mapped_column(UtcTime)
    understanding: Mapped[dict[str, Any] | None] = mapped_column(Json)
    choices: Mapped[dict[str, Any] | None] = mapped_column(Json)
    revised: Mapped[list[list[int]] | None] = mapped_column(Json)
    job: Mapped[dict[str, Any] | None] = mapped_column(Json)
    status: Mapped[str] = mapped_column(String(16), default=PENDING)
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    finished_at: Mapped[datetime | None] = mapped_column(UtcTime)


class ImportPart(Base):
    """A piece of the file of an import; in the order of their numbers, from 0, they are the file."""

    __tablename__ = "import_parts"

    import_id: Mapped[int] = mapped_column(ForeignKey("imports.id"), primary_key=True)
    number: Mapped[int] = mapped_column(Integer, primary_key=True)
    content: Mapped[bytes] = mapped_column(LargeBinary)


class SavedMapping(Base):
    """A mapping kept for a site, so that the next file of the same layout needs none."""

    __tablename__ = "mappings"
    __table_args__ = (UniqueConstraint("site_id", "name"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"))
    name: Mapped[str] = mapped_column(String(200))
    text: Mapped[str] = mapped_column(Text)
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
