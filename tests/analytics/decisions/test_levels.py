"""Levels of what no cleaning gives back, after each cleaning and today."""

import numpy as np
import pandas as pd
import pytest

from analytics.decisions.levels import LEAST_ERROR, levels_after_cleaning, runs_between
from analytics.decisions.wear import FLOW_GIVEN_BACK, NOTHING_GIVEN_BACK, SALT, wear_after_damage

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


def test_cleanings_that_differ_make_their_levels_less_sure() -> None:
    alike = levels_after_cleaning(saw_tooth(), CLEANED, direction="falls", given_back=FLOW_GIVEN_BACK)
    uneven = levels_after_cleaning(saw_tooth(), CLEANED, direction="falls", given_back=FLOW_GIVEN_BACK, uneven=0.1)
    assert [one.loss for one in uneven] == [one.loss for one in alike]
    assert (uneven[0], uneven[-1]) == (alike[0], alike[-1])
    first_run = runs_between(-np.log(saw_tooth()), CLEANED)[0]
    assert first_run.lost == pytest.approx(0.10 * 110 / 123, abs=0.01)
    assert uneven[1].error == pytest.approx(np.hypot(alike[1].error, 0.1 * first_run.lost))


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


def test_the_error_of_a_level_is_that_of_a_median() -> None:
    """Medians of normal days scatter by 1.253 sigma / sqrt(n), by 1.22 for a fortnight of them; its median deviation is
    itself some percent low. 400 logs that scatter more than the least error that is told."""
    rng = np.random.default_rng(4)
    firsts = [runs_between(pd.Series(rng.normal(0.2, 0.2, 60), DAYS[:60]), [])[0].begin for _ in range(400)]
    losses, errors = (np.array([getattr(one, name) for one in firsts]) for name in ("loss", "error"))
    assert losses.mean() == pytest.approx(0.2, abs=0.01)
    assert losses.std() / errors.mean() == pytest.approx(1.0, abs=0.12)
