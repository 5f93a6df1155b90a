"""The irreversible trend: levels after cleanings, and the filter against a least-squares solution of the same
problem."""

import numpy as np
import pandas as pd
import pytest

from analytics.decisions.wear import (
    FLOW,
    FLOW_GIVEN_BACK,
    LEAST_ERROR,
    NOTHING_GIVEN_BACK,
    REFERENCE_ERROR,
    SALT,
    Level,
    irreversible_trend,
    levels_after_cleaning,
    next_set,
    wear_after_damage,
)

DAYS = pd.date_range("2025-01-01", periods=400, freq="D")
CLEANED = [pd.Timestamp("2025-05-01"), pd.Timestamp("2025-09-01")]


def saw_tooth(lost_per_run: float = 0.10, stays_per_run: float = 0.02) -> pd.Series:
    """Falls by a tenth in every run; each cleaning gives back all but two hundredths."""
    starts = [DAYS[0], *CLEANED]
    number = np.searchsorted(np.array(starts, dtype="datetime64[us]"), DAYS.to_numpy(), side="right") - 1
    into = np.array([(day - starts[n]).days for day, n in zip(DAYS, number, strict=True)])
    return pd.Series(1.0 - stays_per_run * number - lost_per_run * into / 123.0, index=DAYS)


def test_levels_stand_where_runs_begin_and_where_the_last_one_would_be_cleaned() -> None:
    levels = levels_after_cleaning(saw_tooth(), CLEANED, direction="falls", given_back=FLOW_GIVEN_BACK)
    assert [level.after_cleaning for level in levels] == [False, True, True, False]
    assert [round(float(np.exp(-level.loss)), 3) for level in levels[:3]] == pytest.approx(
        [0.994, 0.973, 0.953], abs=0.002
    )
    last = levels[-1]
    lost = -np.log(saw_tooth().iloc[-14:].median()) - levels[2].loss
    assert last.loss == pytest.approx(levels[2].loss + 0.2 * lost)
    assert last.error == pytest.approx(np.hypot(LEAST_ERROR, 0.15 * lost), rel=0.05)


def test_after_damage_nothing_is_thought_to_come_back() -> None:
    rising = pd.Series(np.linspace(1.0, 2.0, 400), index=DAYS)
    levels = levels_after_cleaning(rising, [], direction="rises", given_back=NOTHING_GIVEN_BACK)
    assert levels[-1].loss == pytest.approx(np.log(rising.iloc[-14:].median()))
    wear = wear_after_damage(levels, SALT)
    assert (wear.loss, wear.rate, wear.from_trade) == (levels[-1].loss, SALT.rate, 1.0)


def test_days_that_are_not_known_are_left_out_and_too_few_say_nothing() -> None:
    gappy = saw_tooth().where(DAYS.day % 3 == 0)
    assert len(levels_after_cleaning(gappy, CLEANED, direction="falls", given_back=FLOW_GIVEN_BACK)) == 4
    two = saw_tooth().where(DAYS[2] > DAYS)
    assert levels_after_cleaning(two, [], direction="falls", given_back=FLOW_GIVEN_BACK) == ()
    assert levels_after_cleaning(two * np.nan, [], direction="falls", given_back=FLOW_GIVEN_BACK) == ()


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
