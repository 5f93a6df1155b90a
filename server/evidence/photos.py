"""Photos of a train as files: one at a time, so that many of them need no more memory than one."""

from collections.abc import Iterable, Iterator

from sqlalchemy import select
from sqlalchemy.orm import Session

from server.cleanings.models import Cleaning, CleaningPhoto
from server.shift.models import GaugePhoto, ShiftEntry

ENDINGS = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}


def photos_of_train(session: Session, train_id: int) -> Iterator[tuple[str, Iterable[bytes]]]:
    """Name and bytes of every photo of a train: of cleanings by their record, of gauges by their entry."""
    of_cleanings = (
        select(CleaningPhoto.id, CleaningPhoto.cleaning_id, CleaningPhoto.kind)
        .join(Cleaning, Cleaning.id == CleaningPhoto.cleaning_id)
        .where(Cleaning.train_id == train_id)
    )
    for number, cleaning, kind in session.execute(of_cleanings.order_by(CleaningPhoto.id)).all():
        query = select(CleaningPhoto.content).where(CleaningPhoto.id == number)
        yield f"photos/cleaning {cleaning} photo {number}.{ENDINGS[kind]}", [session.scalars(query).one()]
    of_gauges = (
        select(GaugePhoto.id, GaugePhoto.entry_id, GaugePhoto.kind)
        .join(ShiftEntry, ShiftEntry.id == GaugePhoto.entry_id)
        .where(ShiftEntry.train_id == train_id)
    )
    for number, entry, kind in session.execute(of_gauges.order_by(GaugePhoto.id)).all():
        query = select(GaugePhoto.content).where(GaugePhoto.id == number)
        yield f"photos/shift entry {entry} photo {number}.{ENDINGS[kind]}", [session.scalars(query).one()]
