"""Damage that comes with a logged intervention, from days made by hand."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest

from analytics.events import Event
from analytics.judgement.at_events import damage_at_events

START = datetime(2026, 1, 1, 8, tzinfo=UTC)
EVENT_DAY = 60


def days(rise: float, *, back_after: int = 0, noise: float = 0.01, column: str = "train_salt_passage") -> pd.DataFrame:
    """Salt passage that jumps by a share on `EVENT_DAY`, and back after some days where that is asked for."""
    number = np.arange(120)
    jumped = (number >= EVENT_DAY) & ((number < EVENT_DAY + back_after) | (back_after == 0))
    scatter = np.random.default_rng(8).normal(0, noise, len(number))
    index = pd.date_range("2026-01-01", periods=len(number))
    return pd.DataFrame({column: np.exp(np.log1p(rise) * jumped + scatter)}, index)


def logged(kind: str, day: int = EVENT_DAY) -> Event:
    return Event(START + timedelta(days=day), kind)


@pytest.mark.parametrize(
    ("kind", "cause", "words"),
    [
        ("cleaning", "hydrolysis", "with the cleaning of 2 March 2026"),
        ("element-move", "seal-leak", "move of elements"),
    ],
)
def test_a_rise_with_an_intervention_speaks_for_what_comes_with_it(kind: str, cause: str, words: str) -> None:
    found = damage_at_events(days(0.30), [logged(kind)], "UTC")
    assert list(found) == [cause]
    factor, sentence = found[cause]
    assert factor > 1 and words in sentence and "Salt passage of the train rose by" in sentence
    assert 28 <= int(sentence.split(" %")[0].split()[-1]) <= 32


@pytest.mark.parametrize(
    "daily",
    [days(0.0), days(-0.2), days(0.04), days(0.30, back_after=10), days(0.30, noise=0.4),
     days(0.3, column="standard_train_salt_passage")],
)  # fmt: skip
def test_nothing_is_said_of_what_did_not_rise_or_did_not_stay(daily: pd.DataFrame) -> None:
    assert damage_at_events(daily, [logged("cleaning")], "UTC") == {}


def test_the_days_of_high_passage_after_an_alkaline_cleaning_do_not_count() -> None:
    assert damage_at_events(days(0.30, back_after=3), [logged("cleaning")], "UTC") == {}


def test_another_day_and_another_kind_of_event_say_nothing() -> None:
    daily = days(0.30)
    assert damage_at_events(daily, [logged("cleaning", 25)], "UTC") == {}
    assert damage_at_events(daily, [logged("set-point-change")], "UTC") == {}
    assert damage_at_events(daily, [logged("cleaning", 118)], "UTC") == {}
