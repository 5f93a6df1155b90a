"""What water costs, by component, at today's prices."""

from dataclasses import dataclass

from analytics.decisions.annualised import annualised_cost
from analytics.decisions.cost_per_m3 import WaterCost, cost_per_m3, yearly_volume_m3
from analytics.units import display_unit, from_canonical
from server.budget.bars import shares
from server.budget.cleaning_cost import cleaning_note
from server.budget.life_document import KeptLife
from server.budget.plan import change_costs, running_costs
from server.budget.units import per_volume, volume_symbol
from server.budget.view import Seen
from server.display import THIN, number

WEEKS = 52.0


@dataclass(frozen=True)
class CostLine:
    """One component: per unit of volume, its share, and the width of its bar. [%]"""

    name: str
    per_volume: str
    share: str
    width: float


@dataclass(frozen=True)
class WaterCostTable:
    """What water costs at today's prices; `volume` is the unit that it is bought by."""

    currency: str
    volume: str
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


@dataclass(frozen=True)
class CostOfWater:
    """What the water of a train costs, and how much a year it is. [money/m3, m3/a]"""

    cost: WaterCost
    volume_m3: float
    counts_energy: bool


def cost_of_water(seen: Seen) -> CostOfWater | None:
    """What the water of a train costs; None where its flow is not known."""
    life = seen.train.facts.life
    if life is None or not life.permeate_flow_m3h:
        return None
    volume = float(yearly_volume_m3(life.permeate_flow_m3h, seen.site.choices.sure("availability")))
    yearly = _yearly(seen, life, volume)
    return CostOfWater(cost_per_m3(yearly, volume), volume, counts_energy=bool(yearly["energy"]))


def water_cost(seen: Seen, units: str) -> WaterCostTable | None:
    """The same in the reader's units."""
    found = cost_of_water(seen)
    if found is None:
        return None
    cost = found.cost
    widths = shares({one.name: one.per_m3 for one in cost.components})
    return WaterCostTable(
        currency=seen.site.currency,
        volume=volume_symbol(units),
        lines=tuple(
            CostLine(
                NAMES[one.name],
                number(per_volume(one.per_m3, units), 4),
                f"{round(100 * one.share)}{THIN}%",
                widths[one.name],
            )
            for one in cost.components
        ),
        total=number(per_volume(cost.total, units), 4),
        note=_note(seen, found, units),
    )


def _yearly(seen: Seen, life: KeptLife, volume_m3: float) -> dict[str, float]:
    """Cost of a year by component. [money/a]"""
    train, site = seen.train.facts, seen.site.choices
    running = running_costs(train, site)
    return {
        "elements": sum(
            float(annualised_cost(sum(change_costs(group, train, site).values()), site.sure("discount_rate"), years))
            for group in life.groups
            if (years := max(group.next_life.quantile(0.5), 0.5))
        ),
        "energy": running["energy"],
        "cleaning": running["cleaning"],
        "chemicals": site.sure("chemicals_per_m3") * volume_m3,
        "cartridges": site.sure("cartridges_per_m3") * volume_m3,
        "feed": site.sure("feed_price") * volume_m3 / (life.recovery or 1.0),
        "attendance": site.sure("attendance_hours") * WEEKS * site.sure("labour_rate"),
        "upkeep": site.sure("upkeep_per_year"),
    }


def _note(seen: Seen, found: CostOfWater, units: str) -> str:
    made = float(from_canonical(found.volume_m3, "m3", display_unit("m3", units)))
    note = f"{number(made)}{THIN}{volume_symbol(units)} a year. Elements as the even yearly payment for the likely "
    note += "life of a new set; energy as just cleaned."
    if said := cleaning_note(seen.train.facts, seen.site):
        note += f" {said}"
    return note if found.counts_energy else f"{note} Energy is left out: the feed pressure is not known."
