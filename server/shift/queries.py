"""Find what the shift log of a train needs: its layout, its last readings, and what was entered."""

from datetime import datetime

import pandas as pd
from sqlalchemy import select
from sqlalchemy.orm import Session, undefer

from analytics.quantities import COLUMNS
from analytics.units import display_unit
from server.errors import NotFound
from server.intake.models import DONE, Import
from server.plants.models import Train
from server.readings.models import Reading, SetAside
from server.readings.queries import readings_frame
from server.shift.layout import LogField, laid_out
from server.shift.models import CONFLICT, LONGEST_KEY, GaugePhoto, ShiftEntry, ShiftLayout

OF_DIGEST = 16
"""Letters of the digest of an entry that tell it from others with its key."""
RECENT = 60
"""Readings on which "usual here" rests: three weeks of three shifts; common practice, no source."""


def log_fields(session: Session, train: Train) -> tuple[LogField, ...]:
    """Fields of the shift log of a train, the hidden ones among them."""
    kept = session.get(ShiftLayout, train.id)
    return laid_out(len(train.stages), train.columns, kept.fields if kept else [], gauge_units(session, train))


def gauge_units(session: Session, train: Train) -> dict[str, str]:
    """Unit of each gauge by what was last written: by a person, else in a file, else what the site prefers."""
    units = {name: display_unit(quantity.unit, train.site.units) for name, quantity in COLUMNS.items()}
    query = select(Import.column_units).where(Import.train_id == train.id, Import.status == DONE)
    units |= session.scalar(query.order_by(Import.id.desc()).limit(1)) or {}
    typed = select(Reading.typed).where(
        Reading.train_id == train.id, Reading.typed.is_not(None), Reading.source == "form"
    )
    return units | (session.scalar(typed.order_by(Reading.id.desc()).limit(1)) or {})


def recent_readings(session: Session, train_id: int, before: datetime | None = None) -> pd.DataFrame:
    """The last readings of a train in use, as `readings_frame` gives them; `before` some instant."""
    query = select(Reading.taken_at).where(Reading.train_id == train_id, Reading.voided_at.is_(None))
    if before is not None:
        query = query.where(Reading.taken_at < before)
    times = list(session.scalars(query.order_by(Reading.taken_at.desc()).limit(RECENT)))
    if not times:
        return pd.DataFrame(index=pd.DatetimeIndex([], tz="UTC", name="taken_at"))
    return readings_frame(session, train_id, since=times[-1], until=times[0])


def entry_of_key(session: Session, train_id: int, key: str) -> ShiftEntry | None:
    """The entry that came with a key, if any did."""
    return session.scalar(select(ShiftEntry).where(ShiftEntry.train_id == train_id, ShiftEntry.key == key))


def key_of_content(session: Session, train_id: int, key: str, digest: str) -> str:
    """The key under which an entry is kept: its own, or one made from its content where that is taken.

    A form that is gone back to and changed comes with its old key, and says something new; what it says must not be
    answered as if it were the old entry again. Entries from before digests were kept are known by their key alone.
    """
    known = entry_of_key(session, train_id, key)
    if known is None or known.content.get("digest", digest) == digest:
        return key
    return f"{key[: LONGEST_KEY - OF_DIGEST - 1]}-{digest[:OF_DIGEST]}"


def entry_or_404(session: Session, train_id: int, entry_id: int) -> ShiftEntry:
    """One entry of a train."""
    entry = session.get(ShiftEntry, entry_id)
    if entry is None or entry.train_id != train_id:
        raise NotFound(f"There is no entry with the number {entry_id}.")
    return entry


def entries_of_reading(session: Session, reading_id: int) -> list[int]:
    """Numbers of the entries of the shift log that were about a reading, the oldest first."""
    return list(
        session.scalars(select(ShiftEntry.id).where(ShiftEntry.reading_id == reading_id).order_by(ShiftEntry.id))
    )


def open_conflicts(session: Session, train_id: int) -> list[ShiftEntry]:
    """Entries that contradict a reading and wait for somebody to say which is right, the oldest first."""
    query = select(ShiftEntry).where(ShiftEntry.train_id == train_id, ShiftEntry.status == CONFLICT)
    return list(session.scalars(query.order_by(ShiftEntry.id)))


def photo_or_404(session: Session, train_id: int, photo_id: int) -> GaugePhoto:
    """One picture of a train, with its content."""
    query = (
        select(GaugePhoto)
        .join(ShiftEntry, ShiftEntry.id == GaugePhoto.entry_id)
        .where(GaugePhoto.id == photo_id, ShiftEntry.train_id == train_id)
    )
    photo = session.scalar(query.options(undefer(GaugePhoto.content)))
    if photo is None:
        raise NotFound(f"There is no photo with the number {photo_id}.")
    return photo


def photos_of(session: Session, entry_id: int) -> list[int]:
    """Numbers of the pictures that came with an entry."""
    return list(session.scalars(select(GaugePhoto.id).where(GaugePhoto.entry_id == entry_id).order_by(GaugePhoto.id)))


def why_set_aside(session: Session, train_id: int, taken_at: datetime) -> str:
    """The reason for which trends do not use a reading, or nothing."""
    query = select(SetAside.reason).where(SetAside.train_id == train_id, SetAside.taken_at == taken_at)
    return session.scalar(query) or ""


def reading_at(session: Session, train_id: int, taken_at: datetime) -> Reading | None:
    """The reading of a train at an instant that is in use."""
    query = select(Reading).where(
        Reading.train_id == train_id, Reading.taken_at == taken_at, Reading.voided_at.is_(None)
    )
    return session.scalar(query)


def trains_of_site(session: Session, site_id: int) -> list[int]:
    """Numbers of all trains of a site."""
    return list(session.scalars(select(Train.id).where(Train.site_id == site_id).order_by(Train.id)))
