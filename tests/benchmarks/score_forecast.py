"""How often the 80 % range of "reaches its limit" holds the true day, on simulated plants whose membranes are known."""

from collections.abc import Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from analytics.assess import assess
from analytics.condition.daily import local_days
from analytics.judgement.observed import FLOW_PER_WATER, SALT_PER_FLOW
from demo_data.simulator.scenario import Simulated, simulate
from tests.benchmarks.drawn import Drawn, drawn_plants

STORIES = ("growing", "accelerating", "levelling")
TOLD = {("train", "permeate_flow"), ("train", "pressure_drop"), ("stage1", "pressure_drop")}
"""Indicators whose truth at the reference is known exactly enough."""
AT = (0.25, 0.4, 0.55, 0.7)


@dataclass(frozen=True)
class Foreseen:
    """One range, and the true day; None where the limit is not reached within the log (then it lies after `end`)."""

    story: str
    indicator: str
    as_of: date
    earliest: date
    likely: date
    latest: date
    true: date | None
    end: date

    @property
    def held(self) -> bool | None:
        """None where the log ends before it can be told."""
        if self.true is None:
            return None if self.latest >= self.end else False
        return self.earliest <= self.true <= self.latest

    @property
    def late(self) -> bool:
        """Whether the true day came before the range."""
        return self.true is not None and self.true < self.earliest


def foreseen(plant: Drawn) -> list[Foreseen]:
    """Ranges given at some moments of one plant."""
    result = simulate(plant.scenario)
    index = pd.DatetimeIndex(result.readings.index)
    found = []
    for share in AT:
        as_of = index[int(share * (len(index) - 1))]
        answer = assess(result.plant, result.readings, result.events, as_of.to_pydatetime())
        for one in answer.indicators:
            if one.reaches_limit is None or (one.scope, one.name) not in TOLD:
                continue
            true = true_day(plant, result, f"{one.scope}_{one.name}", one.limit, as_of)
            found.append(
                Foreseen(
                    plant.story,
                    f"{one.scope} {one.name}",
                    as_of.date(),
                    one.reaches_limit.earliest,
                    one.reaches_limit.likely,
                    one.reaches_limit.latest,
                    true,
                    index[-1].date(),
                )
            )
    return found


def true_day(plant: Drawn, result: Simulated, column: str, limit: float, as_of: pd.Timestamp) -> date | None:
    """First day after `as_of` on which the truth, relative to the reference, stands at its limit."""
    if column not in result.truth.columns:
        return None
    scope, name = column.split("_", 1)
    truth = _at_reference(plant, result, column)
    if name == "permeate_flow":  # that of permeability; at fixed pressure flow follows it less
        truth = truth**FLOW_PER_WATER
    if name == "salt_passage":  # that of salt permeability; with less flow, the same salt is in less water
        truth = truth * _at_reference(plant, result, f"{scope}_permeate_flow") ** (FLOW_PER_WATER * SALT_PER_FLOW)
    ahead = truth[truth.index > as_of.tz_localize(None)]
    over = ahead[ahead <= limit] if limit < 1 else ahead[ahead >= limit]
    return over.index[0].date() if len(over) else None


def _at_reference(plant: Drawn, result: Simulated, column: str) -> pd.Series:
    """Daily truth over that of the reference period. [-]"""
    days = local_days(pd.DatetimeIndex(result.truth.index), plant.scenario.timezone)
    truth = result.truth[column].groupby(np.asarray(days)).median()
    first, last = plant.scenario.reference or (None, None)
    return truth / float(truth[pd.Timestamp(first) : pd.Timestamp(last)].median())


def score(*, each: int, seed: int, pool: Executor, stories: Sequence[str] = STORIES) -> pd.DataFrame:
    """One row a range."""
    plants = list(drawn_plants(tuple(stories), each=each, seed=seed))
    found = [one for part in pool.map(foreseen, plants, chunksize=2) for one in part]
    return pd.DataFrame(
        [
            {
                "story": one.story,
                "indicator": one.indicator,
                "held": one.held,
                "late": one.late,
                "ahead": (one.likely - one.as_of).days,
                "low": (one.earliest - one.as_of).days,
                "high": (one.latest - one.as_of).days,
                "true": None if one.true is None else (one.true - one.as_of).days,
            }
            for one in found
        ]
    )


def main(*, each: int, seed: int, pool: Executor) -> None:
    table = score(each=each, seed=seed, pool=pool)
    told = table[table["held"].notna()]
    print(f"{len(table)} ranges, {len(told)} of them known to hold or not")
    shares = told.assign(held=told["held"].astype(float)).groupby("story")[["held", "late"]].mean().round(2)
    print(shares.to_string())
    print(f"held {told['held'].astype(float).mean():.2f}, true day before the range {told['late'].mean():.2f}")


if __name__ == "__main__":
    with ProcessPoolExecutor(2) as two:
        main(each=12, seed=31, pool=two)
