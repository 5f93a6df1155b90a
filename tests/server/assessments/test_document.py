"""The daily value of the membrane model is its level; the day by itself and the error stand beside it."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analytics.assess import assess
from analytics.assessment import Assessment
from demo_data.simulator.scenario import simulate
from server.assessments.document import daily_series
from tests.benchmarks.plants import known_plants


@pytest.fixture(scope="module")
def assessment() -> Assessment:
    """A hundred days of a train whose membranes do not change, read from gauges that round."""
    scenario = replace(next(known_plants()).scenario, days=100)
    result = simulate(scenario)
    return assess(result.plant, result.readings, result.events)


@pytest.fixture(scope="module")
def series(assessment: Assessment) -> dict[str, Any]:
    return daily_series(assessment)


def test_the_daily_value_is_the_level_and_the_day_by_itself_stands_beside_it(
    assessment: Assessment, series: dict[str, Any]
) -> None:
    model = assessment.model
    assert model is not None and "stage1_pressure_drop" in assessment.modelled
    for column in assessment.modelled:
        scope, name = column.split("_", 1)
        used = ~assessment.daily_set_aside[column] & assessment.daily[column].notna()
        for found, frame in (
            (series[scope][name], model.level),
            (series["unsmoothed"][column], model.daily),
            (series["error"][column], model.error),
        ):
            expected = frame[column].reindex(used.index).where(used)
            np.testing.assert_allclose(np.array(found, dtype=float), expected, atol=1e-5)


def test_a_coarse_gauge_scatters_the_days_and_not_the_daily_values(series: dict[str, Any]) -> None:
    level = np.array(series["stage1"]["pressure_drop"], dtype=float)
    alone = np.array(series["unsmoothed"]["stage1_pressure_drop"], dtype=float)
    assert np.nanstd(level) < 0.5 * np.nanstd(alone)
    assert np.nanmax(np.abs(level - 1)) < 0.015  # truth is 1: nothing changes; the bar of decision 10


def test_a_day_out_of_line_has_no_daily_value(assessment: Assessment) -> None:
    aside = assessment.daily_set_aside.copy()
    aside.iloc[40, aside.columns.get_loc("train_permeate_flow")] = True
    found = daily_series(replace(assessment, daily_set_aside=aside))
    assert found["train"]["permeate_flow"][40] is None
    assert found["unsmoothed"]["train_permeate_flow"][40] is None
    assert 40 in [place for place, _ in found["set_aside"]["train_permeate_flow"]]


def test_the_standard_method_has_no_level_by_day(assessment: Assessment) -> None:
    found = daily_series(replace(assessment, model=None, modelled=()))
    assert found["unsmoothed"] == {} and found["error"] == {}
    value = assessment.daily["train_permeate_flow"].iloc[10]
    assert found["train"]["permeate_flow"][10] == pytest.approx(value, abs=1e-5)
