"""Ways with slow, likely and fast ageing."""

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest

from analytics.decisions.strategies import STRATEGIES
from analytics.decisions.strategy_play import play
from analytics.decisions.strategy_prices import priced
from analytics.decisions.strategy_range import EIGHT_IN_TEN, RangedCost, StageAges, like_costs, ranged_costs
from analytics.decisions.wear import FLOW, SALT, Level, Wear, irreversible_trend
from tests.analytics.decisions.small_model import MODEL
from tests.analytics.decisions.test_strategy_play import TERMS
from tests.analytics.decisions.test_strategy_prices import PRICES

CHOSEN = [one for one in STRATEGIES if one.name in ("whole", "thirds", "pressure")]


def known(loss: float, rate: float, rate_error: float) -> Wear:
    return Wear(loss, 0.0, rate, rate_error, 0.0, 0.0, 3, 2.0, 0.3)


def test_what_is_known_exactly_has_no_range() -> None:
    stages = [StageAges(known(0.1, 0.08, 0.0), known(0.1, 0.05, 0.0))] * 2
    found = ranged_costs(MODEL, stages, TERMS, PRICES, CHOSEN)
    plain = priced(play(MODEL, [stage.at(0.0) for stage in stages], TERMS, CHOSEN), PRICES)
    assert [one.likely for one in found] == list(plain)
    assert all(one.low == pytest.approx(one.high) for one in found)


def test_slow_ageing_costs_less_and_fast_ageing_more() -> None:
    """A limit of 70 %: at 9 % a year from a loss of 0.15 it is passed in the third year; at 4 % not, at 14 % sooner."""
    stages = [StageAges(known(0.15, 0.09, 0.04), known(0.0, 0.0, 0.0))] * 2
    (whole,) = ranged_costs(MODEL, stages, TERMS, PRICES, CHOSEN[:1])
    assert [sum(one.course.renewed) for one in (whole.slow, whole.likely, whole.fast)] == [0, 36, 36]
    assert whole.slow.course.renewed[2] == 0 and whole.likely.course.renewed[2] == 36 and whole.fast.course.renewed[1]
    assert whole.low == whole.slow.worth < whole.likely.worth <= whole.high


def test_a_way_may_keep_the_contract_only_while_elements_do_not_age_fast() -> None:
    stages = [StageAges(known(0.0, 0.0, 0.0), known(0.0, 0.05, 0.06))] * 2
    terms = replace(TERMS, product_salt=1.05 * math.exp(0.05), years=1)
    (found,) = ranged_costs(MODEL, stages, terms, PRICES, [replace(CHOSEN[0], steps=())])
    assert found.likely.course.keeps_contract and not found.surely_keeps_contract


def test_the_loss_of_today_goes_with_the_rate() -> None:
    """By hand: of a joint normal distribution, one error of the rate moves the loss by covariance over that error."""
    wear = irreversible_trend([Level(0.0, 0.0, 0.015, False), Level(2.0, 0.15, 0.015, True)], FLOW, now_years=2.0)
    still = irreversible_trend((), SALT, now_years=0.0)
    fast, likely = (StageAges(wear, still).at(errors) for errors in (EIGHT_IN_TEN, 0.0))
    assert fast.flow_rate - likely.flow_rate == pytest.approx(EIGHT_IN_TEN * wear.rate_error)
    assert fast.flow_loss - likely.flow_loss == pytest.approx(EIGHT_IN_TEN * wear.covariance / wear.rate_error)


def names(costs: Sequence[RangedCost]) -> list[str]:
    return [one.likely.course.strategy.name for one in costs]


def test_ways_that_have_nothing_to_do_come_to_the_same() -> None:
    """Membranes that do not age: only more cleanings and less recovery change anything."""
    still = [StageAges(known(0.0, 0.0, 0.0), known(0.0, 0.0, 0.0))] * 2
    idle, *others = like_costs(ranged_costs(MODEL, still, TERMS, PRICES))
    assert idle.cost.likely.course.strategy.name == "whole" and idle.idle
    assert names(idle.others) == ["tail", "lead", "stage", "rotate", "thirds", "pressure"]
    assert sorted(names([one.cost for one in others])) == ["clean", "recovery"] and not any(o.others for o in others)


def test_ways_that_buy_the_same_in_the_same_years_come_to_the_same() -> None:
    """All elements equally far beyond the limit of flow: no end of a vessel is enough, nor is more pressure."""
    worn = [StageAges(known(0.5, 0.0, 0.0), known(0.0, 0.0, 0.0))] * 2
    chosen = [one for one in STRATEGIES if one.name in ("tail", "whole", "thirds", "pressure")]
    found = {
        like.cost.likely.course.strategy.name: like
        for like in like_costs(ranged_costs(MODEL, worn, TERMS, PRICES, chosen))
    }
    assert names(found["whole"].others) == ["tail", "pressure"]
    assert not found["whole"].idle


def test_ways_that_differ_where_elements_age_fast_are_told_apart() -> None:
    """5 % a year likely, 12.7 % fast: in two years beyond 1.25 only then, by so little that a new tail is enough."""
    stages = [StageAges(known(0.0, 0.0, 0.0), known(0.0, 0.05, 0.06))] * 2
    terms = replace(TERMS, product_salt=1.25, years=2)
    chosen = [one for one in STRATEGIES if one.name in ("tail", "whole")]
    costs = ranged_costs(MODEL, stages, terms, PRICES, chosen)
    assert costs[0].likely.by_year == pytest.approx(costs[1].likely.by_year)
    assert [like.others for like in like_costs(costs)] == [(), ()]
