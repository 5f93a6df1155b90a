"""Quarters and years from the last reading on."""

from datetime import date

import pytest

from server.budget.periods import Periods


def test_the_first_period_is_what_is_left_of_the_quarter() -> None:
    periods = Periods.of(date(2026, 10, 31), 2)
    assert [(q.first, q.last) for q in periods.quarters[:2]] == [
        (date(2026, 10, 31), date(2026, 12, 31)), (date(2027, 1, 1), date(2027, 3, 31)),
    ]  # fmt: skip
    assert periods.years == (2026, 2027, 2028)
    assert len(periods.quarters) == 9
    assert periods.edges[1] == pytest.approx(62 / 365.25)
    assert periods.span(2027, 2027) == (1, 5)
    assert periods.day(periods.until(date(2027, 3, 31))) == date(2027, 4, 1)


def test_a_year_that_begins_today_is_whole() -> None:
    periods = Periods.of(date(2027, 1, 1), 1)
    assert [q.number for q in periods.quarters] == [1, 2, 3, 4, 1, 2, 3, 4]
