"""Times to limits against what can be reckoned, and against the distribution of a first passage."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from analytics.decisions.life import STEP_YEARS, EndOfLife, Exposure, StageWear, train_lives
from analytics.decisions.life_table import MOST_YEARS
from analytics.decisions.wear import Wear

CERTAIN = Wear(
    loss=0.0, loss_error=1e-9, rate=0.10, rate_error=1e-9, covariance=0.0, roughness=1e-9, levels=9, years=9.0,
    from_trade=0.0,
)  # fmt: skip
NONE = replace(CERTAIN, rate=0.002)


def rng() -> np.random.Generator:
    return np.random.default_rng(8)


def lives(*stages: StageWear, limits: EndOfLife, draws: int = 200, warranty: float | None = None) -> dict[int, object]:
    found = train_lives(stages, limits, rng=rng(), draws=draws, warranty_left_years=warranty, linear_share=0.0)
    return {group.stage: group for group in found}


def test_without_doubt_the_time_is_that_of_the_closed_form() -> None:
    """Flow at 70 % with 10 % a year (as a logarithm): ln(1/0.7)/0.1 = 3.57 years."""
    (group,) = train_lives(
        (StageWear(1, CERTAIN, NONE, 1.0, 1.0),), EndOfLife(), rng=rng(), linear_share=0.0, draws=200
    )
    for share in (0.1, 0.5, 0.9):
        assert group.due.quantile(share) == pytest.approx(3.57, abs=STEP_YEARS)
    assert group.limits[0].first == 1.0
    assert group.due.after(1.0).quantile(0.5) == pytest.approx(group.due.quantile(0.5) - 1.0, abs=1e-3)
    assert group.due.after(9.0).quantile(0.5) == 0.0


def test_with_a_wander_it_is_a_first_passage() -> None:
    """Brownian motion with drift reaches a limit after an inverse Gaussian time; looked at four times a year it is seen
    somewhat late, by half a step and what it did between two looks (0.58 sigma sqrt(dt), Broadie and others, from
    memory)."""
    rough = replace(CERTAIN, roughness=0.05)
    limits = EndOfLife(permeability=float(np.exp(-0.5)))
    (group,) = train_lives((StageWear(1, rough, NONE, 1.0, 1.0),), limits, rng=rng(), linear_share=0.0, draws=4000)
    seen_at = 0.5 + 0.58 * 0.05 * np.sqrt(STEP_YEARS)
    mean, shape = seen_at / 0.10, seen_at**2 / 0.05**2
    exact = stats.invgauss(mean / shape, scale=shape)
    for share in (0.1, 0.5, 0.9):
        assert group.due.quantile(share) == pytest.approx(exact.ppf(share), rel=0.05)


def test_what_the_product_bears_is_charged_to_the_stage_that_adds_most() -> None:
    """Stage 1 adds half the salt and doubles it at once: 1 + 0.5 = the limit of 1.4 is passed, stage 2 is as new."""
    damaged = replace(NONE, loss=float(np.log(2.0)))
    first, second = StageWear(1, NONE, damaged, 0.5, 0.6), StageWear(2, NONE, NONE, 0.5, 0.4)
    groups = lives(first, second, limits=EndOfLife(product_salt=1.4))
    assert groups[1].due.quantile(0.9) == 0.0
    assert groups[2].due.quantile(0.1) == MOST_YEARS


def test_two_stages_wear_the_train_out_together() -> None:
    """Each adds exp(0.1 t) - 1 of its half: together 1.5 is reached after ln(1.5)/0.1 = 4.05 years."""
    first, second = (StageWear(n, NONE, replace(CERTAIN, rate=0.10 + 0.0001 * n), 0.5, 0.5) for n in (1, 2))
    groups = lives(first, second, limits=EndOfLife(product_salt=1.5))
    assert groups[2].due.quantile(0.5) == pytest.approx(4.05, abs=STEP_YEARS)
    assert groups[1].due.quantile(0.5) == pytest.approx(np.log(2.0) / 0.1, abs=STEP_YEARS)  # alone: half of it doubled


def test_the_pump_looks_at_the_flow_of_the_train() -> None:
    """The stage with 60 % of the flow loses 10 % a year; 80 % of the train's flow: 0.6 (1 - exp(-0.1 t)) = 0.2: 4.05
    years."""
    groups = lives(
        StageWear(1, CERTAIN, NONE, 0.5, 0.6), StageWear(2, NONE, NONE, 0.5, 0.4),
        limits=EndOfLife(pump_flow=0.8, permeability=0.2),
    )  # fmt: skip
    assert groups[1].due.quantile(0.5) == pytest.approx(4.05 - 0.02, abs=STEP_YEARS)


def test_chlorine_is_borne_until_it_is_used_up() -> None:
    """300 of 500 mg h/L are spent; 40 a year more: 5 years, less than the wear takes."""
    exposure = Exposure(300.0, 500.0, 40.0, rate_spread=0.0)
    (group,) = train_lives(
        (StageWear(1, NONE, NONE, 1.0, 1.0),), EndOfLife(exposure=exposure), rng=rng(), linear_share=0.0, draws=50
    )
    assert group.due.quantile(0.5) == pytest.approx(5.0)
    assert group.next_life.quantile(0.5) == pytest.approx(12.5)
    spent = replace(exposure, spent=600.0, rate=0.0)
    (group,) = train_lives(
        (StageWear(1, NONE, NONE, 1.0, 1.0),), EndOfLife(exposure=spent), rng=rng(), linear_share=0.0, draws=50
    )
    assert group.due.quantile(0.5) == 0.0


def test_the_chance_to_leave_the_warranty() -> None:
    stage = StageWear(1, CERTAIN, NONE, 1.0, 1.0)
    assert lives(stage, limits=EndOfLife(), warranty=3.0)[1].warranty == 0.0
    assert lives(stage, limits=EndOfLife(), warranty=4.0)[1].warranty == 1.0
    assert lives(stage, limits=EndOfLife(), warranty=None)[1].warranty is None


def test_a_life_is_a_range_and_the_same_for_the_same_seed() -> None:
    stage = StageWear(1, replace(CERTAIN, rate_error=0.03, roughness=0.02), NONE, 1.0, 1.0)
    one, other = (lives(stage, limits=EndOfLife())[1] for _ in range(2))
    assert one == other
    assert one.due.quantile(0.1) < one.due.quantile(0.5) < one.due.quantile(0.9)


def test_half_of_the_futures_lose_the_same_amount_every_year() -> None:
    """70 % of the flow at 10 % a year: after 3.0 years by amount, 3.57 by share; salt 1.5 times: 5.0 and 4.05 years."""
    for linear, flow, salt in ((1.0, 3.0, 5.0), (0.0, 3.57, 4.05)):
        (by_flow,) = train_lives(
            (StageWear(1, CERTAIN, NONE, 1.0, 1.0),), EndOfLife(), rng=rng(), draws=100, linear_share=linear
        )
        assert by_flow.due.quantile(0.5) == pytest.approx(flow, abs=STEP_YEARS)
        limits = EndOfLife(product_salt=1.5, permeability=0.2)
        (by_salt,) = train_lives(
            (StageWear(1, NONE, CERTAIN, 1.0, 1.0),), limits, rng=rng(), draws=100, linear_share=linear
        )
        assert by_salt.due.quantile(0.5) == pytest.approx(salt, abs=STEP_YEARS)


def test_a_rate_belongs_to_the_middle_of_what_was_lost() -> None:
    """A fifth is lost as a logarithm, at 10 % a year of the middle, e^-0.1 = 0.905 of the reference: 0.0905 a year, so
    from 0.819 to 0.70 in 1.31 years by the same amount; salt by 0.1105 a year from 1.221 to 1.5 in 2.52. By hand."""
    worn = replace(CERTAIN, loss=0.2)
    by_flow, by_salt = (
        train_lives((StageWear(1, flow, salt, 1.0, 1.0),), limits, rng=rng(), draws=2000, linear_share=1.0)[0].due
        for flow, salt, limits in (
            (worn, NONE, EndOfLife()),
            (NONE, worn, EndOfLife(product_salt=1.5, permeability=0.2)),
        )
    )
    assert np.mean(by_flow.years) == pytest.approx(1.31, abs=STEP_YEARS / 2)
    assert np.mean(by_salt.years) == pytest.approx(2.52, abs=STEP_YEARS / 2)
