"""Logs with holes, long silences, dead and stuck meters: no error of ours, whatever comes."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest

from analytics.assess import assess
from demo_data.simulator.scenario import Simulated, simulate
from demo_data.stories.glasshouses import GLASSHOUSES
from server.assessments.document import assessment_document
from server.assessments.report import terminal_report

DAY = pd.Timedelta(days=1)


@dataclass(frozen=True)
class Oddities:
    """What becomes of a log, drawn at random."""

    chance: np.random.Generator

    def of(self, log: pd.DataFrame) -> pd.DataFrame:
        """Holes, an end, and a few readings long after it; then each meter dead, half dead or stuck now and then."""
        day = np.asarray((log.index - log.index[0]) / DAY)
        kept = np.ones(len(log), dtype=bool)
        for begins, long in zip(self.chance.uniform(0, day[-1], 3), 10 ** self.chance.uniform(0, 2.5, 3), strict=True):
            kept &= (day < begins) | (day > begins + long)
        kept &= day <= self.chance.uniform(0, 1.5 * day[-1])
        return self._meters(self._taken_up_again(log[kept]))

    def _taken_up_again(self, log: pd.DataFrame) -> pd.DataFrame:
        last = log.tail(int(self.chance.integers(0, 4)))
        later = last.index + pd.Timedelta(minutes=int(1440 * 10 ** self.chance.uniform(1, 3)))
        again = last.set_axis(later)
        return pd.concat([log, again[~later.isin(log.index)]]).sort_index()

    def _meters(self, log: pd.DataFrame) -> pd.DataFrame:
        log = log.copy()
        for name in log.select_dtypes("number").columns:
            fate = self.chance.random()
            if fate < 0.08:
                log[name] = np.nan
            elif fate < 0.14:
                log[name] = log[name].where(self.chance.random(len(log)) < 0.5)
            elif fate < 0.18:
                log[name] = log[name].median()
            elif fate < 0.21:
                log[name] *= self.chance.choice([0.0, 1e-3, 14.5, 1e3, -1.0])
        return log


@pytest.fixture(scope="module")
def plant() -> Simulated:
    return simulate(GLASSHOUSES.scenario)


@pytest.mark.parametrize("seed", range(30))
def test_odd_logs_do_not_break_an_assessment(plant: Simulated, seed: int) -> None:
    found = assess(plant.plant, Oddities(np.random.default_rng(seed)).of(plant.readings), plant.events)
    assert assessment_document(found, series=True)["verdict"]["headline"] and terminal_report(found)
