"""Find imports, and what their files held."""

from datetime import timedelta

import pandas as pd
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from server.errors import NotFound
from server.intake.models import DONE, Import, SavedMapping
from server.readings.models import Reading
from server.readings.queries import readings_frame


def import_or_404(session: Session, import_id: int) -> Import:
    """One import, without the bytes of its file."""
    found = session.get(Import, import_id)
    if found is None:
        raise NotFound(f"There is no import with the number {import_id}.")
    return found


def list_imports(session: Session, train_id: int, *, limit: int = 50) -> list[Import]:
    """Imports of a train, newest first."""
    query = select(Import).where(Import.train_id == train_id).order_by(Import.id.desc()).limit(limit)
    return list(session.scalars(query))


def saved_mappings(session: Session, site_id: int) -> list[SavedMapping]:
    """Mappings kept for a site, newest first."""
    query = select(SavedMapping).where(SavedMapping.site_id == site_id)
    return list(session.scalars(query.order_by(SavedMapping.created_at.desc(), SavedMapping.id.desc())))


def same_file_before(session: Session, train_id: int, sha256: str) -> Import | None:
    """The newest import of this very file that was stored, if any."""
    query = select(Import).where(Import.train_id == train_id, Import.sha256 == sha256, Import.status == DONE)
    return session.scalars(query.order_by(Import.id.desc()).limit(1)).first()


def recent_frame(session: Session, train_id: int, span: timedelta) -> pd.DataFrame:
    """The last readings of a train, over a span before the newest."""
    in_use = (Reading.train_id == train_id, Reading.voided_at.is_(None))
    last = session.scalar(select(func.max(Reading.taken_at)).where(*in_use))
    return readings_frame(session, train_id, since=last - span if last else None)
