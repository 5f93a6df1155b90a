"""What is seen of the membranes, with its errors, by hand."""

from dataclasses import replace

import numpy as np
import pytest

from analytics.condition.standard import Conditions
from analytics.judgement.meters import BalanceDrift, Equation
from analytics.judgement.observed import (
    BALANCE,
    Layout,
    first_share_of,
    indicator_error,
    observe,
    osmotic_shares,
)
from analytics.judgement.signatures import Effect
from analytics.plant_file import plant_from_dict
from tests.analytics.judgement.judged_values import drop, flow, salt

TWO = Layout(stages=2, first_share=0.75)


def test_salt_passage_at_fixed_pressure_is_freed_of_the_flow() -> None:
    """Less flow at the same salt permeability passes more salt; the standard method holds the flow already."""
    seen = [flow(0.9), salt(1.1)]
    at_flow = observe(seen, Layout(1, 1.0))
    at_pressure = observe(seen, Layout(1, 1.0, modelled=("train_permeate_flow", "train_salt_passage")))
    assert at_flow.changes == pytest.approx([np.log(0.9), np.log(1.1)])
    assert at_pressure.changes == pytest.approx([np.log(0.9) / 0.8, np.log(1.1) + 0.75 * np.log(0.9)])


def test_a_salt_passage_of_the_standard_method_is_not_shifted_beside_a_modelled_flow() -> None:
    layout = Layout(2, 0.75, modelled=("train_permeate_flow",))
    found = observe([flow(0.8), salt(1.1, scope="stage1"), salt(1.0, scope="stage2")], layout)
    assert dict(zip(found.names, found.changes, strict=True))["first", "salt"] == pytest.approx(np.log(1.1))


def test_the_train_stands_in_where_stages_are_not_known() -> None:
    names = observe([flow(0.9), salt(1.1), drop(1.2, scope="stage1")], TWO).names
    assert names == (("first", "friction"), ("all", "water"), ("all", "salt"))


def test_water_is_known_less_well_where_osmotic_pressure_is_large() -> None:
    """By hand: twice the net driving pressure in osmotic pressure, 3 % each by the model; by the standard method 3.5 %
    each and 2 % of its square."""
    tail = Layout(2, 0.75, osmotic={"stage2": 2.0})
    assert indicator_error(flow(0.9, scope="stage2"), TWO) == pytest.approx(0.012, abs=1e-3)
    assert indicator_error(flow(0.9, scope="stage2"), tail) == pytest.approx(
        np.sqrt(0.012**2 + 0.07**2 + 0.08**2), rel=0.01
    )
    modelled = Layout(2, 0.75, modelled=("stage2_permeate_flow",), osmotic={"stage2": 2.0})
    assert indicator_error(flow(0.9, scope="stage2"), modelled) == pytest.approx(np.hypot(0.012, 0.06), rel=0.01)


def test_the_interval_of_an_indicator_is_nine_in_ten() -> None:
    """0.85 to 0.95 about 0.90: 0.05 / 1.645 / 0.90 is the standard error of its logarithm; by hand."""
    wide = replace(flow(0.90), low=0.85, high=0.95)
    assert indicator_error(wide, Layout(1, 1.0)) == pytest.approx(0.0338, abs=1e-4)


def test_osmotic_shares_come_from_the_reference() -> None:
    def conditions(scope: str, net: float, osmotic: float) -> Conditions:
        return Conditions(scope, {"net_driving_pressure_bar": net, "feed_side_osmotic_bar": osmotic})

    found = osmotic_shares(
        [conditions("train", 8.0, 2.0), conditions("stage1", float("nan"), 1.0), conditions("stage2", -1.0, 5.0)]
    )
    assert found == {"train": 0.25, "stage1": 0.25, "stage2": 10.0}


def test_a_channel_that_loses_most_of_its_friction_says_little_of_how_much() -> None:
    seen = observe([drop(0.02, scope="stage1")], TWO)
    assert seen.changes == pytest.approx([-1.2])
    assert seen.errors[0] > 0.3


def test_balances_stand_beside_the_indicators() -> None:
    """The salt balance is trusted less after another salinity of the feed."""
    salty = Equation("salt balance", BalanceDrift(0.05, 0.005, 21), 0.08, {})
    steady, changed = (observe([flow(0.9)], TWO, [salty], change) for change in (0.0, 0.5))
    assert steady.names[-1] == (BALANCE, "salt balance")
    assert steady.errors[-1] == pytest.approx(np.hypot(0.005 / 1.645, 0.015))
    assert changed.errors[-1] == pytest.approx(np.sqrt((0.005 / 1.645) ** 2 + 0.015**2 + 0.06**2))
    assert steady.only(balances=True).names == ((BALANCE, "salt balance"),)
    assert steady.only(balances=False).names == (("all", "water"),)


def test_effects_of_the_stages_are_mixed_for_the_train() -> None:
    seen = observe([flow(0.9), drop(1.1, scope="stage2")], TWO)
    expected = seen.expected(Effect(-1.0, 0.0, 1.0), Effect(0.0, 0.0, 0.2), 0.75)
    assert expected == pytest.approx([0.2, -0.75])


def test_one_stage_is_half_lead_and_half_tail() -> None:
    """By hand: 30 of 45 elements of one kind stand in the first of two stages; a single stage is both."""
    stage = {"vessels": 5, "elements_per_vessel": 6, "membrane": "bw"}
    given = {"site": {"name": "x"}, "membrane": {"bw": {"area_m2": 37.2}}}
    reference = {"start": "2026-01-01", "end": "2026-01-14"}
    one = plant_from_dict({**given, "train": {"name": "y", "stage": [stage], "reference": reference}})
    both = [stage, {**stage, "elements_per_vessel": 3}]
    two = plant_from_dict({**given, "train": {"name": "y", "stage": both, "reference": reference}})
    assert first_share_of(one.train) == 0.5
    assert first_share_of(two.train) == pytest.approx(30 / 45)
