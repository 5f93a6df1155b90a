"""A pressure gauge that drifts is told from fouling; the meters of a whole log are held against each other."""

import math
from dataclasses import replace
from datetime import date

import pytest

from analytics.assess import assess
from analytics.assessment import Assessment
from analytics.judgement.gauges import _effect, _Stage  # signatures are these, scaled
from demo_data.simulator.meters import Drift
from demo_data.simulator.scenario import WELL_METERED, Scenario, simulate

LACKING = ("stage1_permeate_flow_m3h", "stage1_permeate_conductivity_us_cm", "stage2_permeate_conductivity_us_cm")


def answer(name: str, bias: float, *, lacking: tuple[str, ...] = ()) -> Assessment:
    """A healthy plant, one meter of which drifts away between day 60 and day 140 of 200."""
    meters = {column: meter for column, meter in WELL_METERED.items() if column not in lacking}
    meters[name] = replace(meters[name], drift=Drift(60, 140, bias))
    result = simulate(Scenario(days=200, meters=meters, reference=(date(2025, 8, 3), date(2025, 8, 17)), seed=3))
    return assess(result.plant, result.readings, result.events)


@pytest.mark.parametrize(
    ("name", "bias", "lacking"),
    [
        ("feed_pressure_bar", 0.10, ()),
        ("feed_pressure_bar", -0.04, LACKING),
        ("concentrate_pressure_bar", -0.05, ()),
        ("permeate_flow_m3h", -0.08, LACKING),
    ],
)
def test_nobody_is_sent_to_clean_for_a_gauge(name: str, bias: float, lacking: tuple[str, ...]) -> None:
    found = answer(name, bias, lacking=lacking)
    assert found.verdict.level == "check a meter"
    assert "meter" in [cause.cause for cause in found.causes[:2]]
    first = found.meters[0]
    assert f"{first.quantity}_" in f"{name}_" and first.bias * bias > 0
    assert first.low < first.bias < first.high


def test_where_little_is_metered_the_gauge_is_named_before_a_cleaning() -> None:
    """Without flows of the stages, a feed gauge that reads high and biofouling look alike: the gauge comes first."""
    found = answer("feed_pressure_bar", 0.04, lacking=LACKING)
    assert found.verdict.level in ("check a meter", "plan cleaning")
    assert "feed pressure" in found.verdict.headline


def test_a_drifting_permeate_cell_does_not_fit_the_cells_of_the_stages() -> None:
    found = answer("permeate_conductivity_us_cm", 0.12)
    assert found.verdict.level == "check a meter"
    assert "permeate_conductivity" in [meter.quantity for meter in found.meters]
    broken = [balance.name for balance in found.balances if balance.broken]
    assert broken == ["balance of salt in the permeate"]


def test_without_a_feed_meter_salt_still_holds_the_flows() -> None:
    found = answer("concentrate_flow_m3h", -0.2, lacking=("feed_flow_m3h",))
    assert [balance.name for balance in found.balances if balance.broken] == ["salt balance"]
    assert "concentrate_flow" in [meter.quantity for meter in found.meters]


def test_what_a_gauge_that_is_off_does_to_the_stages_beside_it() -> None:
    """0.3 bar too much between two stages, by hand.

    Behind it: the drop of 1.5 bar looks like 1.8, the mean pressure and so the driving 6 bar like 6.15. Before it: the
    drop of 2.0 bar looks like 1.7, the driving 8 bar like 8.15, since this gauge is half of that mean, too.
    """
    behind, before = _effect(1, 1, _Stage(1.5, 6.0), 0.3), _effect(0, 1, _Stage(2.0, 8.0), 0.3)
    assert (behind.friction, behind.water) == pytest.approx((math.log(1.8 / 1.5), -math.log(6.15 / 6.0)))
    assert (before.friction, before.water) == pytest.approx((math.log(1.7 / 2.0), -math.log(8.15 / 8.0)))
    assert _effect(2, 1, _Stage(1.0, 5.0), 0.3).friction == 0.0
