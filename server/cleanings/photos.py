"""Photos of a cleaning: added to its record, shown there, taken out of use; their bytes never change afterwards."""

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session, undefer

from server.audit.actions import record
from server.audit.author import writer
from server.cleanings.fields import LONGEST_TEXT
from server.cleanings.models import Cleaning, CleaningPhoto
from server.db import now
from server.errors import Conflict, NotFound
from server.security.photo import Photo

MOST_PHOTOS = 12
"""In use with one record; common practice, no source."""


def photos_of_cleaning(session: Session, cleaning_id: int) -> list[CleaningPhoto]:
    """Photos in use, oldest first, without their bytes."""
    query = select(CleaningPhoto).where(CleaningPhoto.cleaning_id == cleaning_id, CleaningPhoto.voided_at.is_(None))
    return list(session.scalars(query.order_by(CleaningPhoto.id)))


def picture_or_404(session: Session, cleaning_id: int, picture_id: int) -> CleaningPhoto:
    """One photo of a cleaning with its bytes, also one out of use."""
    query = select(CleaningPhoto).where(CleaningPhoto.id == picture_id, CleaningPhoto.cleaning_id == cleaning_id)
    found = session.scalar(query.options(undefer(CleaningPhoto.content)))
    if found is None:
        raise NotFound(f"There is no photo with the number {picture_id}.")
    return found


def add_photos(
    session: Session, cleaning_id: int, photos: Sequence[Photo], *, caption: str = "", author: str = ""
) -> None:
    """Put photos to a record.

    Raises
    ------
    Conflict
        For a record out of use, without a photo, or with more than a record takes.
    """
    cleaning = session.get(Cleaning, cleaning_id, with_for_update=True)
    if cleaning is None:
        raise NotFound(f"There is no cleaning with the number {cleaning_id}.")
    if cleaning.voided_at is not None:
        raise Conflict("This record was taken out of use already.")
    if not photos:
        raise Conflict("Choose a photo first.")
    if len(photos_of_cleaning(session, cleaning_id)) + len(photos) > MOST_PHOTOS:
        raise Conflict(f"A record takes {MOST_PHOTOS} photos; nothing was kept of these.")
    author = writer(session, author)
    for photo in photos:
        session.add(
            CleaningPhoto(
                cleaning_id=cleaning_id, kind=photo.kind, content=photo.content, caption=caption.strip()[:LONGEST_TEXT],
                author=author,
            )
        )  # fmt: skip
    after = {"photos": len(photos), "caption": caption.strip()}
    record(
        session, "cleaning-photo-added", train_id=cleaning.train_id, object_id=cleaning_id, after=after, author=author
    )
    session.flush()


def void_photo(session: Session, cleaning_id: int, picture_id: int, *, author: str = "") -> None:
    """Take a photo out of use; its bytes stay."""
    photo, cleaning = picture_or_404(session, cleaning_id, picture_id), session.get_one(Cleaning, cleaning_id)
    if photo.voided_at is not None:
        raise Conflict("This photo was taken out of use already.")
    author = writer(session, author)
    photo.voided_at, photo.voided_by = now(), author
    record(
        session, "cleaning-photo-voided", train_id=cleaning.train_id, object_id=cleaning_id,
        before={"photo": picture_id, "caption": photo.caption}, author=author,
    )  # fmt: skip
    session.flush()
