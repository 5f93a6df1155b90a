"""The same ways where elements age slowly, as is likely, and fast: what each costs, low to high, and whether it keeps
the contract in all of them."""

from collections.abc import Sequence
from dataclasses import dataclass

from analytics.decisions.life import LEAST_RATE
from analytics.decisions.strategies import STRATEGIES, Ageing, Strategy, Terms
from analytics.decisions.strategy_play import play
from analytics.decisions.strategy_prices import StrategyCost, StrategyPrices, priced
from analytics.decisions.train_model import TrainModel
from analytics.decisions.wear import Wear

EIGHT_IN_TEN = 1.2816
"""Standard errors on either side of a normal value that hold it 8 times in 10."""
SLOW, LIKELY, FAST = -EIGHT_IN_TEN, 0.0, EIGHT_IN_TEN


@dataclass(frozen=True)
class StageAges:
    """How one stage ages, as far as it is known, and where in its vessels the loss sits."""

    flow: Wear
    salt: Wear
    profile: str = "even"

    def at(self, errors: float) -> Ageing:
        """Rates so many standard errors from the likely ones, and the losses of today that belong to them."""
        (flow, flow_rate), (salt, salt_rate) = (_shifted(wear, errors) for wear in (self.flow, self.salt))
        return Ageing(flow, salt, flow_rate, salt_rate, self.profile)


@dataclass(frozen=True)
class RangedCost:
    """One way with slow, likely and fast ageing; its worth may be least with any of them. [money]"""

    slow: StrategyCost
    likely: StrategyCost
    fast: StrategyCost

    @property
    def low(self) -> float:
        return min(self.slow.worth, self.likely.worth, self.fast.worth)

    @property
    def high(self) -> float:
        return max(self.slow.worth, self.likely.worth, self.fast.worth)

    @property
    def surely_keeps_contract(self) -> bool:
        """Also with fast ageing."""
        return all(one.course.keeps_contract for one in (self.slow, self.likely, self.fast))


@dataclass(frozen=True)
class LikeCosts:
    """A way, and those that come to the same in every year, with slow, likely and fast ageing."""

    cost: RangedCost
    others: tuple[RangedCost, ...]

    @property
    def idle(self) -> bool:
        """Whether nothing is renewed or moved, however fast elements age."""
        courses = (self.cost.slow.course, self.cost.likely.course, self.cost.fast.course)
        return not any(sum(one.renewed) or sum(one.moved) for one in courses)


def like_costs(costs: Sequence[RangedCost], first: str = "whole") -> tuple[LikeCosts, ...]:
    """Put ways together that come to the same: elements, standstill, cleanings and whole money, year by year.

    Parameters
    ----------
    costs : sequence of RangedCost
        In their order, which is kept.
    first : str
        Name of the way that stands for those that come to the same as it.
    """
    found: dict[object, list[RangedCost]] = {}
    for cost in costs:
        key = tuple(_taken(one) for one in (cost.slow, cost.likely, cost.fast))
        found.setdefault(key, []).append(cost)
    ordered = [sorted(alike, key=lambda one: one.likely.course.strategy.name != first) for alike in found.values()]
    return tuple(LikeCosts(alike[0], tuple(alike[1:])) for alike in ordered)


def _taken(cost: StrategyCost) -> object:
    course = cost.course
    return course.renewed, course.moved, course.cleanings, course.kept, tuple(round(one) for one in cost.by_year)


def ranged_costs(
    model: TrainModel,
    stages: Sequence[StageAges],
    terms: Terms,
    prices: StrategyPrices,
    strategies: Sequence[Strategy] = STRATEGIES,
) -> tuple[RangedCost, ...]:
    """Play and price every way three times; the cheapest that likely keeps the contract comes first.

    Parameters
    ----------
    model : TrainModel
    stages : sequence of StageAges
        In the order of the water.
    terms : Terms
    prices : StrategyPrices
    strategies : sequence of Strategy

    Returns
    -------
    tuple of RangedCost
        Those that break the contract last, each group by its likely worth.

    Notes
    -----
    All stages age slowly together, or fast together: each rate at the tenth and at the ninetieth of a hundred, which is
    less likely of all at once, so that low and high hold rather more than 8 in 10. Prices are the same in all three.
    """
    slow, likely, fast = (
        priced(play(model, [stage.at(errors) for stage in stages], terms, strategies), prices)
        for errors in (SLOW, LIKELY, FAST)
    )
    by_name = [{one.course.strategy.name: one for one in costs} for costs in (slow, fast)]
    return tuple(
        RangedCost(by_name[0][one.course.strategy.name], one, by_name[1][one.course.strategy.name]) for one in likely
    )


def _shifted(wear: Wear, errors: float) -> tuple[float, float]:
    """Loss and rate so many errors of the rate away; the loss goes with the rate as far as both are known together."""
    with_it = wear.covariance / wear.rate_error if wear.rate_error > 0 else 0.0
    return wear.loss + errors * with_it, max(wear.rate + errors * wear.rate_error, LEAST_RATE)
