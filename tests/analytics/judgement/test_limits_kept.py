"""Days over a limit are counted, and what was not metered is not claimed."""

import dataclasses

import numpy as np
import pandas as pd

from analytics.judgement.limits_kept import limits_kept
from analytics.plant import Membrane, Stage, Train

DAYS = pd.date_range("2026-01-01", periods=5)
TRAIN = Train(
    name="RO 1",
    stages=(
        Stage(2, 6, Membrane(37.2)),
        Stage(1, 6, Membrane(37.2, max_pressure_bar=20.0, max_dp_element_bar=0.3, max_temperature_c=35.0)),
    ),
)


def test_days_over_are_counted_with_first_and_last() -> None:
    columns = {
        "feed_pressure_bar": np.array([19.0, 21.0, np.nan, 22.5, 18.0]),
        "stage2_pressure_drop_bar": np.array([1.7, 1.9, 1.75, 1.0, 1.0]),
        "feed_free_chlorine_mg_l": np.full(5, np.nan),
    }
    found = {one.name: one for one in limits_kept(DAYS, columns, TRAIN)}
    pressure = found["feed pressure"]
    assert (pressure.limit, pressure.days, pressure.days_over, pressure.highest) == (20.0, 4, 2, 22.5)
    assert (str(pressure.first), str(pressure.last)) == ("2026-01-02", "2026-01-04")
    assert found["pressure drop of stage 2"].days_over == 1  # 6 elements of 0.3 bar are 1.8 bar, below 3.5 a vessel
    assert "free chlorine in the feed" not in found and "feed temperature" not in found


def test_nothing_over_has_no_days() -> None:
    (one,) = limits_kept(DAYS, {"feed_temperature_c": np.full(5, 20.0)}, TRAIN)
    assert (one.days_over, one.first) == (0, None) and one.limit == 35.0


def test_the_stricter_of_element_and_vessel_counts() -> None:
    strict = dataclasses.replace(TRAIN, stages=(Stage(2, 6, Membrane(37.2, max_dp_vessel_bar=1.0)),))
    (one,) = limits_kept(DAYS, {"stage1_pressure_drop_bar": np.full(5, 1.2)}, strict)
    assert one.limit == 1.0 and one.days_over == 5
