"""What the ways cost by year and are worth today."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analytics.decisions.annualised import present_value
from analytics.decisions.strategies import Course


@dataclass(frozen=True)
class StrategyPrices:
    """Prices of today and how they rise. [money, 1/a]

    `element` maps components to what each renewed element costs; `moved` is the work of moving one; `standstill` one
    day on which something is renewed or moved.
    """

    element: Mapping[str, float]
    moved: float
    standstill: float
    standstill_hours: float
    cleaning: float
    kwh: float
    feed_m3: float
    rise: Mapping[str, float]
    discount: float


@dataclass(frozen=True)
class StrategyCost:
    """One way in money: by year, and worth today. [money]"""

    course: Course
    by_year: tuple[float, ...]
    worth: float
    standstill_hours: float


def priced(courses: Sequence[Course], prices: StrategyPrices) -> tuple[StrategyCost, ...]:
    """Put prices to courses; the cheapest that keeps the contract comes first, those that break it last.

    Parameters
    ----------
    courses : sequence of Course
    prices : StrategyPrices
        `rise` maps "goods", "work" and "energy" to rates.

    Notes
    -----
    A year's costs fall in its middle, both for the rise of prices and for the worth of today.
    """
    found = []
    for course in courses:
        by_year = tuple(_year_cost(course, year, prices) for year in range(len(course.kept)))
        worth = sum(float(present_value(cost, prices.discount, year + 0.5)) for year, cost in enumerate(by_year))
        stops = sum(1 for renewed, moved in zip(course.renewed, course.moved, strict=True) if renewed or moved)
        found.append(StrategyCost(course, by_year, worth, stops * prices.standstill_hours))
    return tuple(sorted(found, key=lambda one: (not one.course.keeps_contract, one.worth)))


def _year_cost(course: Course, year: int, prices: StrategyPrices) -> float:
    def risen(kind: str) -> float:
        return float((1.0 + prices.rise[kind]) ** (year + 0.5))

    work = {"labour"}
    goods = sum(price for name, price in prices.element.items() if name not in work)
    labour = sum(price for name, price in prices.element.items() if name in work)
    stops = bool(course.renewed[year] or course.moved[year])
    return (
        course.renewed[year] * (goods * risen("goods") + labour * risen("work"))
        + course.moved[year] * prices.moved * risen("work")
        + stops * prices.standstill * risen("goods")
        + course.cleanings[year] * prices.cleaning * risen("work")
        + course.energy_kwh[year] * prices.kwh * risen("energy")
        + course.feed_m3[year] * prices.feed_m3 * risen("goods")
    )
