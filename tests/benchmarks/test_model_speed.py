"""Speed of the membrane model's fit: against runs of the forward model alone over the same readings, and its growth.

The forward model is what any fit must run; how many runs a fit costs is the method's own. Processor time of this
process: the best round of each, or the median of pairs. The bar of the design, 20,000 readings a second for a train of
two stages, is asked only with `-m slow`, because it is in seconds of whatever machine this is.
"""

from collections.abc import Callable

import numpy as np
import pytest

from analytics.condition.fit import CHUNK, fit_membranes
from analytics.condition.metered_train import TrainModel, metered_readings
from analytics.condition.normalized import NormalizedLog, normalize_log
from tests.benchmarks.test_standard_method_speed import PLANT, Stopwatch, readings

pytestmark = pytest.mark.alone

SMALL, LARGE = 2 * CHUNK, 8 * CHUNK
RUNS = 7.0
"""Runs of the forward model that a fit may cost: three steps on all readings, the search on the medians of stretches,
and what lies between the runs."""
UNEVEN = 1.35
"""What a reading of a long log may cost more than one of a short one."""
LEAST_PER_SECOND = 20_000
ROUNDS = 3


def best(task: Callable[[], object], rounds: int = ROUNDS) -> float:
    watch = Stopwatch()
    for _ in range(rounds):
        watch.time(task)
    return watch.seconds


def forward(log: NormalizedLog) -> None:
    rows = np.arange(len(log.days))
    for start in range(0, len(rows), CHUNK):
        model = TrainModel(metered_readings(log.balance, PLANT, rows[start : start + CHUNK]), PLANT)
        model.misses(np.zeros((len(model.sought), len(rows[start : start + CHUNK]))))


def test_a_fit_costs_few_runs_of_the_model() -> None:
    log = normalize_log(PLANT, readings(SMALL))
    forward(log)  # the warm-up
    bare = best(lambda: forward(log))
    ours = best(lambda: fit_membranes(log.balance, PLANT))
    assert ours <= RUNS * bare, f"{ours:.3f} s against {bare:.3f} s"


def test_the_cost_grows_with_the_readings_and_no_faster() -> None:
    small, large = (normalize_log(PLANT, readings(count)) for count in (SMALL, LARGE))
    ratios = []
    for _ in range(ROUNDS):  # as many readings on both sides, one right after the other
        short = sum(best(lambda: fit_membranes(small.balance, PLANT), 1) for _ in range(LARGE // SMALL))
        ratios.append(best(lambda: fit_membranes(large.balance, PLANT), 1) / short)
    assert np.median(ratios) <= UNEVEN, ratios


@pytest.mark.slow
def test_twenty_thousand_readings_a_second() -> None:
    log = normalize_log(PLANT, readings(LARGE))
    assert best(lambda: fit_membranes(log.balance, PLANT)) <= LARGE / LEAST_PER_SECOND
