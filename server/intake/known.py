"""What is known of a train before a file is looked at, and what whole columns of a table then look like beside it."""

from datetime import datetime, timedelta

import numpy as np
from sqlalchemy.orm import Session

from analytics.condition.meanings import expected_ranges
from analytics.quantities import COLUMNS
from analytics.units import from_canonical
from server.db import now
from server.intake.queries import recent_frame
from server.intake.table import ReadingsTable
from server.intake.understand.column_doubts import column_doubt
from server.intake.understand.understanding import Known
from server.plants.queries import plant_of, train_or_404

RECENT = timedelta(days=90)
"""The records of so many days before the last reading say what is usual."""
FUTURE = timedelta(days=1)
"""How far ahead of this server's clock a reading may be: a clock may be off, a year is not."""
MOST_LOOKED_AT = 5_000
"""Numbers of a column that say what it is; of more, every so many."""


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


def doubtful_columns(table: ReadingsTable, known: Known) -> tuple[str, ...]:
    """What is to be asked about whole columns of a table that was read, in their units: "did you mean psi?"."""
    said = []
    for name, unit in table.units.items():
        quantity, cells = COLUMNS[name], table.frame[name].to_numpy()
        cells = cells[~np.isnan(cells)]
        numbers = from_canonical(cells[:: max(1, len(cells) // MOST_LOOKED_AT)], quantity.unit, unit).tolist()
        expected = known.expected.get(name, quantity.usual)
        doubt = column_doubt(quantity.label, numbers, unit, quantity, expected, known.usual.get(name))
        said += [doubt.text] if doubt is not None else []
    return tuple(said)
