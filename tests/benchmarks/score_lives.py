"""Hold forecasts of life against what came: `uv run python -m tests.benchmarks.score_lives [PLANTS] [SEED]`.

Quick: invented daily indicators of plants whose irreversible loss is known, with fouling, cleanings, seasons and
gauges on top. Whole: simulated plants (`aged`), read by their meters and assessed, as a user would. In both, the
interval that is said to hold 8 times in 10 must hold the day on which the flow that no cleaning gives back truly passes
its limit.
"""

import sys
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.decisions.forecast import Contract, forecast_life
from analytics.decisions.levels import levels_after_cleaning
from analytics.decisions.life import EndOfLife, StageWear, train_lives
from analytics.decisions.life_table import LifeTable
from analytics.decisions.wear import DAYS_PER_YEAR, FLOW, FLOW_GIVEN_BACK, SALT, irreversible_trend
from tests.benchmarks.aged import aged_plant

Array = npt.NDArray[np.float64]

LIMIT = 0.70
SALT_HELD = irreversible_trend((), SALT, now_years=0.0)
LAST_STAGE = 2


@dataclass(frozen=True)
class Hindcast:
    """One stage: true time to the limit, and the forecast. [a]"""

    stage: int
    truth: float
    forecast: LifeTable

    @property
    def held(self) -> bool:
        return self.forecast.quantile(0.1) <= self.truth <= self.forecast.quantile(0.9)

    @property
    def too_late(self) -> float:
        """The likely day over the true one, both from today. [-]"""
        return self.forecast.quantile(0.5) / max(self.truth, 1 / DAYS_PER_YEAR)


def coverage(hindcasts: list[Hindcast]) -> float:
    """Share of intervals that hold the truth. [-]"""
    return float(np.mean([one.held for one in hindcasts]))


def quick(plants: int, *, seed: int = 7) -> list[Hindcast]:
    """Plants by their daily indicators alone; logs of one to four years."""
    return [_quick_plant(np.random.default_rng((seed, n))) for n in range(plants)]


def _quick_plant(rng: np.random.Generator) -> Hindcast:
    """Rates as the trade reports them (3 to 15 % a year, from memory), lognormal; not the normal one of the method.

    What cleanings leave belongs to the truth, in the past and in the time to come.
    """
    rate = float(np.clip(0.065 * np.exp(0.45 * rng.standard_normal()), 0.015, 0.18))
    days = np.arange(int(30 * DAYS_PER_YEAR))
    wander = np.cumsum(rng.standard_normal(len(days))) * rng.uniform(0.005, 0.03) / np.sqrt(DAYS_PER_YEAR)
    grown = rate * days / DAYS_PER_YEAR
    loss = (grown if rng.random() < 0.5 else -np.log(np.maximum(1 - grown, 1e-6))) + wander
    seen = int(rng.uniform(1.0, 4.0) * DAYS_PER_YEAR)
    cuts = np.cumsum(rng.uniform(90, 300, 120)).astype(np.int64)
    cuts = cuts[cuts < len(days)]
    fouled, kept = _fouling(cuts, len(days), rng)
    loss = loss + kept
    season = rng.uniform(0.0, 0.012) * np.sin(2 * np.pi * (days / DAYS_PER_YEAR + rng.random()))
    noise = 0.012 * rng.standard_normal(len(days))
    index = pd.date_range("2020-01-01", periods=seen, freq="D")
    ratio = pd.Series(np.exp(-(loss + fouled + season + noise)[:seen]), index=index)
    ratio = (ratio / ratio.iloc[:14].median()).where(rng.random(seen) > 0.3)
    levels = levels_after_cleaning(ratio, list(index[cuts[cuts < seen]]), direction="falls", given_back=FLOW_GIVEN_BACK)
    wear = irreversible_trend(levels, FLOW, now_years=seen / DAYS_PER_YEAR)
    stage = StageWear(1, wear, SALT_HELD, 1.0, 1.0)
    (group,) = train_lives([stage], EndOfLife(permeability=LIMIT), rng=rng, draws=400)
    ahead = loss[seen - 1 :] >= -np.log(LIMIT)
    truth = float(ahead.argmax()) / DAYS_PER_YEAR if ahead.any() else 30.0
    return Hindcast(1, min(truth, group.due.quantile(1.0)), group.due)


def _fouling(cuts: Array, count: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """What a cleaning gives back, and the part of it that it does not and that stays: by day. [-]"""
    fouled, kept = np.zeros(count), np.zeros(count)
    starts = np.concatenate([[0], cuts, [count]]).astype(np.int64)
    stays = 0.0
    for first, end in pairwise(starts.tolist()):
        run = rng.uniform(0.02, 0.20) * np.arange(end - first) / 200.0
        fouled[first:end], kept[first:end] = run, stays
        stays += rng.uniform(0.0, 0.10) * float(run[-1])
    return fouled, kept


def whole(plants: int, *, seed: int = 11) -> list[Hindcast]:
    """Plants by their readings; logs of one to three years."""
    return [found for n in range(plants) for found in _whole_plant(np.random.default_rng((seed, n)))]


def _whole_plant(rng: np.random.Generator) -> list[Hindcast]:
    plant = aged_plant(rng, limit=LIMIT)
    forecast = forecast_life(plant.plant, plant.log, Contract(permeability_left=LIMIT), rng=rng)
    return [Hindcast(life.stage, plant.true_years[life.stage], life.due) for life in forecast.lives]


def _told(name: str, found: list[Hindcast]) -> str:
    late = np.median([one.too_late for one in found])
    width = np.median([one.forecast.quantile(0.9) - one.forecast.quantile(0.1) for one in found])
    return (
        f"{name}: {len(found)} lives, 8 in 10 held {coverage(found):.0%}, likely day over the true one {late:.2f}, "
        f"{width:.1f} a wide"
    )


def main(plants: int, seed: int) -> None:
    print(_told("quick", quick(10 * plants, seed=seed)))
    found = whole(plants, seed=seed)
    print(_told("whole", found))
    for stage in range(1, LAST_STAGE + 1):
        print(_told(f"whole, stage {stage}", [one for one in found if one.stage == stage]))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40, int(sys.argv[2]) if len(sys.argv) > 2 else 11)
