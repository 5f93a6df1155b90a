"""Steps of the feed: another source stays, rain washes out."""

import numpy as np
import pandas as pd
import pytest

from analytics.condition.day_table import FEED_TDS
from analytics.judgement.log_steps import feed_step

FIRST = pd.Timestamp("2026-01-01")


def feed(shape: np.ndarray) -> pd.DataFrame:
    scatter = np.random.default_rng(3).normal(0, 0.01, len(shape))
    return pd.DataFrame({FEED_TDS: 2000 * np.exp(shape + scatter)}, pd.date_range(FIRST, periods=len(shape)))


AGE = np.arange(160) - 90


@pytest.mark.parametrize("jump", [0.3, -0.3])
def test_another_source_is_a_step_that_stays(jump: float) -> None:
    found = feed_step(feed(jump * (AGE >= 0)), after=FIRST)
    assert found == pytest.approx(np.expm1(jump), abs=0.04)


def test_rain_that_washes_out_is_no_other_source() -> None:
    rain = np.where(AGE >= 0, -0.35 * np.exp(-np.maximum(AGE, 0) / 6), 0.0)
    assert feed_step(feed(rain), after=FIRST) == 0.0


def test_a_step_of_the_last_days_is_taken_to_stay() -> None:
    assert feed_step(feed(0.3 * (AGE >= 0))[:102], after=FIRST) > 0.2


def test_without_the_feed_there_is_no_step() -> None:
    assert feed_step(pd.DataFrame(index=pd.date_range(FIRST, periods=9)), after=FIRST) == 0.0
