"""A law that leaves the last elements no pressure is taken down until they make water, and that is said."""

from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.assess import assess
from analytics.condition.normalized import normalize_log
from analytics.condition.osmotic_start import (
    OsmoticStart,
    osmotic_start,
    osmotic_start_note,
    osmotic_start_of,
    with_osmotic_start,
)
from analytics.errors import InvalidSettings
from analytics.plant_file import plant_from_dict
from tests.analytics.condition.modelled_train import plant, readings

TIGHT = {"feed_tds_mg_l": 4200.0, "recovery": 0.80, "permeate_m3h": 22.0, "osmotic": 0.75}
"""Made with three quarters of the osmotic pressure of the law; by the whole of it the last elements made no water."""


def start(**made: float) -> OsmoticStart:
    log = normalize_log(plant(), readings(30, scatter=5e-4, **made))  # type: ignore[arg-type]
    assert log.reference is not None
    return osmotic_start(log.balance, plant(), log.used & log.reference.within, log.days)


def test_where_the_law_leaves_pressure_it_stands() -> None:
    assert start() == OsmoticStart(1.0)


def test_the_share_of_the_law_is_that_by_which_the_stages_are_alike() -> None:
    assert start(**TIGHT).share == pytest.approx(0.75, abs=0.02) and start(**TIGHT).taken_down


def test_the_model_answers_by_it_and_says_so() -> None:
    fall = 1 - 0.10 * np.arange(60) / 60
    frame = readings(60, scatter=5e-4, water=(fall, fall), **TIGHT)  # type: ignore[arg-type]
    found = assess(plant(), frame)
    assert any("of the law's for this water" in note for note in found.notes)
    assert found.plant == plant()
    assert found.model is not None
    water = found.model.parameters[0].water
    assert water is not None and np.exp(water.level[-1]) == pytest.approx(fall[-1] / fall[:14].mean(), abs=0.02)
    assert found.model.train.closures.osmotic == pytest.approx(0.75, abs=0.06)


def test_what_the_plant_file_states_is_taken() -> None:
    stated = with_osmotic_start(plant(), 0.75)
    found = assess(stated, readings(30, scatter=5e-4, **TIGHT))  # type: ignore[arg-type]
    assert found.model is not None and not any("of the law's" in note for note in found.notes)


def _by_conductivity(frame: pd.DataFrame, **train: Any) -> OsmoticStart:
    """The same water by a cell that reads 3000 uS/cm, so that 7500 uS/cm lie halfway between feed and concentrate."""
    frame = frame.drop(columns="feed_tds_mg_l").assign(feed_conductivity_us_cm=3000.0 * frame["feed_tds_mg_l"] / 2000.0)
    return osmotic_start_of(normalize_log(plant(**train), frame))


def test_a_conductivity_is_taken_halfway_to_sodium_chloride() -> None:
    """By hand at 7500 uS/cm: sodium chloride 4052 mg/L and 3.23 bar, the curves of natural water 5540 mg/L and 3.89."""
    assert _by_conductivity(readings(30, scatter=5e-4)).share == pytest.approx(np.sqrt(3.23 / 3.89), abs=0.005)
    assert not _by_conductivity(readings(30, scatter=5e-4)).taken_down


def test_what_the_plant_file_says_of_its_solids_is_kept() -> None:
    frame = readings(30, scatter=5e-4)
    assert _by_conductivity(frame, assumed={"tds_per_conductivity": 0.65}) == OsmoticStart(1.0)
    assert _by_conductivity(frame, water="sodium-chloride") == OsmoticStart(1.0)


def test_nothing_is_said_where_nothing_was_done() -> None:
    assert osmotic_start_note(OsmoticStart(0.86)) == ""
    assert osmotic_start_note(OsmoticStart(0.8, taken_down=True)).startswith(
        "The membrane model takes the osmotic pressure as 0.80 of the law's"
    )


def test_a_factor_beyond_all_waters_is_refused() -> None:
    stage = {"vessels": 2, "elements_per_vessel": 6, "membrane": "m"}
    train = {"name": "T", "stage": [stage], "assumed": {"osmotic_factor": 0.2}}
    with pytest.raises(InvalidSettings, match="osmotic_factor"):
        plant_from_dict({"site": {"name": "S"}, "train": train, "membrane": {"m": {"area_m2": 37.2}}})
