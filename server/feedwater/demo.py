"""An invented analysis of the canal water of one train of the demo fleet."""

from datetime import UTC, datetime

from sqlalchemy.orm import Session

from server.feedwater.actions import add_analysis
from server.feedwater.models import FeedAnalysis
from server.plants.models import Train

SITE, AUTHOR = "Tolmera Glasshouses", "demo"
IONS = {
    "calcium": 150.0, "magnesium": 55.0, "sodium": 270.0, "potassium": 8.0, "barium": 0.06, "strontium": 1.8,
    "chloride": 420.0, "sulfate": 330.0, "bicarbonate": 290.0, "nitrate": 18.0, "fluoride": 0.4, "silica": 14.0,
}  # fmt: skip
"""[mg/L]"""


def add_demo_analysis(session: Session, train: Train, site: str) -> None:
    """Give one train an analysis of its feed."""
    if site != SITE:
        return
    entered = {name: {"value": value, "given_as": "mg/L"} for name, value in IONS.items()}
    add_analysis(
        session,
        FeedAnalysis(
            train_id=train.id, sampled_at=datetime(2026, 10, 6, 9, tzinfo=UTC), entered=entered, ph=7.9,
            temperature_c=19.5, conductivity_us_cm=2250.0, remark="Canal after the filters, a quiet week",
            author=AUTHOR,
        ),
    )  # fmt: skip
