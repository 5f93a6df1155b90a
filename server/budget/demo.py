"""Prices and contracts of the demo fleet, all invented: one train due next year, one healthy, one damaged by
chlorine."""

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from server.budget.actions import choose, note_spending
from server.plants.models import Site, Train

AUTHOR = "demo"
LOGBOOK = {"reporting_currency": "EUR", "horizon_years": "5"}
PRICES = {
    "EUR": {"element_price": "560", "labour_rate": "48", "energy_price": "0.16", "water_value": "0.9", "rate": "1"},
    "USD": {"element_price": "640", "labour_rate": "62", "energy_price": "0.13", "water_value": "1.4", "rate": "0.9"},
    "ZAR": {
        "element_price": "10800", "labour_rate": "240", "seals_per_element": "360", "freight_per_element": "900",
        "disposal_per_element": "120", "water_value": "22", "cleaning_per_element": "420", "energy_price": "2.1",
        "chemicals_per_m3": "0.4", "cartridges_per_m3": "0.2", "upkeep_per_year": "42000", "rate": "0.05",
    },
}  # fmt: skip
"""By currency of the site. Rates of exchange are invented round numbers."""
CONTRACTS = {
    "Drumvarna Dairy": {"product_conductivity": "42", "most_feed_pressure": "18", "water_source": "surface"},
    "Obermarn Brewery": {"product_conductivity": "50", "most_feed_pressure": "20", "water_source": "well"},
    "Pell Harrow Hospital": {"product_conductivity": "24", "most_feed_pressure": "14"},
    "Sandrisa Waterworks": {"product_conductivity": "150", "most_feed_pressure": "20", "water_source": "well"},
    "Tolmera Glasshouses": {"product_conductivity": "90", "most_feed_pressure": "14.9", "water_source": "surface"},
    "Umvolani Glassworks": {"product_conductivity": "110", "most_feed_pressure": "20"},
}


def add_demo_budget(session: Session) -> None:
    """Give the sites of the demo their prices, and its trains their contracts."""
    choose(session, LOGBOOK, author=AUTHOR)
    for site in session.scalars(select(Site)).all():
        choose(session, PRICES.get(site.currency, PRICES["EUR"]), site_id=site.id, author=AUTHOR)


def add_demo_contract(session: Session, train: Train, site: str) -> None:
    """Give one train its contract, and what was bought for it so far; before its readings come in."""
    choose(session, CONTRACTS.get(site, {}), train_id=train.id, author=AUTHOR)
    if site == "Umvolani Glassworks":
        for kind, day in (("order", date(2025, 11, 24)), ("replacement", date(2026, 2, 17))):
            note_spending(
                session, train.id, kind=kind, day=day, elements=12, amount_cents=14_208_000,
                note="Stage 3, after scale", author=AUTHOR,
            )  # fmt: skip
