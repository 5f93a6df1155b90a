"""What explains a step: events of about its day, an answer, or what moved with it."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from analytics.events import STEP, UNEXPLAINED, Event
from analytics.judgement.explained import LIKELY_SALINITY, as_events, explain_steps, renewals, step_words
from analytics.judgement.runs import split_runs
from analytics.judgement.steps import Jump, Step

DAY = pd.Timestamp("2026-03-10")
ZONE = "Europe/Lisbon"
CLEANED = Step(DAY, 9.0, (Jump("stage1_permeate_flow", 0.06, 0.005), Jump("stage1_pressure_drop", -0.08, 0.01)))
NOTHING = pd.DataFrame(index=pd.date_range("2026-02-01", "2026-04-10", freq="D"))


def event(kind: str, day: int = 10, detail: str = "") -> Event:
    return Event(datetime(2026, 3, day, 12, tzinfo=UTC), kind, None, detail)


def explained(step: Step, *events: Event, operation: pd.DataFrame = NOTHING):  # type: ignore[no-untyped-def]
    (one,) = explain_steps([step], events, operation, timezone=ZONE)
    return one


def test_a_step_nobody_logged_is_a_question_with_a_guess() -> None:
    one = explained(CLEANED)
    assert (one.explained_by, one.answered, one.likely, one.stage) == ("", False, "cleaning", 1)
    assert step_words(one) == (
        "On 10 March 2026, from one day to the next: permeate flow of stage 1 up 6.2 % and pressure drop of stage 1"
        " down 7.7 %."
    )


def test_an_event_of_about_that_day_explains_it() -> None:
    one = explained(CLEANED, event("meter-calibration", 12), event("set-point-change", 25))
    assert (one.explained_by, one.answered) == ("meter-calibration", True)
    assert not explained(CLEANED, event("meter-calibration", 16)).answered


def test_an_ordinary_note_explains_nothing_but_the_answer_does() -> None:
    assert not explained(CLEANED, event("note", detail="Painted the door.")).answered
    one = explained(CLEANED, event("note", detail=f"{UNEXPLAINED}; nobody knows what it was."))
    assert (one.explained_by, one.answered) == ("", True)


def test_what_moved_with_it_says_what_it_looks_like() -> None:
    before = np.asarray(NOTHING.index < DAY)
    salt = NOTHING.assign(feed_tds_mg_l=np.where(before, 1500.0, 2100.0) + np.arange(len(NOTHING)) % 3)
    assert explained(CLEANED, operation=salt).likely == "source-change"
    flow = NOTHING.assign(recovery=np.where(before, 0.75, 0.70))
    assert explained(CLEANED, operation=flow).likely == "set-point-change"
    balance = Step(DAY, 9.0, (Jump("stage1_permeate_flow", 0.06, 0.005), Jump("flow_balance", 0.05, 0.005)))
    assert explained(balance).likely == "meter-calibration"
    assert explained(balance).stage is None
    lost = Step(DAY, 9.0, (Jump("train_permeate_flow", -0.06, 0.005),))
    assert explained(lost).likely == "meter-calibration"


@pytest.mark.parametrize(("share", "likely"), [(0.8, "cleaning"), (1.2, "source-change")])
def test_the_source_is_asked_about_from_a_threshold_on(share: float, likely: str) -> None:
    before = np.asarray(NOTHING.index < DAY)
    salt = 1500.0 * np.where(before, 1.0, 1.0 + share * LIKELY_SALINITY)
    assert explained(CLEANED, operation=NOTHING.assign(feed_tds_mg_l=salt)).likely == likely


def test_no_set_point_moves_an_indicator_by_more_than_itself() -> None:
    """Fouling that came off lets the flow be set back to what it was: half the loss of permeability is not the 6 %."""
    flow = NOTHING.assign(permeate_flow_m3h=np.where(np.asarray(NOTHING.index < DAY), 94.0, 100.0))
    little = Step(DAY, 9.0, (Jump("stage1_permeate_flow", 0.05, 0.005),))
    assert explained(little, operation=flow).likely == "set-point-change"
    much = Step(DAY, 9.0, (Jump("stage2_permeate_flow", 0.40, 0.02), Jump("stage1_pressure_drop", -0.13, 0.02)))
    assert explained(much, operation=flow).likely == "cleaning"


def test_a_pause_before_a_step_is_said() -> None:
    paused = Step(DAY, 9.0, (Jump("stage1_permeate_flow", 0.06, 0.005),), pause_days=9)
    assert step_words(explained(paused)) == "Between 1 March and 10 March 2026: permeate flow of stage 1 up 6.2 %."


def test_more_salt_names_what_it_may_be_and_the_check_that_tells_it() -> None:
    """Published tables of symptoms: all stages alike speak for a feed cell, the source or damage."""
    both = Step(DAY, 9.0, (Jump("stage1_salt_passage", 0.5, 0.05), Jump("stage2_salt_passage", 0.5, 0.05)))
    for words in (
        "in all stages",
        "feed conductivity cell",
        "another source",
        "oxidant",
        "portable cell",
        "each vessel",
    ):
        assert words in explained(both).why
    one = Step(DAY, 9.0, (Jump("stage1_salt_passage", 0.5, 0.05), Jump("stage2_salt_passage", 0.01, 0.05)))
    for words in ("in stage 1 alone", "permeate conductivity cell", "seal that leaks", "portable cell", "each vessel"):
        assert words in explained(one).why
    train = Step(DAY, 9.0, (Jump("train_salt_passage", 0.5, 0.05),))
    assert explained(train).why.startswith("salt passage rose: a permeate conductivity cell")


def test_more_salt_from_one_day_to_the_next_is_neither_a_cleaning_nor_surely_a_meter() -> None:
    """A leak, a split membrane or hydrolysis lets more flow through too."""
    leak = Step(DAY, 9.0, (Jump("stage1_salt_passage", 0.20, 0.01), Jump("stage1_permeate_flow", 0.04, 0.005)))
    assert explained(leak).likely == ""
    assert renewals([explained(leak)], [], ZONE) == ()


def test_a_step_opens_a_run_named_after_what_explains_it() -> None:
    first, last = pd.Timestamp("2026-02-01"), pd.Timestamp("2026-04-10")
    steps = as_events([explained(CLEANED)], ZONE)
    assert [run.opened_by for run in split_runs(first, last, steps, ZONE, scope="train")][1:] == [STEP]
    assert len(split_runs(first, last, steps, ZONE, scope="stage2")) == 1
    steps = as_events([explained(CLEANED, event("source-change"))], ZONE)
    runs = split_runs(first, last, steps, ZONE, scope="train")
    assert [(run.start, run.opened_by) for run in runs][1:] == [(DAY, "source-change")]


def test_what_came_back_without_an_entry_renews_like_a_cleaning() -> None:
    lost = Step(DAY, 9.0, (Jump("train_permeate_flow", -0.06, 0.005),))
    assert renewals([explained(CLEANED)], [event("cleaning", 25), event("note", 26)], ZONE) == (
        DAY,
        pd.Timestamp("2026-03-25"),
    )
    assert renewals([explained(lost)], [], ZONE) == ()
    assert renewals([explained(CLEANED, event("meter-calibration"))], [], ZONE) == ()
