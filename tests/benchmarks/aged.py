"""Simulated plants that age for years and are cleaned, each stage at a rate of its own, with the day of their truth.

Irreversible loss goes on by the same amount or by the same share every year; on top of it deposits grow, of which each
cleaning gives back another share. What deposits stay is part of what no cleaning gives back.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.assess import assess
from analytics.decisions.stage_wear import LogForLife
from analytics.decisions.wear import DAYS_PER_YEAR
from analytics.plant import Plant
from demo_data.simulator.ageing import Change, Cleaning, Linear, Settling, ages, cleaned
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.operation import Operation
from demo_data.simulator.scenario import Happening, Scenario, Simulated, simulate
from demo_data.simulator.seasons import Season
from server.budget.actions import log_for_life
from tests.benchmarks.plants import at_conditions

Array = npt.NDArray[np.float64]

ARRAYS = ((3, 2), (4, 2), (6, 3))
FLUX_LMH = 22.0
YEARS_AHEAD = 22.0


@dataclass(frozen=True)
class Aged:
    """One plant as it was assessed, and when each stage truly is at the limit, from the last reading on.

    `true_years` maps the number of a stage to years, `YEARS_AHEAD` for that or more. [a]
    """

    plant: Plant
    log: LogForLife
    true_years: dict[int, float]


@dataclass(frozen=True)
class _Rhythm:
    """Days of the cleanings, the mean time between them, and the share that each gives back. [d, d, -]"""

    days: Array
    between: float
    shares: Array

    @property
    def cleanings(self) -> tuple[Cleaning, ...]:
        return tuple(Cleaning(float(d), float(s)) for d, s in zip(self.days, self.shares, strict=True))


def aged_plant(rng: np.random.Generator, *, limit: float) -> Aged:
    """Draw, simulate and assess one plant of two stages; logs of one to three years.

    Parameters
    ----------
    limit : float
        Share of a stage's flow in the reference period at which it is worn out. [-]
    """
    vessels = ARRAYS[rng.integers(len(ARRAYS))]
    elements = int(rng.integers(5, 8))
    element = Element(water_permeability_lmh_bar=rng.uniform(3.2, 4.6), salt_permeability_lmh=rng.uniform(0.12, 0.3))
    design = Design(tuple(Stage(count, elements, element) for count in vessels))
    last = rng.uniform(1.0, 3.0) * DAYS_PER_YEAR
    rhythm = _rhythm(rng)
    stories = [_story(number, rhythm, rng) for number in (1, 2)]
    scenario = Scenario(
        days=int(last), seed=int(rng.integers(1, 10**6)), design=design,
        operation=Operation(design.area_m2 * FLUX_LMH / 1000.0, rng.uniform(0.70, 0.78)),
        temperature_c=Season(rng.uniform(14.0, 22.0), rng.uniform(2.0, 6.0), int(rng.integers(20, 60)), 0.6),
        conductivity_us_cm=Season(rng.uniform(1200.0, 3500.0), rng.uniform(50.0, 250.0), 100, 40.0),
        ageing=tuple(change for story in stories for change in story),
        happenings=tuple(Happening(day, "cleaning") for day in rhythm.days if day < last),
    )  # fmt: skip
    result = simulate(scenario)
    assessment = assess(result.plant, result.readings, result.events)
    if assessment.reference is None:
        raise ValueError("a simulated plant has a reference")
    begins = (pd.Timestamp(assessment.reference.start) - pd.Timestamp(scenario.start)).days
    ends = (pd.Timestamp(assessment.reference.end) - pd.Timestamp(scenario.start)).days + 1
    span = np.arange(begins, ends, dtype=np.float64)
    true = {n: _true_years(scenario, result, rhythm, n, span, limit) for n in (1, 2)}
    return Aged(result.plant, log_for_life(assessment), true)


def _rhythm(rng: np.random.Generator) -> _Rhythm:
    """A plant cleans about every so many days, about so well."""
    between, share = rng.uniform(120.0, 300.0), rng.uniform(0.55, 0.95)
    count = int(2 + (YEARS_AHEAD + 4.0) * DAYS_PER_YEAR / between)
    days = np.floor(np.cumsum(between * rng.uniform(0.75, 1.25, count))) + 0.5
    return _Rhythm(days, between, np.clip(share + 0.08 * rng.standard_normal(count), 0.2, 1.0))


def _story(stage: int, rhythm: _Rhythm, rng: np.random.Generator) -> tuple[Change, ...]:
    """Rates as the trade reports them (3 to 15 % a year, from memory), lognormal; not the normal one of the method."""
    rate = float(np.clip(0.065 * np.exp(0.45 * rng.standard_normal()), 0.02, 0.16))
    if rng.random() < 0.5:
        lost = Change(Linear(1 / DAYS_PER_YEAR), stage, water=-rate)
    else:
        lost = Change(Settling(DAYS_PER_YEAR / rate), stage, water=-1.0)
    salty = Change(Linear(1 / DAYS_PER_YEAR), stage, salt=rate * rng.uniform(0.2, 1.0))
    fouling = Change(Linear(1 / 200.0), stage, water=-rng.uniform(0.02, 0.10), salt=rng.uniform(0.0, 0.04))
    return lost, salty, cleaned(fouling, *rhythm.cleanings)


def _true_years(
    scenario: Scenario, result: Simulated, rhythm: _Rhythm, stage: int, reference: Array, limit: float
) -> float:
    """Time from the last reading until a stage, just cleaned, makes the limit's share of what it made in the reference
    period, at the same conditions. [a]"""
    today = float(scenario.days)
    ahead = rhythm.days[rhythm.days >= today]
    elapsed = np.concatenate([reference, rhythm.days[rhythm.days < today][-1:], ahead])
    alone = Design((scenario.design.stages[stage - 1],), scenario.design.salt)
    membranes = ages(scenario.design, scenario.ageing, elapsed)[stage - 1]
    flow, _ = at_conditions(alone, (membranes,), _conditions(result, stage), len(elapsed))
    days, share = elapsed[len(reference) :], flow[len(reference) :] / float(np.mean(flow[: len(reference)]))
    share = np.minimum.accumulate(share)
    if share[-1] > limit:
        return YEARS_AHEAD
    return max(float(np.interp(-limit, -share, days)) - today, 0.0) / DAYS_PER_YEAR


def _conditions(result: Simulated, stage: int) -> pd.Series:
    """What a stage is given in the first four weeks."""
    at = result.exact.iloc[:84].median(numeric_only=True)
    if stage == 1:
        at["concentrate_flow_m3h"] = at["feed_flow_m3h"] - at["stage1_permeate_flow_m3h"]
    else:
        at["feed_pressure_bar"] = at["stage2_feed_pressure_bar"]
        at["feed_conductivity_us_cm"] = at["stage1_concentrate_conductivity_us_cm"]
    at["permeate_flow_m3h"] = at[f"stage{stage}_permeate_flow_m3h"]
    return at
