"""Two invented cleanings of the demo fleet, one that worked and one that did not, and invented prices of cleanings."""

from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from server.cleanings.actions import Recorded, record_cleaning, set_prices
from server.plants.models import Train

AUTHOR = "demo"
SITE, ZONE = "Tolmera Glasshouses", ZoneInfo("Europe/Madrid")
PRICES = {
    "chemicals_cost": 380.0, "labour_hours": 14.0, "downtime_hours": 26.0, "waste_price": 1.2,
    "cleanings_in_life": 40.0, "spare_pressure_bar": 3.0,
}  # fmt: skip
GOOD: dict[str, Any] = {
    "reason": "Normalized pressure drop of stage 1 past its limit of 1.15",
    "foulant": "biofouling",
    "vessels": "all 6 of stage 1",
    "people": "Two operators and the service engineer",
    "make_up": "permeate",
    "make_up_chlorine_mg_l": 0.0,
    "steps": [
        {
            "chemical": "Sodium hydroxide with anionic surfactant", "lot": "T-2611", "mass_kg": 1.9, "volume_l": 1500.0,
            "ph_start": 11.3, "ph_end": 10.6, "temperature_start_c": 33.0, "temperature_end_c": 29.0,
            "flow_per_vessel_m3h": 8.1, "pressure_in_bar": 3.4, "pressure_out_bar": 2.1, "minutes": 90.0,
            "soak_minutes": 780.0, "observations": "brown, slimy, foam; made up anew once", "renewed": True,
        },
        {
            "chemical": "Citric acid", "lot": "C-0417", "mass_kg": 29.0, "volume_l": 1500.0, "ph_start": 2.6,
            "ph_end": 2.9, "temperature_start_c": 28.0, "temperature_end_c": 26.0, "flow_per_vessel_m3h": 8.0,
            "pressure_in_bar": 3.2, "pressure_out_bar": 2.1, "minutes": 60.0, "soak_minutes": 60.0,
            "observations": "faintly yellow",
        },
    ],
    "rinse_ph": 7.4, "rinse_conductivity_us_cm": 60.0, "rinse_foam": "no", "waste_volume_l": 9000.0, "waste_ph": 7.1,
    "waste_route": "neutralised, to the sewer with permit", "chemicals_cost": 365.0, "labour_hours": 15.0,
    "downtime_hours": 27.0, "next_action": "Look for what feeds the growth between canal and filters",
}  # fmt: skip
POOR: dict[str, Any] = {
    "reason": "Pressure drop of stage 1 near its limit before the last weeks of the season",
    "foulant": "biofouling",
    "vessels": "all 6 of stage 1",
    "people": "One operator",
    "make_up": "permeate",
    "steps": [
        {
            "chemical": "Sodium hydroxide", "mass_kg": 1.5, "volume_l": 1500.0, "ph_start": 11.2, "ph_end": 10.3,
            "temperature_start_c": 19.0, "temperature_end_c": 18.0, "flow_per_vessel_m3h": 6.9, "pressure_in_bar": 3.0,
            "pressure_out_bar": 2.0, "minutes": 120.0, "observations": "little colour",
        },
    ],
    "rinse_ph": 8.2, "waste_volume_l": 4500.0, "waste_ph": 7.8, "chemicals_cost": 90.0, "labour_hours": 6.0,
    "downtime_hours": 22.0, "remarks": "Heater out of order; no detergent in store, no soak, no acid afterwards.",
    "next_action": "Repair the heater, order detergent",
}  # fmt: skip
CLEANINGS = (
    (datetime(2026, 3, 25, 7, tzinfo=ZONE), timedelta(hours=29.5), GOOD),
    (datetime(2026, 9, 9, 7, tzinfo=ZONE), timedelta(hours=22.5), POOR),
)
"""When by the clock of the site, until the restart, and what was written down; the events file tells of the same."""


def add_demo_cleanings(session: Session, train: Train, site: str) -> None:
    """Give one train its records, and its site prices; after its events came in."""
    if site != SITE:
        return
    set_prices(session, train.site_id, PRICES, author=AUTHOR)
    for started, until_restart, content in CLEANINGS:
        record_cleaning(session, train.id, Recorded(1, started, started + until_restart, content), author=AUTHOR)
