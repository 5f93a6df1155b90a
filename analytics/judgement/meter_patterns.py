"""What a flow meter or a conductivity cell that has drifted makes of the indicators and of the balances.

The sizes follow from what each is computed from: salt passage is permeate over feed, permeability is flow over
pressure, friction is pressure drop over a power of the flow in the channel. They are for small errors and typical
trains.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from analytics.judgement.meters import Equation, Meter
from analytics.judgement.observed import BALANCE, SEASON, Layout, Seen
from analytics.units import kelvin

Array = npt.NDArray[np.float64]

BIASES = np.geomspace(0.03, 0.4, 25)
"""Errors of meters that are thought of: smaller ones are calibration, larger ones break balances. Judgement. [-]"""
PRIOR = 0.012
"""That one meter has drifted one way; common practice, no source. [-]"""
SPREAD, NEARLY_NOTHING, BALANCE_SPREAD = 0.3, 0.15, 0.1
"""How far the sizes below may be wrong, as shares of the error of the meter. [-]"""
MOST_OSMOTIC = 4.0
QUANTITIES = (
    "feed_conductivity", "permeate_conductivity", "concentrate_conductivity", "permeate_flow", "feed_flow",
    "concentrate_flow", "stage1_permeate_flow", "feed_temperature",
)  # fmt: skip

PERMEABILITY_SLOPE_K = 3020.0
"""Of water and salt permeability with 1/T, as data sheets have it below 25 degC: what a thermometer that reads too warm
takes off both, in all stages alike. [K]"""
FRICTION_PER_DEGREE = 0.008
"""What viscosity does to the friction of a channel: 2.2 % a degree to the power 0.35. [1/degC]"""

Pattern = Mapping[tuple[str, str], float]


@dataclass(frozen=True)
class Drifted:
    """One meter that may read high or low: by how much it would be off, and how well it goes with what was seen."""

    meter: Meter
    log_likelihood: float


def drifted_meters(seen: Seen, layout: Layout, balances: Sequence[Equation]) -> tuple[Drifted, ...]:
    """Weigh every meter of flow and conductivity, once as reading high and once as reading low.

    Parameters
    ----------
    seen : Seen
        With its balances.
    layout : Layout
    balances : sequence of Equation
        What each meter does to them.
    """
    found = []
    for quantity in QUANTITIES:
        if quantity in layout.metered and (quantity != "feed_temperature" or layout.feed_temperature_c > 0):
            pattern = {**_indicators(quantity, layout), **_balances(quantity, balances)}
            found += [_drifted(quantity, pattern, seen, sign, layout) for sign in (1, -1)]
    return tuple(found)


def _drifted(quantity: str, pattern: Pattern, seen: Seen, sign: int, layout: Layout) -> Drifted:
    size = sign * np.array([pattern.get(name, 0.0) for name in seen.names])
    balance = np.array([place == BALANCE for place, _ in seen.names])
    wide = np.where(balance, BALANCE_SPREAD * np.abs(size), SPREAD * np.abs(size) + NEARLY_NOTHING)
    variance = seen.errors**2 + (BIASES[:, None] * wide) ** 2
    logs = -0.5 * np.sum((seen.changes - BIASES[:, None] * size) ** 2 / variance + np.log(variance), axis=1)
    top = float(logs.max())
    weights = np.exp(logs - top)
    share = weights / weights.sum()
    middle = float(share @ BIASES)
    half = 1.645 * float(np.sqrt(share @ (BIASES - middle) ** 2))
    low, high = sorted((sign * (middle - half), sign * (middle + half)))
    reading = layout.feed_temperature_c if quantity == "feed_temperature" else None
    meter = Meter(quantity, sign * middle, low, high, suspect=True, evidence="", reading_c=reading)
    words = f"a meter of {quantity.replace('_', ' ')} that reads {meter.reads} would look the same"
    if quantity == "feed_temperature" and layout.departure is not None:
        words = f"{words}; {layout.departure.words}"
    meter = replace(meter, evidence=words)
    return Drifted(meter, top + float(np.log(weights.mean())))


def _balances(quantity: str, balances: Sequence[Equation]) -> Pattern:
    season = {(BALANCE, SEASON): float(quantity == "feed_temperature")}
    return season | {(BALANCE, one.name): one.moves.get(quantity, 0.0) for one in balances}


def _indicators(quantity: str, layout: Layout) -> Pattern:
    """Change of the logarithms for a meter that reads high, over its error: (place, what) -> share. [-]"""
    found: dict[tuple[str, str], float] = {}
    for place in ("first", "last", "all"):
        water, salt, friction = _effects(quantity, place, layout)
        found |= {(place, "water"): water, (place, "salt"): salt, (place, "friction"): friction}
    return found


def _effects(quantity: str, place: str, layout: Layout) -> tuple[float, float, float]:
    match quantity:
        case "feed_conductivity":  # more salt in the feed: less of it passes, and more pressure went against it
            osmotic = min(layout.osmotic.get(layout.scope(place), 0.0), MOST_OSMOTIC)
            return 0.5 * osmotic, -1.0, 0.0
        case "permeate_conductivity":
            return 0.0, _salt_of_cell(place, layout), 0.0
        case "permeate_flow" if _has_stage(layout.metered, "permeate_flow"):
            water = {"first": 0.0, "last": 2.5, "all": 1.0}[place]  # the last stage is what is left of the permeate
            return water, 0.5 * water, 0.0
        case "permeate_flow":
            return 1.0, 0.7, 0.0
        case "stage1_permeate_flow":
            water = {"first": 1.0, "last": -2.0, "all": 0.0}[place]
            return water, 0.5 * water, 0.0
        case "concentrate_flow":  # the channel of the last stage holds mostly concentrate
            return 0.0, 0.0, {"first": -0.5, "last": -1.2, "all": -0.8}[place]
        case "feed_flow":
            return 0.0, 0.0, {"first": -0.9, "last": -0.3, "all": -0.6}[place]
        case "feed_temperature":
            warm = layout.feed_temperature_c
            both = float(-PERMEABILITY_SLOPE_K * warm / kelvin(warm) ** 2)
            return both, both, FRICTION_PER_DEGREE * warm
    return 0.0, 0.0, 0.0


def _salt_of_cell(place: str, layout: Layout) -> float:
    """Stages with cells of their own are judged by those; the last without one is judged by what is left."""
    celled = [_has_stage(layout.metered, "permeate_conductivity", n) for n in range(1, layout.stages + 1)]
    if place == "all" or not any(celled):
        return 1.0
    if all(celled) or place == "first":
        return 0.0
    return 2.0


def _has_stage(metered: Collection[str], name: str, number: int | None = None) -> bool:
    if number is not None:
        return f"stage{number}_{name}" in metered
    return any(one.startswith("stage") and one.endswith(name) for one in metered)
