"""What replacements will cost, period by period: many possible futures of many trains, in one pass over the trains.

Money is in the currency of each train's site; sums over sites are in the reporting currency. Only one train, one site
and the whole are ever held in memory.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt

from analytics.decisions.life_table import LifeTable

Array = npt.NDArray[np.float64]
Places = npt.NDArray[np.int32]
Costs = npt.NDArray[np.float32]

LOW, HIGH = 0.10, 0.90
DAYS_PER_YEAR = 365
REPLACEMENT = ("elements", "labour", "seals", "freight", "tax", "disposal", "lost production")
RESERVE = "accident reserve"
RUNNING = ("cleaning", "energy")
COMPONENTS = (*REPLACEMENT, RESERVE, *RUNNING)


@dataclass(frozen=True)
class Renewal:
    """The elements of one stage: time to their end, life of those after them, and what one replacement costs today.

    `parts` maps components of `REPLACEMENT` to money.
    """

    stage: int
    due: LifeTable
    next_life: LifeTable
    parts: Mapping[str, float]


@dataclass(frozen=True)
class TrainPlan:
    """All that the budget needs of one train.

    Attributes
    ----------
    accident_rate : float
        How often a year the whole set is lost at once, such as by chlorine. [1/a]
    yearly : mapping
        Components of `RUNNING` -> cost of a year at today's prices. [money/a]
    escalation : mapping
        Component -> how its price rises. [1/a]
    rate : float
        What one unit of the site's currency is in the reporting currency. [-]
    """

    train_id: int
    site_id: int
    renewals: tuple[Renewal, ...]
    accident_rate: float
    yearly: Mapping[str, float]
    escalation: Mapping[str, float]
    rate: float = 1.0

    def risen(self, component: str, years: Array) -> Array:
        """How many times its price of today a component costs at some times. [-]"""
        return np.asarray((1.0 + self.escalation.get(component, 0.0)) ** years)


@dataclass(frozen=True)
class Spread:
    """Cost of replacements and accidents that one future in ten stays under, or goes beyond. [money]"""

    low: Array
    high: Array
    low_total: float
    high_total: float


@dataclass(frozen=True)
class TrainBudget:
    """One train: expected cost by component and period, spread, and expected replacements by stage. [money, -]"""

    train_id: int
    site_id: int
    expected: Mapping[str, Array]
    spread: Spread
    replaced: Mapping[int, Array]


@dataclass(frozen=True)
class SiteBudget:
    """One site, in its own currency."""

    site_id: int
    spread: Spread


@dataclass(frozen=True)
class Budget:
    """Every train, every site, and all together in the reporting currency.

    `edges` are the ends of the periods, the first one today. [a]
    """

    edges: Array
    trains: tuple[TrainBudget, ...]
    sites: tuple[SiteBudget, ...]
    spread: Spread


def simulate_budget(
    plans: Iterable[TrainPlan],
    edges: Array,
    *,
    rng: np.random.Generator,
    draws: int = 2000,
    price_spread: float = 0.10,
    spans: Sequence[tuple[int, int]] = (),
    by_train: Callable[[int], np.random.Generator] | None = None,
) -> Budget:
    """Play many futures of a fleet.

    Parameters
    ----------
    plans : iterable of TrainPlan
        Trains of one site one after the other.
    edges : array
        Ends of the periods in ascending order, beginning with 0, which is today. [a]
    rng : Generator
    draws : int
        Futures.
    price_spread : float
        Standard deviation of the logarithm of the price of elements and of all that goes with them; one price for the
        whole fleet in each future. [-]
    spans : sequence of (int, int), optional
        First period and the one after the last of each span over which low and high are reckoned, such as years made of
        quarters; every period by itself when left out. [-]
    by_train : callable, optional
        Number of a train -> generator of its own, so that it has the same futures whatever else is in the fleet.

    Returns
    -------
    Budget

    Notes
    -----
    In each future every stage is replaced when its drawn life ends, and again when those of its followers do.
    Accidents come as a Poisson process beside that and cost a whole set; that they also renew the elements is left
    out, so the reserve is on the safe side. Expected cost is the mean number of replacements times the price of the
    period's middle; it adds up over components, periods and trains. Low and high do not: not everything goes wrong at
    once.
    """
    prices = np.exp(price_spread * rng.standard_normal(draws))
    prices = (prices / prices.mean()).astype(np.float32)
    fleet = np.zeros((len(edges) - 1, draws), dtype=np.float32)
    calendar = _Calendar.of(edges, spans)
    trains: list[TrainBudget] = []
    sites: list[SiteBudget] = []
    for site_id, of_site in groupby(plans, key=lambda plan: plan.site_id):
        site, rate = np.zeros_like(fleet), 1.0
        for plan, (budget, cost) in _simulated(of_site, calendar, prices, by_train or (lambda _: rng)):
            trains.append(budget)
            site += cost
            rate = plan.rate
        sites.append(SiteBudget(site_id, _spread(site, calendar)))
        fleet += np.float32(rate) * site
    return Budget(edges, tuple(trains), tuple(sites), _spread(fleet, calendar))


@dataclass(frozen=True)
class _Calendar:
    """Which period each day is in, middles and lengths of the periods; the spans. [-, a, a, -]"""

    period_of_day: npt.NDArray[np.int32]
    middles: Array
    lengths: Array
    horizon: float
    spans: tuple[tuple[int, int], ...]

    @classmethod
    def of(cls, edges: Array, spans: Sequence[tuple[int, int]]) -> "_Calendar":
        days = np.arange(int(np.ceil(edges[-1] * DAYS_PER_YEAR)) + 1)
        periods = np.searchsorted(edges, (days + 0.5) / DAYS_PER_YEAR, side="right") - 1
        return cls(
            np.clip(periods, 0, len(edges) - 2).astype(np.int32),
            (edges[1:] + edges[:-1]) / 2,
            np.diff(edges),
            float(edges[-1]),
            tuple(spans) or tuple((n, n + 1) for n in range(len(edges) - 1)),
        )

    def period(self, years: Array | Costs) -> Places:
        return np.asarray(self.period_of_day[(years * DAYS_PER_YEAR).astype(np.int32)])


def _simulated(
    plans: Iterable[TrainPlan], calendar: _Calendar, prices: Costs, by_train: Callable[[int], np.random.Generator]
) -> Iterator[tuple[TrainPlan, tuple[TrainBudget, Costs]]]:
    for plan in plans:
        rng = by_train(plan.train_id)
        cost = np.zeros((len(calendar.middles), len(prices)), dtype=np.float32)
        replaced = {one.stage: _renew(one, plan, calendar, cost, rng) for one in plan.renewals}
        _lose_all(plan, calendar, cost, rng)
        cost *= prices
        budget = TrainBudget(
            plan.train_id, plan.site_id, _expected(plan, calendar, replaced), _spread(cost, calendar), replaced
        )
        yield plan, (budget, cost)


def _renew(renewal: Renewal, plan: TrainPlan, calendar: _Calendar, cost: Costs, rng: np.random.Generator) -> Array:
    """Add the replacements of one stage to the cost of each future; returns their mean number by period."""
    draws = cost.shape[1]
    amount = _one_change(renewal, plan, calendar).astype(np.float32)
    first, later = (np.asarray(t.years, dtype=np.float32) for t in (renewal.due, renewal.next_life))
    later = np.maximum(later, np.float32(1.0 / DAYS_PER_YEAR))
    flat = cost.reshape(-1)
    counts = np.zeros(len(calendar.middles))
    futures, ends = np.arange(draws, dtype=np.int32), first[_any_of(first, draws, rng)]
    while True:
        inside = np.flatnonzero(ends < calendar.horizon)
        futures, ends = futures[inside], ends[inside]
        if not len(futures):
            return np.asarray(counts / draws)
        periods = calendar.period(ends)
        flat[periods * draws + futures] += amount[periods]  # each future stands here once
        counts += np.bincount(periods, minlength=len(counts))
        ends = ends + later[_any_of(later, len(ends), rng)]


def _any_of(table: Costs, count: int, rng: np.random.Generator) -> npt.NDArray[np.uint8]:
    """Places in a table of at most 256 equally likely values."""
    return rng.integers(0, len(table), count, dtype=np.uint8)


def _one_change(renewal: Renewal, plan: TrainPlan, calendar: _Calendar) -> Array:
    """Cost of the elements of one stage in the middle of each period. [money]"""
    amount = np.zeros(len(calendar.middles))
    for name, price in renewal.parts.items():
        amount += price * plan.risen(name, calendar.middles)
    return amount


def _whole_set(plan: TrainPlan, calendar: _Calendar) -> Array:
    """Cost of a whole set in the middle of each period. [money]"""
    total = np.zeros(len(calendar.middles))
    for renewal in plan.renewals:
        total += _one_change(renewal, plan, calendar)
    return total


def _lose_all(plan: TrainPlan, calendar: _Calendar, cost: Costs, rng: np.random.Generator) -> None:
    """Add accidents to the cost of each future."""
    draws = cost.shape[1]
    count = rng.poisson(plan.accident_rate * calendar.horizon * draws)
    periods = calendar.period(rng.random(count) * calendar.horizon)
    amount = _whole_set(plan, calendar).astype(np.float32)
    np.add.at(cost, (periods, rng.integers(0, draws, count)), amount[periods])


def _expected(plan: TrainPlan, calendar: _Calendar, replaced: Mapping[int, Array]) -> dict[str, Array]:
    found = {name: np.zeros(len(calendar.middles)) for name in COMPONENTS}
    for renewal in plan.renewals:
        for name, price in renewal.parts.items():
            found[name] += replaced[renewal.stage] * price * plan.risen(name, calendar.middles)
    found[RESERVE] = plan.accident_rate * calendar.lengths * _whole_set(plan, calendar)
    for name, price in plan.yearly.items():
        found[name] = price * calendar.lengths * plan.risen(name, calendar.middles)
    return found


def _spread(cost: Costs, calendar: _Calendar) -> Spread:
    """Low and high by span and over all periods."""
    places = [int(share * (cost.shape[1] - 1)) for share in (LOW, HIGH)]
    single = all(end == first + 1 for first, end in calendar.spans)
    spans = cost if single else np.array([cost[first:end].sum(axis=0) for first, end in calendar.spans])
    by_period = np.sort(spans, axis=1)[:, places].astype(np.float64)  # a whole sort takes less time than partition
    total = np.sort(cost.sum(axis=0))[places]
    return Spread(by_period[:, 0], by_period[:, 1], float(total[0]), float(total[1]))


def even_periods(years: Sequence[float]) -> Array:
    """Ends of periods as an array beginning with 0. [a]

    Examples
    --------
    >>> even_periods([1, 2, 3])
    array([0., 1., 2., 3.])
    """
    return np.concatenate([[0.0], np.asarray(years, dtype=np.float64)])
