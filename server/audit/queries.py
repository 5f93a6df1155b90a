"""Read the record."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from server.audit.models import AuditEntry


@dataclass(frozen=True)
class AuditPage:
    """Some entries, newest first, and how many there are."""

    entries: tuple[AuditEntry, ...]
    total: int


def entries_of_train(session: Session, train_id: int, *, limit: int, offset: int = 0) -> AuditPage:
    """What was changed on a train, newest first."""
    query = select(AuditEntry).where(AuditEntry.train_id == train_id)
    total = session.scalar(select(func.count()).select_from(query.subquery())) or 0
    found = session.scalars(query.order_by(AuditEntry.id.desc()).limit(limit).offset(offset))
    return AuditPage(tuple(found), total)
