"""Speed of the budget: a thousand trains, ten years, ten thousand futures, against the bare random draws.

The yardstick draws as many random numbers as the simulation must: for each stage one per future and renewal (counted
from its own answer), and the accidents. Processor time of this process, in turns, the best of some rounds.
"""

import resource
from collections.abc import Callable

import numpy as np
import pytest

from analytics.decisions.budget import COMPONENTS, Renewal, TrainPlan, even_periods, simulate_budget
from analytics.decisions.life_table import LifeTable

pytestmark = pytest.mark.alone

TRAINS, DRAWS, STAGES = 1000, 10_000, 2
ALLOWED = 25.0
"""Beside drawing, each renewal is put into its period and added up by future; all futures are sorted for low and high.
Measured: 17 to 19."""
ROUNDS = 3
YEARS = even_periods(range(1, 11))


def fleet(trains: int) -> list[TrainPlan]:
    rng = np.random.default_rng(1)
    due, after = (LifeTable.of(rng.lognormal(np.log(mean), 0.45, 5000)) for mean in (3.0, 6.0))
    parts = {"elements": 21600.0, "labour": 500.0, "seals": 700.0, "freight": 300.0}
    rise = dict.fromkeys(COMPONENTS, 0.03)
    renewals = tuple(Renewal(stage, due, after, parts) for stage in range(1, STAGES + 1))
    return [TrainPlan(n, n // 4, renewals, 0.02, {"energy": 1000.0}, rise) for n in range(trains)]


def taken(work: Callable[[], object]) -> float:
    before = resource.getrusage(resource.RUSAGE_SELF)
    work()
    after = resource.getrusage(resource.RUSAGE_SELF)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def ratio(trains: int) -> tuple[float, float]:
    """Time of the simulation over that of its bare draws, and the time itself. [-, s]"""
    plans = fleet(trains)
    answer = simulate_budget(plans[:1], YEARS, rng=np.random.default_rng(2), draws=DRAWS)
    renewals = sum(float(counts.sum()) for counts in answer.trains[0].replaced.values())
    draws = int(DRAWS * (STAGES + renewals + 0.02 * 10 * 2))

    def bare() -> None:
        rng = np.random.default_rng(3)
        for _ in range(trains):
            rng.random(draws)

    def simulate() -> None:
        simulate_budget(plans, YEARS, rng=np.random.default_rng(2), draws=DRAWS)

    times = [(taken(bare), taken(simulate)) for _ in range(ROUNDS)]
    return min(t[1] for t in times) / min(t[0] for t in times), min(t[1] for t in times)


def test_fifty_trains_take_few_times_their_bare_draws() -> None:
    found, _ = ratio(TRAINS // 20)
    assert found <= ALLOWED, f"{found:.1f} times the bare draws"


@pytest.mark.slow
def test_a_thousand_trains_take_seconds() -> None:
    found, seconds = ratio(TRAINS)
    assert found <= ALLOWED, f"{found:.1f} times the bare draws"
    print(f"{seconds:.1f} s")


if __name__ == "__main__":
    print("{:.1f} times the bare draws, {:.1f} s".format(*ratio(TRAINS)))
