"""Hold forecasts of life against what came: `uv run python -m tests.benchmarks.score_lives [PLANTS]`.

Quick: invented daily indicators of plants whose irreversible loss is known, with fouling, cleanings, seasons and
gauges on top. Whole: simulated plants, read by their meters and assessed, as a user would. In both, the interval that
is said to hold 8 times in 10 must hold the day on which the flow that no cleaning gives back truly passes its limit.
"""

import sys
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.assess import assess
from analytics.decisions.forecast import Contract, forecast_life
from analytics.decisions.life import EndOfLife, LifeTable, StageWear, train_lives
from analytics.decisions.wear import (
    DAYS_PER_YEAR,
    FLOW,
    FLOW_GIVEN_BACK,
    SALT,
    irreversible_trend,
    levels_after_cleaning,
)
from demo_data.simulator.ageing import Change, Cleaning, Linear, ages
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.operation import Operation
from demo_data.simulator.scenario import Happening, Scenario, Simulated, simulate
from server.budget.actions import log_for_life
from tests.benchmarks.plants import at_conditions

Array = npt.NDArray[np.float64]

LIMIT = 0.70
SALT_HELD = irreversible_trend((), SALT, now_years=0.0)


@dataclass(frozen=True)
class Hindcast:
    """One plant: true time to the limit, and the forecast. [a]"""

    truth: float
    forecast: LifeTable

    @property
    def held(self) -> bool:
        return self.forecast.quantile(0.1) <= self.truth <= self.forecast.quantile(0.9)


def coverage(hindcasts: list[Hindcast]) -> float:
    """Share of intervals that hold the truth. [-]"""
    return float(np.mean([one.held for one in hindcasts]))


def quick(plants: int, *, seed: int = 7) -> list[Hindcast]:
    """Plants by their daily indicators alone; logs of one to four years."""
    return [_quick_plant(np.random.default_rng((seed, n))) for n in range(plants)]


def _quick_plant(rng: np.random.Generator) -> Hindcast:
    """Rates as the trade reports them (3 to 15 % a year, from memory), lognormal; not the normal one of the method."""
    rate = float(np.clip(0.065 * np.exp(0.45 * rng.standard_normal()), 0.015, 0.18))
    days = np.arange(int(30 * DAYS_PER_YEAR))
    wander = np.cumsum(rng.standard_normal(len(days))) * rng.uniform(0.005, 0.03) / np.sqrt(DAYS_PER_YEAR)
    grown = rate * days / DAYS_PER_YEAR
    loss = (grown if rng.random() < 0.5 else -np.log(np.maximum(1 - grown, 1e-6))) + wander
    seen = int(rng.uniform(1.0, 4.0) * DAYS_PER_YEAR)
    cuts = np.cumsum(rng.uniform(90, 300, 20)).astype(np.int64)
    cuts = cuts[cuts < seen]
    fouled, kept = _fouling(cuts, seen, rng)
    season = rng.uniform(0.0, 0.012) * np.sin(2 * np.pi * (days[:seen] / DAYS_PER_YEAR + rng.random()))
    noise = 0.012 * rng.standard_normal(seen)
    index = pd.date_range("2020-01-01", periods=seen, freq="D")
    ratio = pd.Series(np.exp(-(loss[:seen] + kept + fouled + season + noise)), index=index)
    ratio = (ratio / ratio.iloc[:14].median()).where(rng.random(seen) > 0.3)
    levels = levels_after_cleaning(ratio, list(index[cuts]), direction="falls", given_back=FLOW_GIVEN_BACK)
    wear = irreversible_trend(levels, FLOW, now_years=seen / DAYS_PER_YEAR)
    stage = StageWear(1, wear, SALT_HELD, 1.0, 1.0)
    (group,) = train_lives([stage], EndOfLife(permeability=LIMIT), rng=rng, draws=400)
    ahead = loss[seen - 1 :] + kept[-1] >= -np.log(LIMIT)
    truth = float(ahead.argmax()) / DAYS_PER_YEAR if ahead.any() else 30.0
    return Hindcast(min(truth, group.due.quantile(1.0)), group.due)


def _fouling(cuts: Array, seen: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """What a cleaning gives back, and the part of it that it does not and that stays: by day. [-]"""
    fouled, kept = np.zeros(seen), np.zeros(seen)
    starts = np.concatenate([[0], cuts, [seen]]).astype(np.int64)
    stays = 0.0
    for first, end in pairwise(starts.tolist()):
        run = rng.uniform(0.02, 0.20) * np.arange(end - first) / 200.0
        fouled[first:end], kept[first:end] = run, stays
        stays += rng.uniform(0.0, 0.10) * float(run[-1])
    return fouled, kept


def whole(plants: int, *, seed: int = 11) -> list[Hindcast]:
    """Plants by their readings; logs of two years."""
    return [found for n in range(plants) for found in _whole_plant(np.random.default_rng((seed, n)))]


def _whole_plant(rng: np.random.Generator) -> list[Hindcast]:
    """Both stages lose the same amount every year. The truth is the flow of the true train at the reference's
    conditions."""
    years, cleaned = 2.0, [float(day) for day in np.cumsum(rng.uniform(150, 260, 4)) if day < 700]
    rate = float(np.clip(0.065 * np.exp(0.45 * rng.standard_normal()), 0.02, 0.15))
    ageing = [Change(Linear(1 / DAYS_PER_YEAR), n, water=-rate, salt=rate / 3) for n in (1, 2)]
    ageing += [
        Change(Linear(1 / 200.0), n, water=-rng.uniform(0.02, 0.10),
               cleanings=tuple(Cleaning(day, rng.uniform(0.9, 1.0)) for day in cleaned))
        for n in (1, 2)
    ]  # fmt: skip
    element = Element(water_permeability_lmh_bar=rng.uniform(3.4, 4.6), salt_permeability_lmh=rng.uniform(0.14, 0.3))
    scenario = Scenario(
        days=int(years * DAYS_PER_YEAR), seed=int(rng.integers(1, 10**6)),
        design=Design((Stage(4, 6, element), Stage(2, 6, element))), operation=Operation(26.0, 0.74),
        ageing=tuple(ageing), happenings=tuple(Happening(day, "cleaning", "", None) for day in cleaned),
    )  # fmt: skip
    result = simulate(scenario)
    assessment = assess(result.plant, result.readings, result.events)
    forecast = forecast_life(result.plant, log_for_life(assessment), Contract(permeability_left=LIMIT), rng=rng)
    return [
        Hindcast(_true_years(scenario, tuple(ageing[:2]), result, life.stage) - years, life.due)
        for life in forecast.lives
    ]


def _true_years(scenario: Scenario, irreversible: tuple[Change, ...], result: Simulated, stage: int) -> float:
    """Time from the start until a true stage makes the limit's share of its first flow at the same conditions. [a]"""
    elapsed = np.arange(0.0, 20.0, 0.1) * DAYS_PER_YEAR
    at = result.exact.iloc[:28].median(numeric_only=True)
    concentrate = at["feed_flow_m3h"] - at["stage1_permeate_flow_m3h"]
    if stage == 1:
        at["concentrate_flow_m3h"] = concentrate
    else:
        at["feed_pressure_bar"] = at["stage2_feed_pressure_bar"]
        at["feed_conductivity_us_cm"] = at["stage1_concentrate_conductivity_us_cm"]
    at["permeate_flow_m3h"] = at[f"stage{stage}_permeate_flow_m3h"]
    membranes = ages(scenario.design, irreversible, elapsed)[stage - 1]
    alone = Design((scenario.design.stages[stage - 1],), scenario.design.salt)
    flow, _ = at_conditions(alone, (membranes,), at, len(elapsed))
    return float(elapsed[np.argmax(flow / flow[0] <= LIMIT)]) / DAYS_PER_YEAR


def _told(name: str, found: list[Hindcast]) -> str:
    middle = np.mean([one.truth > one.forecast.quantile(0.5) for one in found])
    width = np.median([one.forecast.quantile(0.9) - one.forecast.quantile(0.1) for one in found])
    return (
        f"{name}: {len(found)} lives, 8 in 10 held {coverage(found):.0%}, later than likely {middle:.0%}, {width:.1f} a"
    )


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    print(_told("quick", quick(10 * count)))
    print(_told("whole", whole(count)))
