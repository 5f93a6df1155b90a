"""Invented elements of one train of the demo fleet, and a round of its single vessels: one of them stands out."""

from datetime import UTC, date, datetime

from sqlalchemy.orm import Session

from analytics.decisions.element_map import Change, Place
from server.elements.actions import add_round, change_map
from server.elements.listing import Listed
from server.elements.models import VesselRound
from server.plants.models import Train

SITE, AUTHOR = "Tolmera Glasshouses", "demo"
ROUND = {
    "1": {"1": 44.1, "2": 43.2, "3": 45.0, "4": 61.8, "5": 44.6, "6": 43.5},
    "2": {"1": 124.0, "2": 127.5, "3": 122.3},
}
"""Permeate of each vessel. [uS/cm]"""
LOADED, MADE, MODEL = date(2025, 7, 21), date(2025, 4, 14), "invented 8040, 37 m2"


def add_demo_elements(session: Session, train: Train, site: str) -> None:
    """Give one train its elements by serial number, and a round of its vessels."""
    if site != SITE:
        return
    places = [
        Place(number, vessel, position)
        for number, stage in enumerate(train.stages, start=1)
        for vessel in range(1, stage.vessels + 1)
        for position in range(1, stage.elements_per_vessel + 1)
    ]
    serials = [f"T25-{1000 + 7 * n}" for n in range(len(places))]
    changes = tuple(
        Change(row, LOADED, serial, place, MADE)
        for row, (serial, place) in enumerate(zip(serials, places, strict=True), start=1)
    )
    change_map(session, train, Listed(changes, dict.fromkeys(serials, MODEL)), author=AUTHOR)
    add_round(
        session,
        VesselRound(
            train_id=train.id, measured_at=datetime(2026, 10, 6, 10, tzinfo=UTC), conductivities=ROUND,
            remark="Vessel 4 again higher than its neighbours; to be probed at the next stop", author=AUTHOR,
        ),
    )  # fmt: skip
