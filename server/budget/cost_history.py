"""What water took in each year of the log, at today's prices: so that years are compared, and not money."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo

import pandas as pd
from sqlalchemy.orm import Session

from analytics.decisions.water_years import WaterYear, per_m3, water_years
from analytics.quantities import QUANTITIES
from server.assessments.queries import daily_frame
from server.budget.cleaning_cost import cleaning_cost
from server.budget.units import per_volume, volume_symbol
from server.budget.view import Seen
from server.display import counted, in_reader_units, number, reader_unit
from server.events.queries import events_of

RAW = "raw_"
NOT_KNOWN = "not read"


@dataclass(frozen=True)
class CostYear:
    """One year: what was taken and what that costs today, per unit of volume."""

    year: str
    made: str
    kwh: str
    energy: str
    feed: str
    cleaning: str
    paid: str


@dataclass(frozen=True)
class CostHistory:
    """Years of the log, oldest first; `flow` and `volume` are the units of the water made."""

    currency: str
    flow: str
    volume: str
    years: tuple[CostYear, ...]


def cost_history(session: Session, seen: Seen, units: str) -> CostHistory | None:
    """Years of the log of a train; None while there is none with four weeks of readings."""
    train, site = seen.train.facts, seen.site.choices
    days = daily_frame(session, train.train.id)
    measured = days[[c for c in days.columns if c.startswith(RAW)]].rename(columns=lambda c: c.removeprefix(RAW))
    zone = ZoneInfo(train.train.site.timezone)
    built = {stage.number: stage.vessels * stage.elements_per_vessel for stage in train.train.stages}
    cleaned = [
        (event.time.astimezone(zone).date(), built.get(event.stage or 0, sum(built.values())))
        for event in events_of(session, train.train.id)
        if event.kind == "cleaning"
    ]
    years = water_years(measured, efficiency=site.sure("efficiency"))
    if not years:
        return None
    begins = pd.DatetimeIndex(measured["permeate_flow_m3h"].dropna().index)[0].date()
    return CostHistory(
        currency=seen.site.currency,
        flow=reader_unit(QUANTITIES["permeate_flow"], units),
        volume=volume_symbol(units),
        years=tuple(_year(one, seen, cleaned, begins, units) for one in years),
    )


def _year(one: WaterYear, seen: Seen, cleaned: Sequence[tuple[date, int]], begins: date, units: str) -> CostYear:
    """One year with the days of cleanings and how many elements each was of; the log knows no water from before it."""
    train, site = seen.train.facts, seen.site.choices

    def within(day: date) -> bool:
        return day >= begins and day.year == one.year

    paid = [row.amount_cents for row in train.spendings if row.kind == "replacement" and within(row.day)]
    elements = sum(count for day, count in cleaned if within(day))
    spent = {
        "cleaning": elements * cleaning_cost(train, site).per_element,
        "paid": float(Decimal(sum(paid)) / 100),
    }
    each = per_m3(one, spent, availability=site.sure("availability"))
    months = round(12 * one.share)
    return CostYear(
        year=str(one.year) if one.share > 0.95 else f"{one.year}, {counted(months, 'month')}",
        made=in_reader_units(one.permeate_flow_m3h, QUANTITIES["permeate_flow"], units),
        kwh=_each(one.energy_kwh_m3, 1.0, units, 3),
        energy=_each(one.energy_kwh_m3, site.sure("energy_price"), units),
        feed=_each(one.feed_m3_m3, site.sure("feed_price"), units),
        cleaning=_each(each["cleaning"], 1.0, units),
        paid=_each(each["paid"], 1.0, units) if paid else "none noted",
    )


def _each(per_m3: float | None, price: float, units: str, decimals: int = 4) -> str:
    """So much of something for each unit of volume, times its price."""
    return NOT_KNOWN if per_m3 is None else number(per_volume(per_m3 * price, units), decimals)
