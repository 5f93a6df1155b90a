"""The economic interval of a train: its prices and its fouling put together, or what is missing for it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from analytics.decisions.cleaning_interval import (
    CleaningInterval,
    CleaningPrice,
    FoulingCost,
    best_interval,
    energy_growth,
    pressure_growth,
)
from analytics.decisions.cleaning_volume import heating_kwh, solution_volumes
from analytics.plant import Plant

NEEDED = ("energy_price", "pump_efficiency")
FROM_RECORDS = ("chemicals_cost", "labour_hours", "downtime_hours")
"""Prices for which the mean of the records stands while none is entered."""
HOURS_PER_DAY = 24.0
MAKE_UP_C, WARM_C = 20.0, 30.0
BATHS, RINSES = 2, 2
"""Of a usual cleaning, for its water, waste and heat: an alkaline and an acid bath, each rinsed with two volumes."""


@dataclass(frozen=True)
class Economics:
    """The answer with what it rests on, or in `missing` why there is none."""

    interval: CleaningInterval | None
    price: CleaningPrice
    pressure_growth_bar: float
    limit_days: float | None
    pump_limit_days: float | None
    missing: str


def economics_of(
    plant: Plant, document: Mapping[str, Any] | None, prices: Mapping[str, float], stage: int | None
) -> Economics:
    """Weigh cleanings of a stage (or of the whole train) against what its fouling costs.

    Parameters
    ----------
    document : mapping, optional
        Of the latest assessment.
    prices : mapping
        By the names of `server.cleanings.fields.PRICES`.
    """
    price = cleaning_price(plant, document, prices, stage)
    growth = _pressure_growth(document)
    missing = _missing(prices, price, document, growth)
    if missing or growth is None or document is None:
        return Economics(None, price, growth or 0.0, None, None, missing)
    conditions = document["reference"]["conditions"]
    limit = _limit_days(document)
    spare = prices.get("spare_pressure_bar")
    pump = spare / growth if spare is not None else None
    lost = conditions["permeate_flow_m3h"] * HOURS_PER_DAY * growth / conditions["net_driving_pressure_bar"]
    fouling = FoulingCost(
        energy=energy_growth(
            growth, feed_flow_m3h=conditions["feed_flow_m3h"], efficiency=prices["pump_efficiency"],
            price_per_kwh=prices["energy_price"],
        ),
        production=lost * prices.get("water_value", 0.0) if pump is not None else 0.0,
        pump_limit_days=pump if pump is not None else float("inf"),
        late=prices.get("late_cost", 0.0) if limit is not None else 0.0,
        limit_days=limit if limit is not None else float("inf"),
    )  # fmt: skip
    return Economics(best_interval(price, fouling), price, growth, limit, pump, "")


def cleaning_price(
    plant: Plant, document: Mapping[str, Any] | None, prices: Mapping[str, float], stage: int | None
) -> CleaningPrice:
    """What one cleaning costs, from the prices given; a price that is not given counts nothing."""
    stages = [plant.train.stages[stage - 1]] if stage else plant.train.stages
    volume = sum(solution_volumes(one, plant.train.cleaning, one.vessels).make for one in stages)
    water = volume * BATHS * (1 + RINSES)
    conditions = ((document or {}).get("reference") or {}).get("conditions") or {}
    elements = sum(one.elements for one in stages)
    life = prices.get("cleanings_in_life")
    return CleaningPrice(
        chemicals=prices.get("chemicals_cost", 0.0),
        labour=prices.get("labour_hours", 0.0) * prices.get("labour_rate", 0.0),
        lost_production=prices.get("downtime_hours", 0.0)
        * conditions.get("permeate_flow_m3h", 0.0)
        * prices.get("water_value", 0.0),
        water_and_waste=water * (prices.get("waste_price", 0.0) + prices.get("water_value", 0.0)),
        energy=BATHS * heating_kwh(volume, MAKE_UP_C, WARM_C) * prices.get("energy_price", 0.0),
        exposure=elements * prices.get("element_price", 0.0) / life if life else 0.0,
    )


def recorded_means(contents: Sequence[Mapping[str, Any]]) -> dict[str, float]:
    """Mean of what the records say a cleaning took, by the names of the prices; left out where no record says it."""
    given = {name: [float(one[name]) for one in contents if one.get(name) is not None] for name in FROM_RECORDS}
    return {name: sum(values) / len(values) for name, values in given.items() if values}


def recorded_cost(
    content: Mapping[str, Any], document: Mapping[str, Any] | None, prices: Mapping[str, float]
) -> float | None:
    """What a recorded cleaning has cost, from what was written down and the prices given; None where nothing was."""
    conditions = ((document or {}).get("reference") or {}).get("conditions") or {}
    lost = conditions.get("permeate_flow_m3h", 0.0) * prices.get("water_value", 0.0)
    parts = (
        content.get("chemicals_cost", 0.0),
        content.get("waste_cost", 0.0),
        content.get("labour_hours", 0.0) * prices.get("labour_rate", 0.0),
        content.get("downtime_hours", 0.0) * lost,
        content.get("energy_kwh", 0.0) * prices.get("energy_price", 0.0),
    )
    return sum(parts) or None


def _missing(
    prices: Mapping[str, float], price: CleaningPrice, document: Mapping[str, Any] | None, growth: float | None
) -> str:
    if not all(prices.get(name) for name in NEEDED):
        return "The budget of the site does not say yet what electricity costs and how efficient the pump is."
    if price.chemicals + price.labour + price.lost_production + price.exposure <= 0:
        return "Enter what a cleaning costs: chemicals, labour, time without permeate."
    if document is None or not (document.get("reference") or {}).get("conditions"):
        return "There is no assessment yet from which the cost of fouling could follow."
    needed = ("feed_flow_m3h", "permeate_flow_m3h", "net_driving_pressure_bar")
    if any(name not in document["reference"]["conditions"] for name in needed):
        return "Feed flow, permeate flow or pressures of the reference are not known, so fouling has no price."
    if growth is None:
        return "How fast the train fouls cannot be told yet."
    return "" if growth > 0 else "Nothing gets worse at present, so no interval follows from cost."


def _pressure_growth(document: Mapping[str, Any] | None) -> float | None:
    """Rise of the feed pressure a day that the present fouling asks for. [bar/d]"""
    reference = (document or {}).get("reference") or {}
    conditions, stages = reference.get("conditions") or {}, reference.get("stages") or {}
    if document is None or "net_driving_pressure_bar" not in conditions:
        return None
    flow = _change(document, "train", "permeate_flow")
    drops = [
        (values.get("pressure_drop_bar"), _change(document, scope, "pressure_drop")) for scope, values in stages.items()
    ]
    if flow is None:
        return None
    growth = pressure_growth(
        net_driving_pressure_bar=conditions["net_driving_pressure_bar"], flow_loss_per_day=-flow,
        pressure_drop_bar=0.0, drop_gain_per_day=0.0,
    )  # fmt: skip
    for drop, gain in drops:
        if drop is not None and gain is not None:
            growth += pressure_growth(
                net_driving_pressure_bar=0.0, flow_loss_per_day=0.0, pressure_drop_bar=drop, drop_gain_per_day=gain
            )
    return growth


def _change(document: Mapping[str, Any], scope: str, name: str) -> float | None:
    """Change of an indicator a day, as a ratio to the reference. [1/d]"""
    for entry in document["indicators"]:
        if (entry["scope"], entry["name"]) == (scope, name) and entry["change_per_30_days"] is not None:
            return float(entry["change_per_30_days"]) / 30
    return None


def _limit_days(document: Mapping[str, Any]) -> float | None:
    """Days from the last cleaning (or the start of the log) to the limit, by the present run."""
    aim, runs = (document.get("cleaning") or {}).get("aim"), document["runs"]
    if not aim or not runs:
        return None
    return float(max((date.fromisoformat(aim) - date.fromisoformat(runs[-1]["start"])).days, 1))
