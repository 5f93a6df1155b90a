"""The bytes of the files that came in: kept in parts, so that a long file never needs its room twice."""

from collections.abc import Iterator

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from server.errors import NotFound
from server.intake.models import ImportPart

PART_BYTES = 1_000_000
"""How much of a file one row holds: a database copies a row several times on its way to the disk."""


def keep_content(session: Session, import_id: int, content: bytes) -> None:
    """Keep the bytes of the file of an import; an empty file is one empty part."""
    view = memoryview(content)
    for number, start in enumerate(range(0, max(len(content), 1), PART_BYTES)):
        part = bytes(view[start : start + PART_BYTES])
        session.execute(insert(ImportPart).values(import_id=import_id, number=number, content=part))


def import_content(session: Session, import_id: int) -> bytes:
    """The file of an import, as it came."""
    content = b"".join(content_parts(session, import_id))
    if not content and not _is_kept(session, import_id):
        raise NotFound(f"There is no import with the number {import_id}.")
    return content


def content_parts(session: Session, import_id: int) -> Iterator[bytes]:
    """The file of an import, piece by piece."""
    query = select(ImportPart.content).where(ImportPart.import_id == import_id).order_by(ImportPart.number)
    yield from session.scalars(query.execution_options(yield_per=1))


def content_size(session: Session, import_id: int) -> int:
    """Size of the file of an import. [bytes]"""
    query = select(func.sum(func.length(ImportPart.content))).where(ImportPart.import_id == import_id)
    return int(session.scalar(query) or 0)


def _is_kept(session: Session, import_id: int) -> bool:
    return session.scalar(select(func.count()).where(ImportPart.import_id == import_id)) != 0
