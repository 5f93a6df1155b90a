"""The economic interval against published and hand-calculated values, and its numeric form against the closed one."""

import math

import numpy as np
import pytest

from analytics.decisions.cleaning_interval import (
    LONGEST_DAYS,
    CleaningPrice,
    FoulingCost,
    best_interval,
    energy_growth,
    fouling_cost,
    pressure_growth,
    square_root_interval,
)
from analytics.errors import InvalidSettings


def test_the_published_interval_of_solar_modules() -> None:
    # Published: 360 a cleaning, 13 200 a year, 1 % a year of soiling: 2.3 years; by hand sqrt(2 * 360 / 132) = 2.335.
    assert square_root_interval(360.0, 0.01 * 13_200.0) == pytest.approx(2.34, abs=0.05)


def test_the_worked_example_of_a_train_by_hand() -> None:
    # By hand: 20 m3/h * 0.01 bar/d / 36 / (0.70 * 0.93) * 24 h * 0.12 = 0.02458 a day, each day.
    rise = pressure_growth(
        net_driving_pressure_bar=9.0, flow_loss_per_day=0.10 / 90, pressure_drop_bar=0.0, drop_gain_per_day=0.0
    )
    growth = energy_growth(rise, feed_flow_m3h=20.0, efficiency=0.70 * 0.93, price_per_kwh=0.12)
    assert growth == pytest.approx(0.02458, abs=0.00001)
    found = best_interval(CleaningPrice(chemicals=900.0), FoulingCost(energy=growth, limit_days=90.0))
    assert found.closed_form_days == pytest.approx(270.6, abs=0.5)  # sqrt(2 * 900 / 0.02458)
    assert found.optimum_days == pytest.approx(found.closed_form_days, abs=0.25)  # the step of the curve
    assert found.optimum_cost == pytest.approx(6.65, abs=0.01)  # sqrt(2 * 900 * 0.02458)
    assert found.planned_days == 90.0 and found.bounded_by_limit
    assert found.planned_cost == pytest.approx(11.11, abs=0.01)  # 900 / 90 + 0.02458 * 90 / 2


def test_the_band_is_as_flat_as_the_formula_says() -> None:
    # By hand, cost over best at r times the best interval is (r + 1 / r) / 2 = 1.05: r = 1.05 +- sqrt(1.05^2 - 1).
    found = best_interval(CleaningPrice(labour=500.0), FoulingCost(energy=0.05))
    half = math.sqrt(1.05**2 - 1)
    assert found.flat_from_days == pytest.approx((1.05 - half) * found.closed_form_days, abs=0.5)
    assert found.flat_to_days == pytest.approx((1.05 + half) * found.closed_form_days, abs=0.5)


def test_half_of_the_gain_of_pressure_drop_comes_on_top() -> None:
    # By hand: 9 bar * 0.001 + 2 bar * 0.002 / 2 = 0.011 bar a day; gains of flow and losses of drop count nothing.
    given = {"net_driving_pressure_bar": 9.0, "pressure_drop_bar": 2.0}
    assert pressure_growth(**given, flow_loss_per_day=0.001, drop_gain_per_day=0.002) == pytest.approx(0.011)
    assert pressure_growth(**given, flow_loss_per_day=-0.001, drop_gain_per_day=-0.002) == 0.0


def test_an_accelerating_fouling_costs_what_its_integral_says() -> None:
    # Source: the integral of a (exp(g t) - 1) / g over 60 days, by the trapezoid rule.
    t = np.linspace(0.0, 60.0, 6001)
    by_rule = np.trapezoid(0.04 * np.expm1(0.02 * t) / 0.02, t)
    assert fouling_cost([60.0], FoulingCost(energy=0.04, growth=0.02))[0] == pytest.approx(by_rule, rel=1e-6)
    steady = fouling_cost([60.0], FoulingCost(energy=0.04))[0]
    assert steady == pytest.approx(0.04 * 60**2 / 2) and by_rule > steady


def test_lost_permeate_and_lateness_shorten_the_interval() -> None:
    price, energy = CleaningPrice(chemicals=900.0), 0.02458
    plain = best_interval(price, FoulingCost(energy))
    lost = best_interval(price, FoulingCost(energy, production=0.5, pump_limit_days=120.0))
    late = best_interval(price, FoulingCost(energy, late=40.0, limit_days=150.0))
    assert plain.optimum_days > lost.optimum_days > 120.0
    assert late.optimum_days == pytest.approx(150.0, abs=0.5) and math.isnan(late.closed_form_days)


def test_a_train_that_hardly_fouls_is_cleaned_at_the_end_of_the_curve_at_the_latest() -> None:
    found = best_interval(CleaningPrice(chemicals=900.0), FoulingCost(energy=0.0))
    assert found.optimum_days == LONGEST_DAYS and square_root_interval(900.0, 0.0) == math.inf


@pytest.mark.parametrize(
    ("price", "fouling"),
    [(CleaningPrice(), FoulingCost(0.1)), (CleaningPrice(labour=1.0), FoulingCost(-0.1))],
)
def test_prices_that_cannot_be_meant_are_refused(price: CleaningPrice, fouling: FoulingCost) -> None:
    with pytest.raises(InvalidSettings, match="prices"):
        best_interval(price, fouling)
    with pytest.raises(InvalidSettings, match="efficiency"):
        energy_growth(0.01, feed_flow_m3h=20, efficiency=65.0, price_per_kwh=0.1)
