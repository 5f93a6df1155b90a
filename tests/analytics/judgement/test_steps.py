"""Steps in days that are made by hand: found on their day, and none where there is only drift, season or scatter."""

import numpy as np
import pandas as pd
import pytest

from analytics.judgement.steps import WINDOW_DAYS, _fit, detect_steps  # `_fit`: errors are scaled on their way out

DAYS = pd.date_range("2025-01-01", periods=400, freq="D", name="day")
Jumps = dict[str, tuple[int, float]]


def days(seed: int, *, drift: float = 0.0, swing: float = 0.0, noise: float = 0.01, jumps: Jumps | None = None):  # type: ignore[no-untyped-def]
    rng = np.random.default_rng(seed)
    n = np.arange(len(DAYS))
    frame = pd.DataFrame(index=DAYS)
    for name in ("stage1_permeate_flow", "stage1_salt_passage", "stage1_pressure_drop"):
        log = drift * n + swing * np.sin(2 * np.pi * n / 365) + rng.normal(0, noise, len(n))
        at, size = (jumps or {}).get(name, (0, 0.0))
        frame[name] = np.exp(log + size * (n >= at) * (at > 0))
    return frame


@pytest.mark.parametrize("seed", range(5))
def test_no_step_in_drift_season_and_scatter(seed: int) -> None:
    assert detect_steps(days(seed, drift=-0.0005, swing=0.04, noise=0.015)) == ()


@pytest.mark.parametrize("seed", range(5))
def test_a_cleaning_that_nobody_logged_is_found_within_two_days(seed: int) -> None:
    jumps = {"stage1_permeate_flow": (200, 0.05), "stage1_pressure_drop": (200, -0.06)}
    (step,) = detect_steps(days(seed, drift=-0.0004, jumps=jumps))
    assert abs((step.day - DAYS[200]).days) <= 2
    first = {jump.column: jump for jump in step.jumps}
    for column, (_, size) in jumps.items():
        assert abs(first[column].size - size) < 3 * first[column].error
    assert abs(first["stage1_salt_passage"].size) < 3 * first["stage1_salt_passage"].error


def test_a_known_cut_is_not_found_again() -> None:
    jumps = {"stage1_permeate_flow": (200, 0.08)}
    assert detect_steps(days(1, jumps=jumps), [DAYS[200]]) == ()


def test_a_jump_too_small_to_matter_is_left_alone() -> None:
    assert detect_steps(days(1, noise=0.001, jumps={"stage1_permeate_flow": (200, 0.01)})) == ()


def test_days_that_are_missing_and_weekly_logs() -> None:
    frame = days(3, jumps={"stage1_permeate_flow": (203, 0.10)})
    weekly = frame.iloc[::7]
    (step,) = detect_steps(weekly)
    assert step.day == DAYS[203]
    holed = frame.copy()
    holed.iloc[190:210] = np.nan
    (step,) = detect_steps(holed)
    assert DAYS[190] <= step.day <= DAYS[210]


def test_a_slope_across_a_pause_is_no_jump_but_a_jump_across_one_is() -> None:
    """Four weeks without readings: what a steep course does meanwhile is not known; what dwarfs it is a step."""
    frame = days(3, drift=0.004, swing=0.0)
    after = np.arange(len(DAYS)) >= 230
    bent = frame.mul(np.where(after, np.exp(-0.16 - 0.008 * (np.arange(len(DAYS)) - 230)), 1.0), axis=0)
    bent.iloc[203:230] = np.nan
    assert detect_steps(bent) == ()
    fouled = days(3, drift=-0.0006, jumps={"stage1_permeate_flow": (230, 0.25)})
    fouled.iloc[203:230] = np.nan
    (step,) = detect_steps(fouled)
    assert (step.day, step.pause_days) == (DAYS[230], 28)


def test_too_little_is_no_error() -> None:
    assert detect_steps(days(1).iloc[:5]) == ()
    assert detect_steps(days(1).iloc[:0]) == ()
    assert detect_steps(days(1) * np.nan) == ()


def test_the_error_of_a_jump_is_that_of_least_squares() -> None:
    """Residuals of one size are all weighed alike, so the fit is ordinary least squares: numpy's, with n - 3 of n."""
    t = np.arange(-21.0, 21.0)
    after, zigzag = t >= 0, np.where(np.arange(42) % 2, 1.0, -1.0) * np.where(np.arange(42) % 4 < 2, 0.01, -0.01)
    design = np.column_stack([np.ones(42), t / WINDOW_DAYS, after])
    zigzag -= design @ np.linalg.lstsq(design, zigzag, rcond=None)[0]
    sizes, errors, _ = _fit(t[None], (0.3 * t + 0.05 * after + zigzag)[None], np.ones((1, 42), bool))
    by_hand = np.sqrt(zigzag @ zigzag / (42 - 3) * np.linalg.inv(design.T @ design)[2, 2])
    assert sizes[0] == pytest.approx(0.05, abs=1e-6)
    assert errors[0] == pytest.approx(by_hand, rel=0.02)
