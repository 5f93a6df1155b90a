"""Find cleanings, their older versions, the prices of a site, and the readings around a cleaning."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import pandas as pd
from sqlalchemy import select
from sqlalchemy.orm import Session

from server.budget.queries import chosen
from server.cleanings.fields import FROM_BUDGET
from server.cleanings.models import Cleaning, CleaningPrices, CleaningRevision
from server.errors import NotFound
from server.readings.queries import readings_frame

HOUR = timedelta(hours=1)
BEFORE = 72 * HOUR
"""A reading before a cleaning is looked for no further back; common practice, no source."""
AFTERWARDS = (
    ("1 h", HOUR, 0.25 * HOUR, 6 * HOUR),
    ("24 h", 24 * HOUR, 18 * HOUR, 33 * HOUR),
    ("48 to 72 h", 60 * HOUR, 44 * HOUR, 80 * HOUR),
)
"""Name, time after the restart, and between which times a reading counts as taken then; common practice, no source."""


@dataclass(frozen=True)
class PickedReading:
    """One reading beside a cleaning; `values` in canonical units, None while there is none."""

    name: str
    taken_at: datetime | None
    values: dict[str, float]


def list_cleanings(session: Session, train_id: int, *, with_voided: bool = False) -> list[Cleaning]:
    """Cleanings of a train that were recorded, oldest first."""
    query = select(Cleaning).where(Cleaning.train_id == train_id).order_by(Cleaning.started_at, Cleaning.id)
    return list(session.scalars(query if with_voided else query.where(Cleaning.voided_at.is_(None))))


def cleaning_or_404(session: Session, cleaning_id: int) -> Cleaning:
    """One cleaning."""
    cleaning = session.get(Cleaning, cleaning_id)
    if cleaning is None:
        raise NotFound(f"There is no cleaning with the number {cleaning_id}.")
    return cleaning


def revisions(session: Session, cleaning_id: int) -> list[CleaningRevision]:
    """Older versions of a cleaning, newest first."""
    query = select(CleaningRevision).where(CleaningRevision.cleaning_id == cleaning_id)
    return list(session.scalars(query.order_by(CleaningRevision.revision.desc())))


def latest_prices(session: Session, site_id: int) -> CleaningPrices | None:
    """The prices of a site as they stand."""
    query = select(CleaningPrices).where(CleaningPrices.site_id == site_id)
    return session.scalars(query.order_by(CleaningPrices.id.desc()).limit(1)).first()


def site_prices(session: Session, site_id: int) -> dict[str, float]:
    """Everything that has a price at a site: what was given for cleanings, and what its budget holds."""
    budget, own = chosen(session, site_id=site_id), latest_prices(session, site_id)
    found = dict(own.content) if own else {}
    for there, here, _, _ in FROM_BUDGET:
        value = budget.number(there) if budget.given.get(there) or there == "efficiency" else None
        if value is not None:
            found[here] = value
    return found


def readings_around(session: Session, cleaning: Cleaning) -> tuple[PickedReading, ...]:
    """The last reading before a cleaning, and those nearest to 1 h, 24 h and 48 to 72 h after the restart."""
    frame = readings_frame(
        session, cleaning.train_id, cleaning.started_at - BEFORE, cleaning.ended_at + AFTERWARDS[-1][3]
    )
    running = _running(frame)
    before = running[running.index < pd.Timestamp(cleaning.started_at)]
    picked = [_picked("Before", before.iloc[-1:])]
    for name, wanted, earliest, latest in AFTERWARDS:
        from_time, to_time = pd.Timestamp(cleaning.ended_at + earliest), pd.Timestamp(cleaning.ended_at + latest)
        near = running[(running.index >= from_time) & (running.index <= to_time)]
        distance = [abs(time - (cleaning.ended_at + wanted)) for time in near.index]
        picked.append(_picked(name, near.iloc[[distance.index(min(distance))]] if distance else near))
    return tuple(picked)


def _running(frame: pd.DataFrame) -> pd.DataFrame:
    """Readings of a train that makes permeate."""
    found = frame
    if "state" in found.columns:
        found = found[found["state"].isin(["", "running"])]
    if "permeate_flow_m3h" in found.columns:
        found = found[~(found["permeate_flow_m3h"] <= 0)]
    return found


def _picked(name: str, rows: pd.DataFrame) -> PickedReading:
    if not len(rows):
        return PickedReading(name, None, {})
    numbers = rows.select_dtypes("number").iloc[0].dropna()
    return PickedReading(name, rows.index[0].to_pydatetime(), {str(key): float(v) for key, v in numbers.items()})
