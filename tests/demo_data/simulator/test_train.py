"""A whole train: balances, set-points, boosters, and another element model's published case."""

import numpy as np
import pytest

from demo_data.simulator.design import NOMINAL_FLOW_M3H, Design, Element, Stage
from demo_data.simulator.train import Age, Inlet, NoSolution, new_membranes, run_at_permeate_flow, run_at_pressure

TWO_STAGES = Design((Stage(4, 6), Stage(2, 6)))
READINGS = 40


def inlet(readings: int = READINGS, *, flow: float = 40.0) -> Inlet:
    """Feed that differs from reading to reading."""
    rng = np.random.default_rng(3)
    return Inlet(
        np.full(readings, flow) * rng.uniform(0.9, 1.1, readings),
        rng.uniform(600.0, 3500.0, readings),
        rng.uniform(4.0, 32.0, readings),
        rng.uniform(0.0, 1.5, readings),
    )


def test_flows_and_salt_balance_over_the_train() -> None:
    feed = inlet()
    wanted = feed.feed_flow_m3h * np.linspace(0.5, 0.85, READINGS)
    run = run_at_permeate_flow(TWO_STAGES, new_membranes(TWO_STAGES, READINGS), feed, wanted)
    last = run.stages[-1]
    np.testing.assert_allclose(run.permeate_flow_m3h + last.concentrate_flow_m3h, feed.feed_flow_m3h, rtol=1e-13)
    salt = run.permeate_flow_m3h * run.permeate_tds_mg_l + last.concentrate_flow_m3h * last.concentrate_tds_mg_l
    np.testing.assert_allclose(salt, feed.feed_flow_m3h * feed.feed_tds_mg_l, rtol=1e-13)


@pytest.mark.parametrize("recovery", [0.001, 0.3, 0.75, 0.88])
def test_the_wanted_permeate_is_made(recovery: float) -> None:
    feed = inlet()
    wanted = feed.feed_flow_m3h * recovery
    run = run_at_permeate_flow(TWO_STAGES, new_membranes(TWO_STAGES, READINGS), feed, wanted)
    np.testing.assert_allclose(run.permeate_flow_m3h, wanted, rtol=1e-9)


def test_pressure_of_the_solution_is_the_pressure_of_the_run() -> None:
    feed = inlet()
    ages = new_membranes(TWO_STAGES, READINGS)
    solved = run_at_permeate_flow(TWO_STAGES, ages, feed, 0.75 * feed.feed_flow_m3h)
    again = run_at_pressure(TWO_STAGES, ages, feed, solved.feed_pressure_bar)
    np.testing.assert_allclose(again.permeate_flow_m3h, 0.75 * feed.feed_flow_m3h, rtol=1e-8)


def test_readings_do_not_touch_each_other() -> None:
    feed = inlet()
    wanted = 0.7 * feed.feed_flow_m3h
    together = run_at_permeate_flow(TWO_STAGES, new_membranes(TWO_STAGES, READINGS), feed, wanted)
    last = slice(READINGS - 1, READINGS)
    alone = run_at_permeate_flow(
        TWO_STAGES,
        new_membranes(TWO_STAGES, 1),
        Inlet(
            feed.feed_flow_m3h[last],
            feed.feed_tds_mg_l[last],
            feed.temperature_c[last],
            feed.permeate_pressure_bar[last],
        ),
        wanted[last],
    )
    assert alone.feed_pressure_bar[0] == pytest.approx(together.feed_pressure_bar[-1], rel=1e-8)


def test_no_pressure_makes_more_permeate_than_feed() -> None:
    feed = inlet(1)
    with pytest.raises(NoSolution, match="no feed pressure"):
        run_at_permeate_flow(TWO_STAGES, new_membranes(TWO_STAGES, 1), feed, 1.01 * feed.feed_flow_m3h)


def test_booster_lifts_only_its_stage() -> None:
    plain = Design((Stage(4, 6), Stage(2, 6)))
    boosted = Design((Stage(4, 6), Stage(2, 6, booster_bar=4.0)))
    feed = inlet()
    pressure = np.full(READINGS, 14.0)
    before = run_at_pressure(plain, new_membranes(plain, READINGS), feed, pressure)
    after = run_at_pressure(boosted, new_membranes(boosted, READINGS), feed, pressure)
    np.testing.assert_array_equal(after.stages[0].permeate_flow_m3h, before.stages[0].permeate_flow_m3h)
    np.testing.assert_allclose(after.stages[1].feed_pressure_bar - before.stages[1].feed_pressure_bar, 4.0)
    assert np.all(after.stages[1].permeate_flow_m3h > before.stages[1].permeate_flow_m3h)


def test_permeate_throttle_of_stage_1_moves_flow_to_stage_2() -> None:
    throttled = Design((Stage(4, 6, permeate_throttle_bar=2.0), Stage(2, 6)))
    feed = inlet()
    wanted = 0.75 * feed.feed_flow_m3h
    before = run_at_permeate_flow(TWO_STAGES, new_membranes(TWO_STAGES, READINGS), feed, wanted)
    after = run_at_permeate_flow(throttled, new_membranes(throttled, READINGS), feed, wanted)
    assert np.all(after.stages[0].permeate_flow_m3h < before.stages[0].permeate_flow_m3h)
    assert np.all(after.feed_pressure_bar > before.feed_pressure_bar)


def test_a_fouled_first_stage_raises_the_raw_pressure_drop_of_a_clean_second() -> None:
    # The usual trap: stage 1 makes less, stage 2 gets more feed.
    feed = inlet()
    clean = new_membranes(TWO_STAGES, READINGS)
    fouled = (Age(0.85 * clean[0].water, clean[0].salt, clean[0].friction), clean[1])
    wanted = 0.75 * feed.feed_flow_m3h
    before = run_at_permeate_flow(TWO_STAGES, clean, feed, wanted).stages[1]
    after = run_at_permeate_flow(TWO_STAGES, fouled, feed, wanted).stages[1]
    drop_before = before.feed_pressure_bar - before.concentrate_pressure_bar
    drop_after = after.feed_pressure_bar - after.concentrate_pressure_bar
    assert np.all(drop_after > 1.02 * drop_before)


def test_another_element_model_gives_the_same_train() -> None:
    """Arrangement 10:5 of 7 elements, 37.16 m2, A 3.28, B 0.186, drop 0.01 q^1.7 psi (q in gpm), two-slope 3020 K.

    The other model has handbook osmotic pressure, exp(0.7 Y) and no viscosity in its friction; its results, computed
    apart from this project's code: 25 degC feed 10.972 and concentrate 8.015 bar, permeate 43.605 mg/L; 15 degC
    13.321 and 10.147 bar, 29.537 mg/L; each with 100 and 75 m3/h, 2000 mg/L, back pressure 0.5 bar.
    """
    gpm = NOMINAL_FLOW_M3H / 0.2271247
    element = Element(
        area_m2=37.16,
        water_permeability_lmh_bar=3.28,
        salt_permeability_lmh=0.186,
        water_slope_k=3020.0,
        salt_slope_k=3020.0,
        friction_bar=0.01 * gpm**1.7 * 0.0689476,
        friction_exponent=1.7,
    )
    design = Design((Stage(10, 7, element), Stage(5, 7, element)))
    feed = Inlet(np.full(2, 100.0), np.full(2, 2000.0), np.array([25.0, 15.0]), np.full(2, 0.5))
    run = run_at_permeate_flow(design, new_membranes(design, 2), feed, np.full(2, 75.0))
    np.testing.assert_allclose(run.feed_pressure_bar, [10.972, 13.321], rtol=0.02)  # other osmotic law and film
    np.testing.assert_allclose(run.stages[-1].concentrate_pressure_bar, [8.015, 10.147], rtol=0.03)
    np.testing.assert_allclose(run.permeate_tds_mg_l, [43.605, 29.537], rtol=0.06)
