"""Why the two methods differ: made from numbers, with the reason first that weighs most."""

import re
from datetime import date

import pytest

from analytics.assess import assess
from analytics.assessment import Assessment
from analytics.condition.standard_drift import Drift, Waters
from analytics.judgement.disagreement import Difference, explain, largest_difference
from analytics.judgement.limits import Indicator
from demo_data.simulator.operation import Operation, SetPoint
from demo_data.simulator.scenario import Scenario, simulate
from demo_data.simulator.seasons import Season

SUMMER = Waters(25.0, 40.0, 30.0, 2000.0)


def _indicator(value: float, *, name: str = "permeate_flow", limit: float = 0.9) -> Indicator:
    return Indicator("train", name, value, value, value, None, None, None, 1.0, limit, 1.0, 0.0, "fine", None, True, 30)


def _winter(operation: Operation, temperature: Season) -> Assessment:
    story = Scenario(
        days=190,
        start=date(2025, 8, 1),
        operation=operation,
        temperature_c=temperature,
        conductivity_us_cm=Season(3000.0),
        noise=False,
    )
    result = simulate(story)
    return assess(result.plant, result.readings)


def test_a_cold_winter_is_named_with_its_degrees() -> None:
    """Unchanged membranes: water 10 degC colder moves the standard method's flow by 2 to 5 % (facts of the method page:
    1.046 for ten degrees), and its pressure drop through viscosity."""
    cold = _winter(Operation(30.0, 0.75, flow_wander=0.0, recovery_wander=0.0), Season(17.5, 7.5, 35))
    assert cold.model is not None
    assert cold.model.level["train_permeate_flow"].iloc[-1] == pytest.approx(1.0, abs=0.01)
    assert re.search(r"from water 1[3-6] degC colder than in the reference", cold.disagreement), cold.disagreement
    assert cold.disagreement.count(". ") == 0  # one sentence
    assert cold.disagreement.endswith(".")


def test_another_recovery_is_named_with_both_values() -> None:
    operation = Operation(30.0, 0.78, changes=(SetPoint(100.0, 30.0, 0.70),), flow_wander=0.0, recovery_wander=0.0)
    changed = _winter(operation, Season(20.0))
    assert "another recovery (70 % against 78 %)" in changed.disagreement


def test_methods_that_agree_need_no_sentence() -> None:
    steady = _winter(Operation(30.0, 0.75, flow_wander=0.0, recovery_wander=0.0), Season(20.0))
    assert steady.disagreement == ""
    assert largest_difference((_indicator(0.95),), (_indicator(0.965),)) is None


def test_the_indicator_that_differs_most_by_its_own_limit_is_taken() -> None:
    """0.05 is half of what flow may lose, but a third of what a pressure drop may rise."""
    drop = {"name": "pressure_drop", "limit": 1.15}
    found = largest_difference((_indicator(0.95), _indicator(1.0, **drop)), (_indicator(1.0), _indicator(1.05, **drop)))
    assert found is not None
    assert found.name == "permeate_flow"


def test_parts_against_the_difference_are_told_as_the_rest() -> None:
    drift = Drift({"train_permeate_flow": {"temperature": 0.06, "flows": -0.02, "salinity": 0.0, "membranes": -0.1}})
    words = explain(Difference("train", "permeate_flow", 0.94, 0.90, 0.9), drift, SUMMER, Waters(15.0, 40, 30, 2000.0))
    assert "explains 6.0 from water 10 degC colder than in the reference, less 2.0 from the rest." in words
    assert words.startswith("For permeate flow of the train the standard method finds 0.940 of the reference")


def test_what_points_the_other_way_explains_nothing() -> None:
    drift = Drift({"train_permeate_flow": {"temperature": -0.03, "flows": 0.0, "salinity": 0.0, "membranes": -0.1}})
    words = explain(Difference("train", "permeate_flow", 0.94, 0.90, 0.9), drift, SUMMER, SUMMER)
    assert words.endswith("temperature, flows and salinity do not explain the 4.0 points between them.")


@pytest.mark.parametrize(
    "drift",
    [
        Drift({}),
        Drift({"train_permeate_flow": {"temperature": 6.1, "flows": -6.0, "salinity": 0.0, "membranes": -0.1}}),
    ],
    ids=["not metered", "parts that cancel a hundredfold"],
)
def test_what_cannot_be_told_is_said(drift: Drift) -> None:
    words = explain(Difference("train", "permeate_flow", 0.94, 0.90, 0.9), drift, SUMMER, SUMMER)
    assert words.endswith("where they part cannot be told from what is metered.")
