"""The simulation of budgets against cases that can be reckoned exactly."""

import numpy as np
import pytest
from scipy import stats

from analytics.decisions.budget import COMPONENTS, Renewal, TrainPlan, even_periods, simulate_budget
from analytics.decisions.life_table import MOST_YEARS, LifeTable

YEARS = even_periods(range(1, 11))
SET = {"elements": 36 * 600.0, "labour": 500.0}
STEADY = dict.fromkeys(COMPONENTS, 0.0)


def always(years: float) -> LifeTable:
    return LifeTable((years,) * 200)


def plan(due: LifeTable, after: LifeTable, *, number: int = 1, site: int = 1, **other: float) -> TrainPlan:
    return TrainPlan(
        number, site, (Renewal(1, due, after, SET),), other.get("accidents", 0.0), {"energy": 1000.0},
        STEADY | {"elements": other.get("rise", 0.0)}, rate=other.get("rate", 1.0),
    )  # fmt: skip


def rng() -> np.random.Generator:
    return np.random.default_rng(20261125)


def test_a_life_without_any_doubt_is_reckoned_exactly() -> None:
    """Due after 2.5 years and every 4 after that: years 3, 7; ten years hold no third one (10.5)."""
    budget = simulate_budget([plan(always(2.5), always(4.0))], YEARS, rng=rng(), price_spread=0.0)
    elements = budget.trains[0].expected["elements"]
    assert np.flatnonzero(elements).tolist() == [2, 6]
    assert elements[[2, 6]].tolist() == [21600.0, 21600.0]
    assert budget.trains[0].replaced[1].sum() == 2.0
    spread = budget.trains[0].spread
    assert spread.low_total == spread.high_total == pytest.approx(2 * 22100.0)
    assert spread.low[2] == spread.high[2] == pytest.approx(22100.0)
    assert spread.high[0] == 0.0


def test_a_day_belongs_to_the_period_that_it_begins_in() -> None:
    """Half a day before the end of the third year and half a day after it: years 3 and 4."""
    for years, period in ((3.0 - 0.5 / 365.25, 2), (3.0 + 0.5 / 365.25, 3)):
        budget = simulate_budget([plan(always(years), always(40.0))], YEARS, rng=rng(), price_spread=0.0)
        assert np.flatnonzero(budget.trains[0].expected["elements"]).tolist() == [period]


def test_prices_rise_with_the_middle_of_the_period() -> None:
    budget = simulate_budget([plan(always(2.5), always(40.0), rise=0.10)], YEARS, rng=rng(), price_spread=0.0)
    assert budget.trains[0].expected["elements"][2] == pytest.approx(21600.0 * 1.1**2.5)
    assert budget.trains[0].expected["labour"][2] == 500.0


def test_renewals_of_an_exponential_life_come_at_an_even_rate() -> None:
    """Exact: a renewal process with exponential lives is a Poisson process; mean and quantiles of the count are known.

    Lives are kept as 200 equally likely ones, whose mean is 0.5 % short of the exponential's 4 years.
    """
    table = LifeTable.of(stats.expon(scale=4.0).ppf((np.arange(20000) + 0.5) / 20000))
    budget = simulate_budget([plan(table, table)], YEARS, rng=rng(), draws=20_000, price_spread=0.0)
    assert budget.trains[0].replaced[1] == pytest.approx(np.full(10, 0.25), rel=0.04)
    count = stats.poisson(10 / 4.0)
    spread = budget.trains[0].spread
    assert [round(v / 22100) for v in (spread.low_total, spread.high_total)] == [count.ppf(0.1), count.ppf(0.9)]


def test_the_price_of_elements_spreads_as_it_was_told() -> None:
    """One certain replacement: low and high are the quantiles of the lognormal price."""
    budget = simulate_budget([plan(always(0.5), always(40.0))], YEARS, rng=rng(), draws=40_000, price_spread=0.20)
    price = stats.lognorm(0.20, scale=np.exp(-0.02))
    spread = budget.trains[0].spread
    assert spread.low_total / 22100 == pytest.approx(price.ppf(0.1), rel=0.01)
    assert spread.high_total / 22100 == pytest.approx(price.ppf(0.9), rel=0.01)
    assert budget.trains[0].expected["elements"].sum() == 21600.0


def test_accidents_cost_their_rate_times_a_set() -> None:
    never = always(MOST_YEARS)
    budget = simulate_budget([plan(never, never, accidents=0.05)], YEARS, rng=rng(), draws=20_000, price_spread=0.0)
    assert budget.trains[0].expected["accident reserve"] == pytest.approx(np.full(10, 0.05 * 22100))
    count = stats.poisson(0.5)  # accidents in ten years
    assert [round(v / 22100) for v in (budget.spread.low_total, budget.spread.high_total)] == [
        count.ppf(0.1), count.ppf(0.9),
    ]  # fmt: skip


def test_running_costs_are_apart_from_the_spread() -> None:
    never = always(MOST_YEARS)
    budget = simulate_budget([plan(never, never)], YEARS, rng=rng())
    assert budget.trains[0].expected["energy"] == pytest.approx(np.full(10, 1000.0))
    assert budget.spread.high_total == 0.0


def test_sites_add_up_in_the_reporting_currency() -> None:
    plans = [
        plan(always(0.5), always(40.0), number=1, site=1),
        plan(always(0.5), always(40.0), number=2, site=1),
        plan(always(1.5), always(40.0), number=3, site=2, rate=0.05),
    ]
    budget = simulate_budget(plans, YEARS, rng=rng(), price_spread=0.0)
    assert [site.site_id for site in budget.sites] == [1, 2]
    assert [site.spread.high_total for site in budget.sites] == pytest.approx([2 * 22100, 22100])
    assert budget.spread.high_total == pytest.approx(2 * 22100 + 0.05 * 22100)


def test_a_train_has_the_same_futures_alone_and_in_a_fleet() -> None:
    table = LifeTable.of(np.random.default_rng(1).lognormal(1.2, 0.5, 2000))
    plans = [plan(table, table, number=n, site=n) for n in (1, 2, 3)]

    def own(number: int) -> np.random.Generator:
        return np.random.default_rng([8, number])

    fleet = simulate_budget(plans, YEARS, rng=rng(), by_train=own)
    alone = simulate_budget(plans[2:], YEARS, rng=rng(), by_train=own)
    assert alone.trains[0].expected["elements"].tolist() == fleet.trains[2].expected["elements"].tolist()
    assert alone.trains[0].spread.high.tolist() == fleet.trains[2].spread.high.tolist()


def test_spans_put_quarters_together() -> None:
    quarters = np.linspace(0.0, 2.0, 9)
    budget = simulate_budget(
        [plan(always(0.1), always(1.0))], quarters, rng=rng(), price_spread=0.0, spans=[(0, 4), (4, 8), (0, 8)]
    )
    assert budget.spread.high == pytest.approx([22100, 22100, 44200])


def test_the_same_seed_gives_the_same_budget() -> None:
    table = LifeTable.of(np.random.default_rng(1).lognormal(1.2, 0.5, 2000))
    one, other = (simulate_budget([plan(table, table)], YEARS, rng=rng()) for _ in range(2))
    assert one.spread.high.tolist() == other.spread.high.tolist()
