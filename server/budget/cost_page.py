"""What a cubic metre costs, by component, today and in the years of the log."""

from dataclasses import dataclass

from analytics.decisions.annualised import annualised_cost
from analytics.decisions.cost_per_m3 import cost_per_m3, yearly_volume_m3
from server.budget.bars import shares
from server.budget.cleaning_cost import cleaning_note
from server.budget.plan import change_costs, running_costs
from server.budget.view import Seen
from server.display import THIN, number

WEEKS = 52.0


@dataclass(frozen=True)
class CostLine:
    """One component: per m³, its share, and the width of its bar. [%]"""

    name: str
    per_m3: str
    share: str
    width: float


@dataclass(frozen=True)
class WaterCostTable:
    """Cost of a cubic metre at today's prices."""

    currency: str
    lines: tuple[CostLine, ...]
    total: str
    note: str


NAMES = {
    "elements": "Elements with all that goes with them",
    "energy": "Energy of the feed pump",
    "cleaning": "Cleaning",
    "chemicals": "Chemicals",
    "cartridges": "Cartridges",
    "feed": "Feed water and concentrate",
    "attendance": "Attendance",
    "upkeep": "Other upkeep",
}


def water_cost(seen: Seen) -> WaterCostTable | None:
    """Cost per m³ of a train; None where its flow is not known."""
    train, site = seen.train.facts, seen.site.choices
    life = train.life
    if life is None or not life.permeate_flow_m3h:
        return None
    volume = float(yearly_volume_m3(life.permeate_flow_m3h, site.sure("availability")))
    running = running_costs(train, site)
    yearly = {
        "elements": sum(
            float(annualised_cost(sum(change_costs(group, train, site).values()), site.sure("discount_rate"), years))
            for group in life.groups
            if (years := max(group.next_life.quantile(0.5), 0.5))
        ),
        "energy": running["energy"],
        "cleaning": running["cleaning"],
        "chemicals": site.sure("chemicals_per_m3") * volume,
        "cartridges": site.sure("cartridges_per_m3") * volume,
        "feed": site.sure("feed_price") * volume / (life.recovery or 1.0),
        "attendance": site.sure("attendance_hours") * WEEKS * site.sure("labour_rate"),
        "upkeep": site.sure("upkeep_per_year"),
    }
    cost = cost_per_m3(yearly, volume)
    widths = shares({one.name: one.per_m3 for one in cost.components})
    note = f"{number(volume)}{THIN}m³ a year. Elements as the even yearly payment for the likely life of a new set; "
    note += "energy as just cleaned."
    if said := cleaning_note(train, seen.site):
        note += f" {said}"
    if not running["energy"]:
        note += " Energy is left out: the feed pressure is not known."
    return WaterCostTable(
        currency=seen.site.currency,
        lines=tuple(
            CostLine(NAMES[one.name], number(one.per_m3, 4), f"{round(100 * one.share)}{THIN}%", widths[one.name])
            for one in cost.components
        ),
        total=number(cost.total, 4),
        note=note,
    )
