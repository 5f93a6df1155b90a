"""Prices of ways, by hand."""

from dataclasses import replace

import pytest

from analytics.decisions.strategies import Course, Strategy
from analytics.decisions.strategy_prices import StrategyPrices, priced

PRICES = StrategyPrices(
    {"elements": 600.0, "labour": 20.0}, 20.0, 500.0, 24.0, 900.0, 0.10, 0.05,
    {"goods": 0.0, "work": 0.0, "energy": 0.0}, 0.0,
)  # fmt: skip


def test_prices_and_the_order_of_ways() -> None:
    """Two certain courses by hand: 36 elements at 620, a standstill of 500, two cleanings of 900, energy and feed."""

    def course(name: str, renewed: int, *, kept: bool = True) -> Course:
        way = Strategy(name, name, "", ("all",))
        return Course(
            way, (renewed, 0), (0, 0), (2.0, 2.0), (1000.0,) * 2, (100.0,) * 2, (11.0,) * 2, (1.0,) * 2, (kept,) * 2
        )

    cheap, dear, broken = priced([course("a", 36), course("b", 72), course("c", 0, kept=False)], PRICES)
    assert [one.course.strategy.name for one in (cheap, dear, broken)] == ["a", "b", "c"]
    assert cheap.by_year == (pytest.approx(36 * 620 + 500 + 1800 + 100 + 5), pytest.approx(1800 + 100 + 5))
    assert cheap.worth == pytest.approx(sum(cheap.by_year))
    assert cheap.standstill_hours == 24.0
    later = priced(
        [course("a", 36)], replace(PRICES, discount=0.10, rise={"goods": 0.10, "work": 0.10, "energy": 0.10})
    )
    assert later[0].worth == pytest.approx(cheap.worth)  # what rises as fast as money is discounted is worth the same
