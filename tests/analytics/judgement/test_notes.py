"""What stands beside the answer: which blanks cost readings."""

import numpy as np

from analytics.assess import assess
from tests.analytics.condition.modelled_train import plant, readings

LACK = "Readings set aside for a missing value mostly lack"


def test_a_gauge_that_is_blank_in_half_of_the_log_is_named() -> None:
    """Its readings are set aside, and the answer ends where it does; without the column they all count."""
    frame = readings(60, scatter=5e-4)
    frame.iloc[30:, frame.columns.get_loc("permeate_pressure_bar")] = np.nan
    found = assess(plant(), frame)
    assert found.counts.used == 30
    (note,) = [note for note in found.notes if note.startswith(LACK)]
    assert note.startswith(f"{LACK} permeate pressure. Where a gauge is given up, hand in the log without its column")
    assert assess(plant(), frame.drop(columns="permeate_pressure_bar")).counts.used == 60


def test_a_blank_now_and_then_is_not_told() -> None:
    frame = readings(60, scatter=5e-4)
    frame.iloc[30:33, frame.columns.get_loc("permeate_pressure_bar")] = np.nan
    assert not [note for note in assess(plant(), frame).notes if note.startswith(LACK)]
