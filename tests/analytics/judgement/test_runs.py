"""Runs: cut at interventions, on the local day, for the stage concerned; never overlapping, never leaving a day out."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.events import INTERVENTIONS, KINDS, Event
from analytics.judgement.runs import Run, split_runs

FIRST, LAST = pd.Timestamp("2026-01-01"), pd.Timestamp("2026-03-31")
CLEANING = "cleaning"


def event(when: str, kind: str = CLEANING, stage: int | None = None) -> Event:
    return Event(datetime.fromisoformat(when).replace(tzinfo=UTC), kind, stage)


def split(*events: Event, scope: str = "train", timezone: str = "UTC") -> tuple[Run, ...]:
    return split_runs(FIRST, LAST, events, timezone, scope=scope)


def starts(runs: tuple[Run, ...]) -> list[str]:
    return [run.start.date().isoformat() for run in runs]


def test_without_events_the_log_is_one_run() -> None:
    assert split() == (Run(FIRST, LAST, "start of the log"),)


def test_the_day_of_the_intervention_opens_the_new_run() -> None:
    before, after = split(event("2026-02-10T09:00"))
    assert before.end == pd.Timestamp("2026-02-09")
    assert (after.start, after.end, after.opened_by) == (pd.Timestamp("2026-02-10"), LAST, CLEANING)


def test_consecutive_cleanings_each_open_a_run() -> None:
    runs = split(event("2026-02-10T09:00"), event("2026-02-11T09:00"), event("2026-02-12T09:00"))
    assert starts(runs) == ["2026-01-01", "2026-02-10", "2026-02-11", "2026-02-12"]
    assert [(run.end - run.start).days for run in runs[1:3]] == [0, 0]


def test_two_cleanings_on_one_day_make_one_cut() -> None:
    """Alkaline in the morning, acid in the afternoon."""
    assert starts(split(event("2026-02-10T08:00"), event("2026-02-10T15:00"))) == ["2026-01-01", "2026-02-10"]


def test_the_last_of_a_day_gives_its_name() -> None:
    runs = split(event("2026-02-10T08:00"), event("2026-02-10T15:00", "element-replacement", 2))
    assert (runs[1].opened_by, runs[1].stage) == ("element-replacement", 2)


def test_events_in_any_order() -> None:
    assert starts(split(event("2026-03-01T08:00"), event("2026-02-01T08:00"))) == [
        "2026-01-01",
        "2026-02-01",
        "2026-03-01",
    ]


@pytest.mark.parametrize("when", ["2025-12-01T08:00", "2026-01-01T08:00", "2026-04-01T00:00"])
def test_what_lies_outside_the_log_cuts_nothing(when: str) -> None:
    assert len(split(event(when))) == 1


def test_a_cleaning_on_the_last_day_leaves_a_run_of_one_day() -> None:
    assert split(event("2026-03-31T08:00"))[1] == Run(LAST, LAST, CLEANING)


@pytest.mark.parametrize(
    ("when", "zone", "day"),
    [
        ("2026-02-09T22:30", "Europe/Athens", "2026-02-10"),
        ("2026-02-10T06:30", "America/Denver", "2026-02-09"),
        ("2026-03-28T23:30", "Europe/Vienna", "2026-03-29"),
    ],
)
def test_the_day_is_that_of_the_site(when: str, zone: str, day: str) -> None:
    assert starts(split(event(when), timezone=zone))[1] == day


@pytest.mark.parametrize("kind", KINDS)
def test_only_what_changes_the_membranes_ends_a_run(kind: str) -> None:
    assert (len(split(event("2026-02-10T09:00", kind))) == 2) == (kind in INTERVENTIONS)


@pytest.mark.parametrize(("scope", "count"), [("train", 2), ("stage1", 1), ("stage2", 2)])
def test_a_cleaning_of_one_stage_ends_the_runs_of_that_stage_and_of_the_train(scope: str, count: int) -> None:
    assert len(split(event("2026-02-10T09:00", stage=2), scope=scope)) == count


@pytest.mark.parametrize("scope", ["train", "stage1", "stage2"])
def test_a_cleaning_of_the_whole_train_ends_all_runs(scope: str) -> None:
    assert len(split(event("2026-02-10T09:00"), scope=scope)) == 2


events_of_a_quarter = st.lists(
    st.builds(
        Event,
        time=st.integers(-20 * 24, 120 * 24).map(lambda h: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=h)),
        kind=st.sampled_from(KINDS),
        stage=st.sampled_from([None, 1, 2]),
    ),
    max_size=8,
)


@given(events=events_of_a_quarter, scope=st.sampled_from(["train", "stage1", "stage2"]))
def test_runs_cover_the_log_without_gap_or_overlap(events: list[Event], scope: str) -> None:
    runs = split(*events, scope=scope, timezone="Europe/Lisbon")
    assert (runs[0].start, runs[-1].end) == (FIRST, LAST)
    for before, after in pairwise(runs):
        assert before.start <= before.end
        assert after.start - before.end == pd.Timedelta(days=1)
    assert sum((run.end - run.start).days + 1 for run in runs) == 90
