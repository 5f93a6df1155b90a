"""From the days of a log to the life of the elements: all that the budget takes from the science, in one result."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pandas as pd

from analytics.decisions.life import EndOfLife, Exposure, GroupLife, StageWear, train_lives
from analytics.decisions.oxidant_record import CHLORINE, exposure_since, oldest_elements
from analytics.decisions.pump_limit import flow_ratio_at_pump_limit
from analytics.decisions.stage_wear import LogForLife, stage_wear
from analytics.decisions.train_model import Duty, TrainModel
from analytics.decisions.wear import DAYS_PER_YEAR, FLOW, REVERSIBLE_LOSS, SALT, Prior
from analytics.events import Event
from analytics.judgement.cause import Cause
from analytics.judgement.explained import local_day
from analytics.judgement.new_elements import new_elements
from analytics.plant import Plant

SOURCES_OF_WATER: Mapping[str, Prior] = {
    "unknown": FLOW,
    "well": Prior(0.05, 0.02, FLOW.roughness),
    "surface": Prior(0.085, 0.03, FLOW.roughness),
    "reuse": Prior(0.12, 0.04, FLOW.roughness),
}
"""Irreversible loss of flow by the source of the water: middle and spread of membrane makers' design allowances, from
memory: 3 to 7 % a year on wells, 7 to 10 % on surface water, up to 15 % on reuse."""
CHLORINE_TOLERANCE = 500.0
"""Free chlorine that polyamide bears: 200 to 1000 mg h/L are published; the middle of that on a logarithmic scale is
450. [mg h/L]"""
PACE_DAYS = 90
"""What a year adds is taken from the chlorine of this many days; common practice, no source. [d]"""
WARRANTY_YEARS = 3.0
"""Usual term of a performance warranty (published warranty texts). [a]"""
LEAST_HISTORY_YEARS = 0.5
"""A shorter log says nothing about how often a train is cleaned; common practice, no source. [a]"""
TAIL_CAUSES = ("scaling",)
LEAD_CAUSES = ("metal-oxide", "colloidal", "biofouling", "organic")
"""Crystals sit in the last elements, particles and slime in the first ones (published signatures)."""
DAMAGE = ("oxidation", "hydrolysis")
SURE = 0.5
MOST_OF_A_STAGE = 0.5
"""From this share of new elements on, the age of a stage is theirs. [-]"""


@dataclass(frozen=True)
class ElementGroup:
    """The elements of one stage, as far as anybody knows: `installed` is None where no record says so."""

    stage: int
    elements: int
    vessels: int
    model: str
    installed: date | None


@dataclass(frozen=True)
class Contract:
    """What the train must deliver, as far as it was said. [m3/h, -, uS/cm, bar, a]"""

    permeate_flow_m3h: float | None = None
    recovery: float | None = None
    product_conductivity_us_cm: float | None = None
    most_feed_pressure_bar: float | None = None
    permeability_left: float = 0.70
    chlorine_tolerance: float = CHLORINE_TOLERANCE
    warranty_years: float = WARRANTY_YEARS
    water_source: str = "unknown"


@dataclass(frozen=True)
class LifeForecast:
    """Life of every stage with what it rests on.

    Attributes
    ----------
    limits : EndOfLife
        What was reckoned from the contract; that of the pump leaves room for what fouls between cleanings.
    permeate_flow_m3h, recovery : float or None
        What is delivered: of the contract, or as in the reference period.
    feed_pressure_bar : float or None
        What that takes today, with the flow that a cleaning would leave, in water of the last year's mean temperature.
    cleanings_per_year : float or None
        As in the log, where it is long enough to say, beside one cleaning in one year as is usual. Of the whole train:
        a cleaning of one stage counts as much as that stage has of the elements.
    profiles : tuple of str
        Where in the vessels of each stage the loss sits: "even", "lead" or "tail".
    """

    groups: tuple[ElementGroup, ...]
    wears: tuple[StageWear, ...]
    lives: tuple[GroupLife, ...]
    limits: EndOfLife
    model: TrainModel | None
    damaged: bool
    history_years: float
    coldest_c: float | None
    warmest_c: float | None
    permeate_flow_m3h: float | None
    recovery: float | None
    feed_pressure_bar: float | None
    cleanings_per_year: float | None
    profiles: tuple[str, ...]
    notes: tuple[str, ...]


def forecast_life(
    plant: Plant,
    log: LogForLife,
    contract: Contract,
    *,
    rng: np.random.Generator,
    installed: Mapping[int, date] | None = None,
) -> LifeForecast:
    """Life of the elements of a train.

    Parameters
    ----------
    plant : Plant
    log : LogForLife
    contract : Contract
    rng : Generator
    installed : mapping, optional
        Stage -> day on which its elements were put in, where somebody says so.

    Returns
    -------
    LifeForecast
    """
    groups = element_groups(plant, log.events, installed or {})
    first = None if log.train is None else TrainModel.of(log.train, plant)
    model = first.renewed(log.references, log.daily.columns) if first is not None and first.known else None
    damaged = any(cause.cause in DAMAGE and cause.probability >= SURE for cause in log.causes)
    flow_shares, salt_shares = _shares(plant, model)
    prior = SOURCES_OF_WATER[contract.water_source]
    wears = tuple(
        StageWear(
            group.stage,
            stage_wear(plant, log, group.stage, "permeate_flow", prior, damaged=False),
            stage_wear(plant, log, group.stage, "salt_passage", SALT, damaged=damaged),
            salt_shares[group.stage - 1],
            flow_shares[group.stage - 1],
        )
        for group in groups
    )
    coldest, warmest = _temperatures(log)
    notes: list[str] = []
    limits = _limits(log, contract, first, model, (coldest, warmest), notes)
    limits = replace(limits, exposure=_exposure(plant, log, contract))
    lives = train_lives(wears, limits, rng=rng, warranty_left_years=_warranty_left(groups, log, contract))
    days = log.daily.index
    history = (days[-1] - days[0]).days / DAYS_PER_YEAR if len(days) else 0.0
    cleanings = sum(
        _share_of_elements(one.stage, plant)
        for one in log.events
        if one.kind == "cleaning" and _within(one, days, plant)
    )
    return LifeForecast(
        groups, wears, lives, limits, model, damaged, history, coldest, warmest,
        permeate_flow_m3h=contract.permeate_flow_m3h or (model.permeate_flow_m3h if model else None),
        recovery=contract.recovery or (model.recovery if model else None),
        feed_pressure_bar=_pressure_today(model, contract, wears, _mean_temperature(log)),
        cleanings_per_year=(cleanings + 1) / (history + 1) if history >= LEAST_HISTORY_YEARS else None,
        profiles=tuple(_profile(group.stage, len(groups), log.causes) for group in groups),
        notes=tuple(notes),
    )  # fmt: skip


def _within(event: Event, days: pd.Index, plant: Plant) -> bool:
    """Whether an event lies within the days of a log: what is told of the years before says nothing of its pace."""
    return bool(len(days)) and days[0].date() <= local_day(event, plant.site.timezone).date() <= days[-1].date()


def _share_of_elements(stage: int | None, plant: Plant) -> float:
    """How much of the train's elements one stage has; all where no stage is named. [-]"""
    if stage is None:
        return 1.0
    counts = [one.elements for one in plant.train.stages]
    return counts[stage - 1] / sum(counts)


def _profile(stage: int, stages: int, causes: Sequence[Cause]) -> str:
    """Where the loss of a stage sits, as its likeliest cause has it."""
    sure = [cause for cause in causes if cause.probability >= SURE]
    for cause in sure:
        if cause.cause in TAIL_CAUSES and stage == (cause.stage or stages):
            return "tail"
        if cause.cause in LEAD_CAUSES and stage == (cause.stage or 1):
            return "lead"
    return "even"


def _pressure_today(
    model: TrainModel | None, contract: Contract, wears: Sequence[StageWear], temperature_c: float | None
) -> float | None:
    if model is None:
        return None
    duty = Duty(
        contract.permeate_flow_m3h or model.permeate_flow_m3h,
        contract.recovery or model.recovery,
        model.temperature_c if temperature_c is None else temperature_c,
    )
    left = np.array([[np.exp(-wears[part.stage - 1].flow.loss)] for part in model.parts])
    pressure = float(model.needs(duty, left, np.ones_like(left), np.ones_like(left)).feed_pressure_bar[0])
    return pressure if np.isfinite(pressure) else None


def element_groups(plant: Plant, events: Sequence[Event], installed: Mapping[int, date]) -> tuple[ElementGroup, ...]:
    """The elements of each stage; a replacement in the log goes before what somebody said.

    Parameters
    ----------
    plant : Plant
    events : sequence of Event
    installed : mapping
        Stage -> day.

    Returns
    -------
    tuple of ElementGroup
    """
    replaced = {one.stage: one.day.date() for one in new_elements(events, plant) if one.share > MOST_OF_A_STAGE}
    return tuple(
        ElementGroup(
            number, stage.elements, stage.vessels, stage.membrane_name, replaced.get(number) or installed.get(number)
        )
        for number, stage in enumerate(plant.train.stages, start=1)
    )


def _shares(plant: Plant, model: TrainModel | None) -> tuple[list[float], list[float]]:
    """Shares of the stages in water and salt; by membrane area where there is no model."""
    if model is not None:
        flow, salt = model.shares()
        return flow.tolist(), salt.tolist()
    area = [stage.area_m2 / plant.train.area_m2 for stage in plant.train.stages]
    return area, area


def _temperatures(log: LogForLife) -> tuple[float | None, float | None]:
    """Coldest and warmest water of the last year, but for the twentieth part of its days on either side. [degC]"""
    known = _last_year(log)
    return (None, None) if known.empty else (float(known.quantile(0.05)), float(known.quantile(0.95)))


def _mean_temperature(log: LogForLife) -> float | None:
    """Of the last year. [degC]"""
    known = _last_year(log)
    return None if known.empty else float(known.mean())


def _last_year(log: LogForLife) -> pd.Series:
    """Temperature of the water by day in the last year. [degC]"""
    name = "feed_temperature_c"
    if name not in log.measured.columns:
        return pd.Series(dtype="float64")
    known = log.measured[name].dropna()
    return known if known.empty else known[known.index > known.index[-1] - pd.Timedelta(days=366)]


def _limits(
    log: LogForLife,
    contract: Contract,
    first: TrainModel | None,
    model: TrainModel | None,
    temperatures: tuple[float | None, float | None],
    notes: list[str],
) -> EndOfLife:
    """Limits from the contract; `first` is the train of the reference period, `model` that of the elements now."""
    coldest, warmest = temperatures
    product = pump = None
    if first is None or model is None or coldest is None or warmest is None:
        notes.append("There is no membrane model of this train: the pump's limit is not known.")
        product = _product_limit(log, contract, 1.0, notes)
    else:
        flow = contract.permeate_flow_m3h or model.permeate_flow_m3h
        recovery = contract.recovery or model.recovery
        same = np.ones((len(model.parts), 1))
        warm = model.needs(Duty(flow, recovery, warmest), same, same, same)
        then = first.needs(Duty(first.permeate_flow_m3h, first.recovery, first.temperature_c), same, same, same)
        product = _product_limit(log, contract, float(warm.permeate_tds_mg_l[0] / then.permeate_tds_mg_l[0]), notes)
        if contract.most_feed_pressure_bar is None:
            notes.append("The most feed pressure of the pump is not given, so its limit is left out.")
        else:
            least = flow_ratio_at_pump_limit(model, Duty(flow, recovery, coldest), contract.most_feed_pressure_bar)
            pump = None if least is None else least / (1.0 - REVERSIBLE_LOSS)
    return EndOfLife(product, pump, contract.permeability_left)


def _product_limit(log: LogForLife, contract: Contract, warmer: float, notes: list[str]) -> float | None:
    """Salt passage over the reference at which the product is as salty as the contract allows, in the warmest water."""
    wanted, name = contract.product_conductivity_us_cm, "permeate_conductivity_us_cm"
    if wanted is None:
        notes.append("No product quality is given, so that limit is left out.")
        return None
    if name not in log.measured.columns or log.reference_days is None or not np.isfinite(warmer):
        notes.append("The product's conductivity in the reference period is not known, so its limit is left out.")
        return None
    first, last = log.reference_days
    known = log.measured[name].loc[first:last].dropna()
    if known.empty:
        notes.append("The product's conductivity in the reference period is not known, so its limit is left out.")
        return None
    return float(wanted / (known.median() * warmer))


def _exposure(plant: Plant, log: LogForLife, contract: Contract) -> Exposure | None:
    """Free chlorine that the oldest elements have had, and what a year adds at the pace of the last quarter.

    Hours that no value covers are taken to be as those that some do; without a value in the last quarter the pace is
    that of the whole time.
    """
    if CHLORINE not in log.measured.columns or log.measured.empty:
        return None
    daily = log.measured[CHLORINE]
    days = pd.DatetimeIndex(daily.index)
    seen = exposure_since(daily, oldest_elements(days, log.events, plant).date())
    if seen is None:
        return None
    pace = exposure_since(daily, (days[-1] - pd.Timedelta(days=PACE_DAYS)).date()) or seen
    spent = seen.least / seen.hours * (seen.hours + seen.uncovered_hours)
    return Exposure(spent, contract.chlorine_tolerance, pace.least / pace.hours * 24.0 * DAYS_PER_YEAR)


def _warranty_left(groups: Sequence[ElementGroup], log: LogForLife, contract: Contract) -> float | None:
    """Years of warranty that the youngest known elements have left; None where no age is known."""
    known = [group.installed for group in groups if group.installed is not None]
    if not known or not len(log.daily.index):
        return None
    age = (log.daily.index[-1].date() - max(known)).days / DAYS_PER_YEAR
    return contract.warranty_years - age if age < contract.warranty_years else None
