"""The quantities that meters could show, and what a starting or standing plant does to them."""

import numpy as np
import pandas as pd
import pytest

from analytics.quantities import COLUMNS
from demo_data.simulator.design import Design, Stage
from demo_data.simulator.exact import exact_quantities, unsteady
from demo_data.simulator.train import Inlet, new_membranes, run_at_permeate_flow

DESIGN = Design((Stage(4, 6), Stage(2, 6, booster_bar=2.0), Stage(1, 6)))
INDEX = pd.date_range("2026-01-01", periods=3, freq="8h", tz="UTC", name="taken_at")


@pytest.fixture
def exact() -> pd.DataFrame:
    inlet = Inlet(np.full(3, 42.0), np.full(3, 1200.0), np.array([8.0, 15.0, 24.0]), np.full(3, 0.4))
    run = run_at_permeate_flow(DESIGN, new_membranes(DESIGN, 3), inlet, np.full(3, 32.0))
    return exact_quantities(DESIGN, inlet, run, INDEX)


def test_every_column_is_a_quantity_of_the_glossary(exact: pd.DataFrame) -> None:
    assert set(exact.columns) <= set(COLUMNS)


def test_columns_agree_with_each_other(exact: pd.DataFrame) -> None:
    of_stages = exact[[f"stage{number}_permeate_flow_m3h" for number in (1, 2, 3)]].sum(axis=1)
    np.testing.assert_allclose(of_stages, exact["permeate_flow_m3h"])
    np.testing.assert_allclose(exact["feed_flow_m3h"] - exact["permeate_flow_m3h"], exact["concentrate_flow_m3h"])
    np.testing.assert_array_equal(exact["stage3_concentrate_pressure_bar"], exact["concentrate_pressure_bar"])
    np.testing.assert_allclose(exact["stage2_feed_pressure_bar"] - exact["stage1_concentrate_pressure_bar"], 2.0)
    assert (exact["stage3_permeate_conductivity_us_cm"] > exact["permeate_conductivity_us_cm"]).all()


def test_running_is_left_as_it_is_and_the_others_are_not(exact: pd.DataFrame) -> None:
    bent = unsteady(exact, np.array(["running", "starting", "stopped"], dtype=object), np.random.default_rng(7))
    pd.testing.assert_series_equal(bent.iloc[0], exact.iloc[0])
    assert bent["permeate_conductivity_us_cm"].iloc[1] > 1.2 * exact["permeate_conductivity_us_cm"].iloc[1]
    assert bent["feed_pressure_bar"].iloc[1] < exact["feed_pressure_bar"].iloc[1]
    assert bent["feed_temperature_c"].iloc[2] == exact["feed_temperature_c"].iloc[2]
    assert bent["permeate_flow_m3h"].iloc[2] == 0
    assert np.isnan(bent["permeate_conductivity_us_cm"].iloc[2])
