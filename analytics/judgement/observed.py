"""What was observed, as logarithms of the membranes' parameters with honest errors, for the causes to explain.

An indicator is never better known than the pressure that drives it: where the osmotic pressure is large beside the net
driving pressure, as at the tail of a train, a small error of the osmotic law is a large one of permeability.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from analytics.condition.standard import Conditions
from analytics.judgement.balances import SALT_PER_SALINITY
from analytics.judgement.closure import closure_error
from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Equation
from analytics.judgement.signatures import Effect
from analytics.judgement.thermometer import Departure
from analytics.plant import Train

Array = npt.NDArray[np.float64]

BALANCE = "balance"
SEASON = "season"
"""Feed temperature against the course of its first year, weighed as a balance that the thermometer alone is in."""
NAMES = {"permeate_flow": "water", "salt_passage": "salt", "pressure_drop": "friction"}
FLOW_PER_WATER = 0.8
SALT_PER_FLOW = -0.75
"""What the train makes of its membranes at fixed pressure: flow goes with this power of water permeability, and salt
passage with this power of flow at an unchanged salt permeability; from `reference_run` on two-stage trains. [-]"""
LEAST_ERROR = {"water": 0.012, "salt": 0.02, "friction": 0.02}
UNKNOWN = 10.0
"""Ratio where by the law nothing is left to drive the water. [-]"""
LEAST_RATIO = 0.02
"""Whatever a spoilt log makes of an indicator, it counts as no less. [-]"""
LEAST_FRICTION, FRICTION_ERROR = -1.2, 0.3
HALF = -0.7
"""No channel loses half of its friction; then it is a gauge, and the size says little. Judgement, no source. [-]"""
CLOSURE = {
    "flow balance": 0.008,
    "balance of the stages' permeate": 0.008,
    "salt balance": 0.015,
    "balance of salt in the permeate": 0.015,
}
"""How far balances wander with good meters, as standard errors; judgement, no source. Others are not
weighed here. [-]"""


@dataclass(frozen=True)
class Layout:
    """What of the train stands behind the indicators.

    Attributes
    ----------
    stages : int
    first_share : float
        Of what the train as a whole shows; see `first_share_of`. [-]
    modelled : collection of str
        Columns `<scope>_<indicator>` of the membrane model, at fixed pressure; others are at fixed flow.
    osmotic : mapping
        Scope -> osmotic pressure over net driving pressure in the reference. [-]
    metered : collection of str
        Quantities with readings, such as "feed_conductivity".
    feed_temperature_c : float
        In the reference; NaN where it is not known. [degC]
    departure : Departure, optional
        Of feed temperature from its season, where the log is long enough to tell.
    """

    stages: int
    first_share: float
    modelled: Collection[str] = ()
    osmotic: Mapping[str, float] = field(default_factory=dict)
    metered: Collection[str] = ()
    feed_temperature_c: float = float("nan")
    departure: Departure | None = None

    def scope(self, place: str) -> str:
        return {"first": "stage1", "last": f"stage{self.stages}", "all": "train"}[place]


@dataclass(frozen=True)
class Seen:
    """Logarithms of changes with standard errors, by (place, what). Place is "first", "last" or "all" of the train, or
    `BALANCE` with the name of one, whose drift is given as a share. [-]"""

    names: tuple[tuple[str, str], ...]
    changes: Array
    errors: Array

    def expected(self, first: Effect, last: Effect, first_share: float) -> Array:
        """What effects on the first and last stage make of all that was seen; balances they leave alone."""
        both = (first, last)
        share = (first_share, 1 - first_share)
        mixed = Effect(*(sum(w * getattr(e, n) for w, e in zip(share, both, strict=True)) for n in NAMES.values()))
        parts = {"first": first, "last": last, "all": mixed, BALANCE: None}
        return np.array([0.0 if parts[place] is None else getattr(parts[place], what) for place, what in self.names])

    def only(self, *, balances: bool) -> "Seen":
        """Balances alone, or all but them."""
        rows = [n for n, (place, _) in enumerate(self.names) if (place == BALANCE) == balances]
        return Seen(tuple(self.names[n] for n in rows), self.changes[rows], self.errors[rows])


def first_share_of(train: Train) -> float:
    """How much of what the whole train shows is the first stage's; the rest is taken for the last. [-]

    That is its share of the area. Of a train with one stage the leading half of each vessel counts as first and the
    other half as last: scale begins in its tail elements as it does in the last stage of longer trains.
    """
    return train.stages[0].area_m2 / train.area_m2 if len(train.stages) > 1 else 0.5


def osmotic_shares(conditions: Sequence[Conditions]) -> dict[str, float]:
    """Osmotic over net driving pressure in the reference, by scope; a scope without its own takes the train's. [-]"""
    found: dict[str, float] = {}
    for scope in conditions:
        net = scope["net_driving_pressure_bar"]
        share = scope["feed_side_osmotic_bar"] / net if net else float("nan")
        share = share if share >= 0 else UNKNOWN if net < 0 else float("nan")
        found[scope.scope] = found.get("train", 1.0) if np.isnan(share) else float(share)
    return found


def indicator_error(indicator: Indicator, layout: Layout) -> float:
    """Standard error of the logarithm of an indicator. [-]"""
    what = NAMES[indicator.name]
    half = (indicator.high - indicator.low) / 2 / 1.645 / max(indicator.value, LEAST_RATIO)
    closure = closure_error(
        indicator.name,
        layout.osmotic.get(indicator.scope, 0.0),
        modelled=f"{indicator.scope}_{indicator.name}" in layout.modelled,
    )
    return float(np.sqrt(max(half, LEAST_ERROR[what]) ** 2 + (indicator.allowance / 2) ** 2 + closure**2))


def observe(
    indicators: Sequence[Indicator], layout: Layout, balances: Sequence[Equation] = (), salinity_change: float = 0.0
) -> Seen:
    """Parameters of the first and last stage, or of the train where no more is known, and the drift of balances.

    Parameters
    ----------
    indicators : sequence of Indicator
        Those not corrected for temperature are left out.
    layout : Layout
    balances : sequence of Equation
    salinity_change : float
        Of the feed since the reference. [-]
    """
    by = {(i.scope, i.name): i for i in indicators if i.temperature_corrected}
    rows: list[tuple[tuple[str, str], float, float]] = []
    places = ["first", "last"] if layout.stages > 1 else []
    staged = any((layout.scope(place), "permeate_flow") in by for place in places)
    for place in (*places, "all"):
        scope = layout.scope(place)
        flow, salt, drop = (by.get((scope, name)) for name in NAMES)
        if flow is not None and not (place == "all" and staged):
            power = FLOW_PER_WATER if f"{scope}_permeate_flow" in layout.modelled else 1.0
            rows.append(((place, "water"), _log(flow) / power, indicator_error(flow, layout)))
        if salt is not None and not (place == "all" and any(name == ("first", "salt") for name, _, _ in rows)):
            at_pressure = f"{scope}_salt_passage" in layout.modelled and flow is not None
            shift = -SALT_PER_FLOW * _log(flow) if at_pressure and flow is not None else 0.0
            rows.append(((place, "salt"), _log(salt) + shift, indicator_error(salt, layout)))
        if drop is not None:
            rows.append(((place, "friction"), *_friction(drop, layout)))
    for one in balances:
        if one.name in CLOSURE:
            wander = SALT_PER_SALINITY * abs(salinity_change) if one.name == "salt balance" else 0.0
            error = float(np.sqrt((one.drift.error / 1.645) ** 2 + CLOSURE[one.name] ** 2 + wander**2))
            rows.append(((BALANCE, one.name), one.drift.now, error))
    if layout.departure is not None and layout.feed_temperature_c > 0:
        warm = layout.feed_temperature_c
        rows.append(((BALANCE, SEASON), layout.departure.degrees / warm, layout.departure.error / warm))
    return Seen(tuple(name for name, _, _ in rows), np.array([v for _, v, _ in rows]), np.array([e for *_, e in rows]))


def _log(indicator: Indicator) -> float:
    return float(np.log(max(indicator.value, LEAST_RATIO)))


def _friction(drop: Indicator, layout: Layout) -> tuple[float, float]:
    value, error = _log(drop), indicator_error(drop, layout)
    if value >= HALF:
        return value, error
    return max(value, LEAST_FRICTION), float(np.hypot(error, FRICTION_ERROR))
