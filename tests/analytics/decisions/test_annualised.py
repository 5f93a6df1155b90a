"""Closed forms against hand calculation and numpy-financial. Rows are those of the trade's check values: [CALC]
figures."""

from collections.abc import Iterator

import numpy as np
import numpy_financial as npf
import pandas as pd
import pytest

from analytics.decisions.annualised import (
    annualised_cost,
    cheapest_interval,
    excess_cost,
    flat_budget,
    present_value,
    share_after,
    yearly_rate,
    years_to_limit_compound,
    years_to_limit_linear,
)


@pytest.fixture(autouse=True)
def _let_finance_divide_by_zero() -> Iterator[None]:
    """numpy-financial works out both branches and takes one."""
    with np.errstate(all="ignore"):
        yield


def test_time_to_a_limit_compound_and_linear() -> None:
    """Salt passage 1.5 to 2.5 % at +10 % a year: ln(5/3)/ln(1.1) and (2/3)/0.1, by hand."""
    assert years_to_limit_compound(1.5, 2.5, 0.10) == pytest.approx(5.36, abs=0.01)
    assert years_to_limit_linear(1.5, 2.5, 0.10) == pytest.approx(6.67, abs=0.01)


def test_compound_time_is_the_number_of_periods_of_finance() -> None:
    for now, limit, rate in ((1.5, 2.5, 0.1), (1.0, 0.7, -0.07), (3.0, 9.0, 0.02)):
        assert years_to_limit_compound(now, limit, rate) == pytest.approx(
            float(npf.nper(rate, 0, -now, limit)), rel=1e-12
        )


def test_a_limit_that_is_met_is_due_now_and_one_that_moves_away_never() -> None:
    assert years_to_limit_compound(2.5, 2.5, 0.1) == 0.0
    assert years_to_limit_linear(2.5, 2.5, 0.1) == 0.0
    for formula in (years_to_limit_compound, years_to_limit_linear):
        assert np.isnan(formula(1.0, 0.7, 0.05))
        assert np.isnan(formula(1.0, 0.7, 0.0))
        assert np.isnan(formula(np.nan, 0.7, -0.05))


def test_rates_of_a_warranty() -> None:
    """70 % of the flow and twice the salt passage after three years: published warranty text; the rates by hand."""
    assert yearly_rate(0.70, 3) == pytest.approx(-0.112, abs=0.001)
    assert yearly_rate(2.0, 3) == pytest.approx(0.260, abs=0.001)
    assert yearly_rate(0.70, 3) == pytest.approx(float(npf.rate(3, 0, -1.0, 0.70)), abs=1e-9)


def test_what_is_left_after_some_years() -> None:
    """7 % a year: 0.93 to the 3rd and 5th power."""
    assert share_after(-0.07, 3) == pytest.approx(0.804, abs=0.001)
    assert share_after(-0.07, 5) == pytest.approx(0.696, abs=0.001)


def test_the_flat_method() -> None:
    assert flat_budget(36, 600, 5) == 4320.0
    assert np.isnan(flat_budget(36, 600, 0))


@pytest.mark.parametrize("rate", [0.0, 0.03, 0.06, 0.25, -0.02])
@pytest.mark.parametrize("years", [1, 5, 10])
def test_worth_and_even_payment_are_those_of_finance(rate: float, years: int) -> None:
    assert present_value(1000.0, rate, years) == pytest.approx(float(npf.pv(rate, years, 0, -1000.0)), rel=1e-12)
    assert annualised_cost(21600.0, rate, years) == pytest.approx(float(npf.pmt(rate, years, -21600.0)), rel=1e-10)


def test_even_payments_are_worth_what_they_replace() -> None:
    payment = annualised_cost(21600.0, 0.06, 5)
    assert sum(present_value(payment, 0.06, year) for year in range(1, 6)) == pytest.approx(21600.0, rel=1e-12)


def test_the_cheapest_interval() -> None:
    """A field of solar modules, 360 a clean, 1 % of 13 200 a year lost more every year: 2.3 years published (2.34 by
    the formula). A train of reverse osmosis, 900 a cleaning, 0.02458 a day and day: 270.6 days; 6.65 and 11.11 a day
    by hand."""
    assert cheapest_interval(360.0, 132.0) == pytest.approx(2.34, abs=0.05)
    assert cheapest_interval(900.0, 0.02458) == pytest.approx(270.6, abs=0.5)
    assert excess_cost(270.6, 900.0, 0.02458) == pytest.approx(6.65, abs=0.01)
    assert excess_cost(90.0, 900.0, 0.02458) == pytest.approx(11.11, abs=0.01)
    around = [excess_cost(days, 900.0, 0.02458) for days in (250.0, 270.6, 290.0)]
    assert around[1] == min(around)


def test_formulas_keep_what_they_are_given() -> None:
    index = pd.Index([3, 5])
    left = share_after(pd.Series([-0.07, -0.07], index=index), pd.Series([3.0, 5.0], index=index))
    assert left.index.equals(index)
    assert np.allclose(flat_budget(np.array([36, 72]), 600, 5), [4320, 8640])
