"""What cleanings cost and give back by their records: by hand, and with random cleanings whose share is known."""

import math
from datetime import timedelta

import numpy as np
import pytest

from analytics.decisions.cleaning_effect import CleaningResult, IndicatorEffect, Level
from analytics.decisions.cleaning_experience import Spent, cost_per_element, expected_share
from analytics.decisions.cleaning_history import CleaningDays, JudgedCleaning
from analytics.decisions.wear import FLOW_GIVEN_BACK, NOTHING_GIVEN_BACK, GivenBack
from tests.analytics.decisions.test_cleaning_history import START, day


def cleaned(
    *levels: tuple[float, float], error: float = 0.0, scope: str = "stage1", stage: int | None = 1,
    name: str = "permeate_flow",
) -> list[JudgedCleaning]:  # fmt: skip
    """Cleanings every 100 days, each with the levels before and after it."""
    found = []
    for n, (before, after) in enumerate(levels, start=1):
        effect = IndicatorEffect(
            scope, name, Level(before, error, 30), Level(after, error, 30), None, math.nan, 1.0, None
        )
        days = CleaningDays(day(100 * n), day(100 * n), stage)
        found.append(JudgedCleaning(days, CleaningResult("worked", None, (effect,)), None))
    return found


def test_cost_per_element_by_hand() -> None:
    # By hand: 36 elements: (365 + 15 * 30 + 20 * 0.1) / 36 = 22.69; (90 + 6 * 30) / 36 = 7.5; mean 15.10, error 7.60.
    spent = [Spent(36, 365.0, 15.0, None, 20.0), Spent(36, 90.0, 6.0), Spent(36, 100.0)]
    found = cost_per_element(spent, labour_rate=30.0, energy_price=0.1)
    assert found is not None and (found.records, found.left_out) == (2, 1)
    assert found.value == pytest.approx(15.10, abs=0.01) and found.error == pytest.approx(7.60, abs=0.01)


def test_cost_is_unknown_without_the_rate_or_a_full_record() -> None:
    assert cost_per_element([Spent(36, 365.0, 15.0)], labour_rate=None) is None
    assert cost_per_element([Spent(36, 365.0), Spent(36, labour_hours=4.0)], labour_rate=30.0) is None
    assert cost_per_element([], labour_rate=30.0) is None
    one = cost_per_element([Spent(36, 360.0, 0.0)], labour_rate=30.0)
    assert one is not None and one.value == 10.0 and math.isnan(one.error)


def test_a_run_is_held_against_where_it_began_by_hand() -> None:
    # By hand, variance of the trade 0.15^2 = 0.0225, half 0.01125 each. First run 1.00 to 0.88, back to 0.98: 0.8333;
    # second run 0.98 to 0.90, back to 0.94: 0.5. Errors nothing but that of the reference, 0.003: 0.0208 of the first.
    # Weights 1/0.01125 = 88.89, 1/(0.01125 + 0.000434) = 85.59 and 88.89: mean (71.11 + 71.32 + 44.44) / 263.37.
    found = expected_share(cleaned((0.88, 0.98), (0.90, 0.94)), stage=1, name="permeate_flow", trade=FLOW_GIVEN_BACK)
    assert found.cleanings == 2 and found.given_back.share == pytest.approx(0.7096, abs=0.001)
    assert found.given_back.error == pytest.approx(math.sqrt(1 / 263.37 + 0.01125), abs=0.0005)


def test_a_rising_indicator_counts_the_same() -> None:
    falls = expected_share(cleaned((0.88, 0.98)), stage=1, name="permeate_flow", trade=FLOW_GIVEN_BACK)
    rises = expected_share(
        cleaned((1.12, 1.02), name="pressure_drop"), stage=1, name="pressure_drop", trade=FLOW_GIVEN_BACK
    )
    assert rises.given_back.share == pytest.approx(falls.given_back.share)


@pytest.mark.parametrize(
    "given",
    [
        [],
        cleaned((0.99, 1.0)),
        cleaned((0.88, 0.98), stage=2, scope="train"),
        cleaned((0.88, 0.98), name="salt_passage"),
    ],
)
def test_the_trade_stands_where_the_records_say_nothing(given: list[JudgedCleaning]) -> None:
    found = expected_share(given, stage=1, name="permeate_flow", trade=FLOW_GIVEN_BACK)
    assert found.given_back == FLOW_GIVEN_BACK and found.cleanings == 0


def test_what_was_cleaned_before_the_elements_came_says_nothing() -> None:
    row = cleaned((0.88, 0.98), (0.90, 0.94))
    since = row[0].days.first + timedelta(days=1)
    found = expected_share(row, stage=1, name="permeate_flow", trade=FLOW_GIVEN_BACK, since=since)
    assert found.cleanings == 1 and since > START


def test_damage_gives_nothing_back_whatever_was() -> None:
    found = expected_share(cleaned((0.88, 0.98)), stage=1, name="permeate_flow", trade=NOTHING_GIVEN_BACK)
    assert found.given_back == NOTHING_GIVEN_BACK


def test_random_trains_lie_where_they_are_expected() -> None:
    # Simulated truth: shares of trains and of their cleanings drawn as the docstring says; the next one lies within
    # the interval of 90 in 100 about as often. Bars: 4 binomial errors.
    rng = np.random.default_rng(20261128)
    trade, inside, trains = GivenBack(0.6, 0.15), 0, 600
    half = trade.error / math.sqrt(2)
    for _ in range(trains):
        own = rng.normal(trade.share, half)
        shares = rng.normal(own, half, size=5)
        levels, began = [], 1.0
        for share in shares[:4]:
            before = began - 0.12
            began = before + 0.12 * share
            levels.append((before, began))
        found = expected_share(cleaned(*levels), stage=1, name="permeate_flow", trade=trade).given_back
        inside += abs(shares[4] - found.share) <= 1.645 * found.error
    assert abs(inside / trains - 0.90) < 4 * math.sqrt(0.09 / trains)
