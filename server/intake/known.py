"""What is known of a train before a file is looked at."""

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from analytics.condition.meanings import expected_ranges
from analytics.quantities import COLUMNS
from server.db import now
from server.intake.queries import recent_frame
from server.intake.understand.understanding import Known
from server.plants.queries import plant_of, train_or_404

RECENT = timedelta(days=90)
"""The records of so many days before the last reading say what is usual."""
FUTURE = timedelta(days=1)
"""How far ahead of this server's clock a reading may be: a clock may be off, a year is not."""


def known_of(session: Session, train_id: int, latest: datetime | None = None) -> Known:
    """What is known of a train before its file is looked at."""
    train, plant = train_or_404(session, train_id), plant_of(session, train_id)
    frame = recent_frame(session, train_id, RECENT)
    usual = {
        name: float(frame[name].median()) for name in frame.columns if name in COLUMNS and frame[name].notna().any()
    }
    return Known(
        timezone=train.site.timezone,
        stages=len(train.stages),
        units=train.site.units,
        train=train.name,
        usual=usual,
        expected=expected_ranges(plant),
        latest=latest or now() + FUTURE,
    )
