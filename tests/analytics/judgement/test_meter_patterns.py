"""What drifting meters would look like, from hand-made indicators and balances."""

import numpy as np
import pytest

from analytics.judgement.cause import Cause, Context, accused_gauge
from analytics.judgement.causes import likely_causes
from analytics.judgement.limits import Indicator
from analytics.judgement.meter_patterns import Drifted, drifted_meters
from analytics.judgement.meters import BalanceDrift, Equation, Meter
from analytics.judgement.observed import Layout, observe
from tests.analytics.judgement.judged_values import drop, flow, salt

METERED = ("feed_conductivity", "permeate_conductivity", "concentrate_conductivity", "permeate_flow", "feed_flow")
LAYOUT = Layout(stages=1, first_share=1.0, osmotic={"train": 0.3}, metered=METERED)
MOVES = {"feed_conductivity": 1.0, "concentrate_conductivity": -1.0, "feed_flow": 1.0}


def salt_balance(drift: float) -> Equation:
    return Equation("salt balance", BalanceDrift(drift, 0.008, 21), 0.08, MOVES)


def best(indicators: list[Indicator], *balances: Equation) -> Drifted:
    seen = observe(indicators, LAYOUT, balances)
    return max(drifted_meters(seen, LAYOUT, balances), key=lambda one: one.log_likelihood)


def causes(indicators: list[Indicator], *balances: Equation) -> tuple[Cause, ...]:
    return likely_causes(indicators, (), Context(), LAYOUT, balances=balances)


def test_a_feed_cell_moves_salt_passage_and_the_salt_balance() -> None:
    """It reads 7 % high: salt passage falls by as much, and the balance, within its tolerance, rises."""
    found = best([flow(1.01), salt(0.93), drop(1.0, scope="train")], salt_balance(0.07))
    assert found.meter.quantity == "feed_conductivity"
    assert found.meter.low < 0.07 < found.meter.high


def test_a_permeate_cell_moves_salt_passage_alone() -> None:
    found = best([flow(1.0), salt(0.88), drop(1.0, scope="train")], salt_balance(0.0))
    assert found.meter.quantity == "permeate_conductivity"
    assert found.meter.bias == pytest.approx(-0.12, abs=0.04)


def test_a_meter_that_is_not_there_is_not_named() -> None:
    layout = Layout(stages=1, first_share=1.0, metered=("permeate_flow",))
    found = drifted_meters(observe([salt(0.88)], layout), layout, ())
    assert {one.meter.quantity for one in found} == {"permeate_flow"}


def test_the_last_stage_is_judged_by_what_is_left_of_the_permeate() -> None:
    """Stage 1 has a cell of its own: the common one throws all its error on stage 2."""
    layout = Layout(stages=2, first_share=2 / 3, metered=("permeate_conductivity", "stage1_permeate_conductivity"))
    seen = observe([salt(1.0, scope="stage1"), salt(1.22, scope="stage2")], layout)
    found = max(drifted_meters(seen, layout, ()), key=lambda one: one.log_likelihood)
    assert found.meter.bias == pytest.approx(0.10, abs=0.04)


def test_a_balance_within_its_tolerance_still_speaks_for_a_meter() -> None:
    indicators = [flow(1.01), salt(0.93), drop(1.0, scope="train")]
    with_balance, without = (causes(indicators, salt_balance(drift)) for drift in (0.07, 0.0))
    assert (with_balance[0].cause, accused_gauge(with_balance)[0].quantity) == ("meter", "feed_conductivity")
    assert accused_gauge(without) == () or accused_gauge(without)[0].quantity != "feed_conductivity"


def test_nothing_moved_accuses_no_meter() -> None:
    found = causes([flow(1.0), salt(1.01), drop(1.0, scope="train")], salt_balance(0.003))
    assert found[0].cause == "none"
    assert accused_gauge(found) == ()
    assert np.isfinite(found[0].probability)


class TestThermometer:
    """By hand: 3020 K at 20 degC is 3.5 % a degree, so 3 degC too warm take a tenth off both permeabilities."""

    LAYOUT = Layout(
        stages=2, first_share=0.67, osmotic={"train": 0.3}, metered=("feed_temperature",), feed_temperature_c=20.0
    )

    def seen(self, water: float, salty: float) -> list[Indicator]:
        return [
            one for n in (1, 2) for one in (flow(water, f"stage{n}"), salt(salty, f"stage{n}"), drop(1.0, f"stage{n}"))
        ]

    def causes(self, water: float, salty: float) -> tuple[Cause, ...]:
        return likely_causes(self.seen(water, salty), (), Context(), self.LAYOUT)

    @pytest.mark.parametrize(("change", "way"), [(-0.10, "high"), (0.11, "low")])
    def test_water_and_salt_of_all_stages_move_together(self, change: float, way: str) -> None:
        """Too warm is a little like compaction, which takes less salt off; it is named beside it then."""
        first, second = self.causes(1 + change, 1 + change)[:2]
        named = first if first.cause == "meter" else second
        assert named.meter is not None and named.meter.quantity == "feed_temperature"
        assert named.meter.reads.endswith(f"°C {way}") and 2.0 < float(named.meter.reads.split()[0]) < 4.0
        assert way == "high" or first == named

    def test_less_water_at_the_same_salt_is_no_thermometer(self) -> None:
        assert not accused_gauge(self.causes(0.90, 0.99))
        assert accused_gauge(self.causes(1.11, 1.11))

    def test_without_a_thermometer_nothing_is_said_of_one(self) -> None:
        layout = Layout(2, 0.67, metered=("feed_temperature",))
        assert drifted_meters(observe(self.seen(0.9, 0.9), layout), layout, ()) == ()


def _weighed(cause: str, probability: float, quantity: str = "") -> Cause:
    meter = Meter(quantity, 0.16, 0.1, 0.2, suspect=True, evidence="") if quantity else None
    return Cause(cause, None, probability, (), "", "", meter)


@pytest.mark.parametrize(
    ("other", "accused"), [("colloidal", True), ("oxidation", False), ("seal-leak", False), ("compaction", False)]
)
def test_a_meter_less_likely_than_damage_does_not_outrank_it(other: str, accused: bool) -> None:
    """Nobody cleans for damage: its own check is as short as that of the meter. A cleaning waits for the meter."""
    found = accused_gauge([_weighed(other, 0.5), _weighed("meter", 0.3, "permeate_conductivity")])
    assert bool(found) is accused
    assert accused_gauge([_weighed("meter", 0.5, "permeate_conductivity"), _weighed(other, 0.3)])
