"""The irreversible trend: the filter against a least-squares solution of the same problem."""

import numpy as np
import pytest

from analytics.decisions.wear import (
    FLOW,
    REFERENCE_ERROR,
    Level,
    Renewal,
    irreversible_trend,
    next_set,
)


def test_without_history_the_trade_speaks() -> None:
    wear = irreversible_trend((), FLOW, now_years=0.0)
    assert (wear.rate, wear.rate_error, wear.from_trade, wear.levels) == (FLOW.rate, FLOW.spread, 1.0, 0)


def test_the_filter_is_the_least_squares_solution() -> None:
    """The same normal model written as one regression: steps of the wander are unknowns with their own weights."""
    levels = [Level(0.1, 0.01, 0.015, False), Level(0.9, 0.05, 0.02, True), Level(2.0, 0.12, 0.015, True)]
    wear = irreversible_trend(levels, FLOW, now_years=2.5)
    times = [0.1, 0.9, 2.0, 2.5]
    # unknowns: level at each time, rate
    rows, rights = [[1, 0, 0, 0, 0]], [0.0]
    weights = [1 / REFERENCE_ERROR]
    rows.append([0, 0, 0, 0, 1])
    rights.append(FLOW.rate)
    weights.append(1 / FLOW.spread)
    for n in range(3):
        step = [0.0] * 5
        step[n], step[n + 1], step[4] = -1.0, 1.0, -(times[n + 1] - times[n])
        rows.append(step)
        rights.append(0.0)
        weights.append(1 / (FLOW.roughness * np.sqrt(times[n + 1] - times[n])))
    for n, level in enumerate(levels):
        rows.append([float(n == m) for m in range(4)] + [0.0])
        rights.append(level.loss)
        weights.append(1 / level.error)
    matrix = np.array(rows) * np.array(weights)[:, None]
    covariance = np.linalg.inv(matrix.T @ matrix)
    answer = covariance @ matrix.T @ (np.array(rights) * np.array(weights))
    assert (wear.loss, wear.rate) == (pytest.approx(answer[3]), pytest.approx(answer[4]))
    assert wear.loss_error == pytest.approx(np.sqrt(covariance[3, 3]))
    assert wear.rate_error == pytest.approx(np.sqrt(covariance[4, 4]))
    assert wear.covariance == pytest.approx(covariance[3, 4])


def test_a_longer_history_takes_the_word_from_the_trade() -> None:
    def after(years: int) -> float:
        levels = [Level(float(n), 0.03 * n, 0.015, True) for n in range(years + 1)]
        return irreversible_trend(levels, FLOW, now_years=float(years)).from_trade

    shares = [after(years) for years in (1, 3, 8)]
    assert shares == sorted(shares, reverse=True)
    assert shares[-1] < 0.15


def test_the_next_set_is_new_and_less_sure() -> None:
    wear = irreversible_trend([Level(0.0, 0.0, 0.015, False), Level(3.0, 0.3, 0.015, True)], FLOW, now_years=3.0)
    fresh = next_set(wear)
    assert (fresh.loss, fresh.rate) == (0.0, wear.rate)
    assert fresh.rate_error > wear.rate_error


def test_renewed_elements_take_their_loss_with_them() -> None:
    """By hand: a loss of 0.20, known to 0.015, of which a quarter of the elements is renewed, leaves 0.15."""
    levels = [Level(0.0, 0.0, 0.015, False), Level(1.9999, 0.20, 0.001, True)]
    before = irreversible_trend(levels, FLOW, now_years=2.0)
    quarter = irreversible_trend(levels, FLOW, now_years=2.0, renewals=[Renewal(2.0, 0.25)])
    assert quarter.loss == pytest.approx(0.75 * before.loss, abs=1e-3)
    assert (quarter.rate, quarter.rate_error) == (before.rate, pytest.approx(before.rate_error, rel=0.1))
    whole = irreversible_trend(levels, FLOW, now_years=2.0, renewals=[Renewal(2.0, 1.0)])
    fresh = next_set(before)
    assert (whole.loss, whole.rate) == (0.0, pytest.approx(fresh.rate))
    assert (whole.loss_error, whole.rate_error) == (fresh.loss_error, pytest.approx(fresh.rate_error))
