"""Odd logs through the database, in parts and in disorder: every part is taken, and the answer is that of the whole."""

import numpy as np
import pandas as pd
import pytest

from analytics.assess import assess
from demo_data.simulator.scenario import Simulated, simulate
from demo_data.stories.hospital import HOSPITAL
from server.assessments.actions import refresh_assessment
from server.db import make_engine, transaction
from server.intake.table import ReadingsTable
from server.plants.actions import add_plant
from server.readings.actions import store_readings
from tests.hostile.test_odd_logs import Oddities

PARTS = 4
CLOSE = 1e-3
"""Of an indicator: what is worked out for some days only may differ in the last digit that is shown. [-]"""


@pytest.fixture(scope="module")
def plant() -> Simulated:
    return simulate(HOSPITAL.scenario)


def as_table(log: pd.DataFrame) -> ReadingsTable:
    log = log.set_axis(pd.DatetimeIndex(log.index, name="taken_at").as_unit("us"))
    return ReadingsTable("log", log, np.arange(len(log)), {}, (), (), 0, (), len(log))


@pytest.mark.parametrize("seed", range(8))
def test_parts_of_an_odd_log_come_to_the_answer_of_the_whole(plant: Simulated, sqlite_url: str, seed: int) -> None:
    chance = np.random.default_rng(seed)
    log = Oddities(chance).of(plant.readings)
    parts = [part for part in np.array_split(np.arange(len(log)), PARTS) if len(part)]
    chance.shuffle(parts)
    engine = make_engine(sqlite_url)
    with transaction(engine) as session:
        train_id = add_plant(session, plant.plant).id
        for part in parts:
            store_readings(session, train_id, as_table(log.iloc[part]), source="file")
            found = refresh_assessment(session, train_id)
        headline = found.headline
        values = {(one["scope"], one["name"]): one["value"] for one in found.summary["indicators"]}
    engine.dispose()
    whole = assess(plant.plant, log)
    assert headline == whole.verdict.headline
    for one in whole.indicators:
        assert values[one.scope, one.name] == pytest.approx(one.value, abs=CLOSE, nan_ok=True)
