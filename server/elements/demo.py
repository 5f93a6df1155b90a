"""An invented round of the single vessels of one train of the demo fleet: one of them stands out."""

from datetime import UTC, datetime

from sqlalchemy.orm import Session

from server.elements.actions import add_round
from server.elements.models import VesselRound
from server.plants.models import Train

SITE, AUTHOR = "Tolmera Glasshouses", "demo"
ROUND = {
    "1": {"1": 44.1, "2": 43.2, "3": 45.0, "4": 61.8, "5": 44.6, "6": 43.5},
    "2": {"1": 124.0, "2": 127.5, "3": 122.3},
}
"""Permeate of each vessel. [uS/cm]"""


def add_demo_round(session: Session, train: Train, site: str) -> None:
    """Give one train a round of its vessels."""
    if site != SITE:
        return
    add_round(
        session,
        VesselRound(
            train_id=train.id, measured_at=datetime(2026, 10, 6, 10, tzinfo=UTC), conductivities=ROUND,
            remark="Vessel 4 again higher than its neighbours; to be probed at the next stop", author=AUTHOR,
        ),
    )  # fmt: skip
