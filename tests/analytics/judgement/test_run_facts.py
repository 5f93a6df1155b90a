"""Runs of a saw-tooth that is known: levels, slopes, what cleanings gave back and what stays lost."""

import numpy as np
import pandas as pd
import pytest

from analytics.judgement.run_facts import (
    LITTLE_LOST,
    MORE_CAME_BACK,
    NO_LEVEL,
    NO_LEVEL_BEFORE,
    NO_TEMPERATURE,
    NOTHING_CAME_BACK,
    RunFact,
    _given_back,
    _Level,
    run_facts,
)
from analytics.judgement.runs import Run
from analytics.judgement.trend import fit_trend

DAYS = pd.date_range("2025-01-01", periods=240, freq="D")


def runs(*cuts: int) -> tuple[Run, ...]:
    starts = [0, *cuts]
    ends = [*(cut - 1 for cut in cuts), len(DAYS) - 1]
    return tuple(
        Run(DAYS[a], DAYS[b], "cleaning" if a else "start of the log") for a, b in zip(starts, ends, strict=True)
    )


def facts(
    values: np.ndarray, *cuts: int, name: str = "permeate_flow", comparable: bool = True, scatter: float = 0.004
) -> tuple[RunFact, ...]:
    rng = np.random.default_rng(1)
    series = pd.Series(values + rng.normal(0, scatter, len(DAYS)), DAYS)
    trend = fit_trend(series, runs(*cuts), scope="train", name=name)
    assert trend is not None
    return run_facts(series, trend, runs(*cuts), falling_is_bad=name == "permeate_flow", comparable=comparable)


N = np.arange(len(DAYS))
SAW = np.where(N < 100, 1 - 0.0008 * N, np.where(N < 180, 0.98 - 0.0010 * (N - 100), 0.97 - 0.0006 * (N - 180)))


def test_levels_slopes_and_what_cleanings_gave_back() -> None:
    first, second, third = facts(SAW, 100, 180)
    assert [one.opened_by for one in (first, second, third)] == ["start of the log", "cleaning", "cleaning"]
    assert (first.start_level, second.start_level, third.start_level) == pytest.approx((1.0, 0.98, 0.97), abs=0.006)
    assert first.slope == pytest.approx(-0.0008, abs=0.00006)
    assert second.slope_low <= second.slope <= second.slope_high
    assert np.isnan(first.given_back)
    assert second.given_back == pytest.approx((0.98 - 0.9208) / 0.0792, abs=0.06)
    assert third.given_back == pytest.approx((0.97 - 0.901) / 0.099, abs=0.06)
    assert (second.lasting_loss, third.lasting_loss) == pytest.approx((0.02, 0.03), abs=0.006)


def test_row_39_of_a_recovery() -> None:
    """Before 0.86, after 0.97, reference 1.00: 78.6 % given back, 3 % lost for good; hand calculation."""
    values = np.where(N < 120, 1 - 0.14 * N / 119, 0.97)
    _, after = facts(values, 120)
    assert after.given_back == pytest.approx(0.786, abs=0.05)
    assert after.lasting_loss == pytest.approx(0.03, abs=0.006)


@pytest.mark.parametrize(
    ("values", "growth"),
    [
        (1 - 0.0006 * N, "linear"),
        (np.ones(len(N)), ""),
        (1 - 0.01 * (2 ** (N / 60) - 1), "accelerating"),
        (0.85 + 0.15 * np.exp(-N / 50), "levelling off"),
    ],
)
def test_how_a_run_grew(values: np.ndarray, growth: str) -> None:
    assert facts(values)[0].growth == growth


def test_of_a_run_that_hardly_moved_nothing_is_said_to_grow() -> None:
    (still,) = facts(1 - 0.008 * (2 ** (N / N[-1]) - 1))
    assert still.valid and still.growth == ""


def test_short_runs_say_what_they_lack() -> None:
    _, short, shorter = facts(SAW, 225, 236)
    assert not short.valid and short.why == "11 days with readings; a slope needs 21" and np.isnan(short.slope)
    assert shorter.why == "4 days with readings; a level needs 7" and np.isnan(shorter.start_level)


def test_rising_pressure_drop_is_a_loss() -> None:
    values = np.where(N < 120, 1 + 0.2 * N / 119, 1.05)
    _, after = facts(values, 120, name="pressure_drop")
    assert after.given_back == pytest.approx(0.75, abs=0.05)
    assert after.lasting_loss == pytest.approx(0.05, abs=0.006)


def test_without_temperature_no_loss_and_nothing_given_back_is_known() -> None:
    first, second, third = facts(SAW, 100, 180, comparable=False)
    assert np.isfinite([one.start_level for one in (first, second, third)]).all()
    assert np.isnan([one.lasting_loss for one in (first, second, third)]).all()
    assert np.isnan([one.given_back for one in (first, second, third)]).all()
    assert {one.lasting_loss_why for one in (first, second, third)} == {NO_TEMPERATURE}
    assert (first.given_back_why, second.given_back_why) == ("", NO_TEMPERATURE)


def test_where_a_level_is_not_known_so_is_what_it_is_compared_with() -> None:
    _, short, after = facts(SAW, 176, 180)
    assert np.isnan(short.lasting_loss) and short.lasting_loss_why == short.given_back_why == NO_LEVEL
    assert np.isnan(after.given_back) and after.given_back_why == NO_LEVEL_BEFORE
    assert np.isfinite(after.lasting_loss) and after.lasting_loss_why == ""


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [
        (0.985, 0.70, LITTLE_LOST.format(least=2)),  # 1.5 % are not worth a share: it would be -19
        (0.80, 0.70, NOTHING_CAME_BACK),
        (0.95, 1.10, MORE_CAME_BACK),
    ],
)
def test_a_share_that_makes_no_sense_is_not_given(before: float, after: float, why: str) -> None:
    _, second = facts(np.where(N < 120, before, after), 120)
    assert np.isnan(second.given_back) and second.given_back_why == why


def test_a_loss_no_larger_than_its_error_is_no_loss() -> None:
    """Scatter of a tenth leaves the level of two weeks open by 7 %, more than the 6 % that it stands below."""
    _, second = facts(np.where(N < 15, 0.96, 0.94), 15, scatter=0.10)
    assert np.isnan(second.given_back) and second.given_back_why == LITTLE_LOST.format(least=2)


@pytest.mark.parametrize(("after", "share"), [(0.849, 0.0), (1.001, 1.0)])
def test_a_share_is_none_to_all(after: float, share: float) -> None:
    _, second = facts(np.where(N < 120, 0.85, after), 120)
    assert second.given_back == pytest.approx(share, abs=0.03) and 0 <= second.given_back <= 1


@pytest.mark.parametrize(("after", "share"), [(1.005, 1.0), (1.02, None)])
def test_more_than_was_lost_comes_back_within_the_error_alone(after: float, share: float | None) -> None:
    """0.90 before, each level known within 0.01: 0.105 back of 0.10 is all of it, 0.12 is another reference."""
    found, why = _given_back(_Level(0.90, 0.01), _Level(after, 0.01), -1.0)
    assert (found, why) == (share, "") if share is not None else np.isnan(found) and why == MORE_CAME_BACK
