"""New elements begin a new reference; by hand, and on a simulated train whose last stage is renewed."""

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from analytics.assess import assess
from analytics.events import Event
from analytics.judgement.new_elements import NewReference, new_elements, new_references, reference_notes
from analytics.plant_file import plant_from_dict
from demo_data.simulator.ageing import Change, Cleaning, Linear, compaction
from demo_data.simulator.scenario import Happening, Scenario, simulate

PLANT = plant_from_dict(
    {
        "site": {"name": "Somewhere", "timezone": "UTC"},
        "train": {
            "name": "RO 1",
            "stage": [
                {"vessels": 4, "elements_per_vessel": 6, "membrane": "m"},
                {"vessels": 2, "elements_per_vessel": 6, "membrane": "m"},
            ],
        },
        "membrane": {"m": {"area_m2": 37.0}},
    }
)
DAYS = pd.date_range("2025-01-01", periods=200, freq="D")
ON = DAYS[100]


def replaced(detail: str = "", stage: int | None = 2, kind: str = "element-replacement") -> Event:
    return Event(datetime(ON.year, ON.month, ON.day, 12, tzinfo=UTC), kind, stage, detail)


def found(before: float, after: float, *events: Event, column: str = "stage2_permeate_flow") -> Sequence[NewReference]:
    daily = pd.DataFrame({column: np.where(DAYS < ON, before, after)}, index=DAYS)
    return new_references(daily, events, PLANT, after=DAYS[16])


def test_how_many_are_new_stands_at_the_beginning_of_the_detail() -> None:
    details = ("3 new of 5: A1, A2, A3", "All 12 elements of stage 2 new", "", "40 new", "0 new")
    assert [new_elements([replaced(detail)], PLANT)[0].share for detail in details] == [0.25, 1.0, 1.0, 1.0, 1.0]
    both = new_elements([replaced("9 new", None)], PLANT)
    assert [(one.stage, one.share) for one in both] == [(1, 0.25), (2, 0.25)]


def test_a_stage_of_new_elements_begins_at_one() -> None:
    (new,) = found(0.80, 0.96, replaced())
    assert (new.column, new.day) == ("stage2_permeate_flow", ON)
    assert new.factor == pytest.approx(1 / 0.96)
    assert new.days == (DAYS[102], DAYS[115])
    assert reference_notes([new]) == (
        "Stage 2 has new elements since 2025-04-11: since then it is compared with its days from 2025-04-13 to "
        "2025-04-26.",
    )


def test_some_new_elements_shift_the_reference_by_their_share() -> None:
    """By hand: twelve at 0.80, three of them new: 0.25 + 0.75 * 0.80 = 0.85, and 0.88 is measured."""
    (new,) = found(0.80, 0.88, replaced("3 new of 12"))
    assert new.factor == pytest.approx(0.85 / 0.88)


@pytest.mark.parametrize(
    ("after", "events", "why"),
    [
        (0.84, [replaced()], "much worse than new elements: something is wrong with them, and stays to be seen"),
        (0.95, [replaced("3 new"), replaced(kind="cleaning")], "the cleaning of the others is in it"),
        (0.95, [replaced(stage=1)], "another stage"),
        (0.95, [replaced(kind="element-move")], "nothing new"),
    ],
)
def test_what_is_no_new_reference(after: float, events: list[Event], why: str) -> None:
    assert not found(0.80, after, *events), why


def test_salt_that_is_worse_than_new_is_left_to_be_seen() -> None:
    assert found(1.6, 1.05, replaced(), column="stage2_salt_passage")
    assert not found(1.6, 1.25, replaced(), column="stage2_salt_passage")


def test_the_train_keeps_its_reference_while_any_element_stays() -> None:
    column = "train_permeate_flow"
    assert not found(0.8, 0.95, replaced(), column=column)
    assert [one.factor for one in found(0.8, 0.95, replaced("", None), column=column)] == [pytest.approx(1 / 0.95)]


def test_too_few_days_are_no_reference_yet_and_what_was_replaced_before_the_first_is_in_it() -> None:
    daily = pd.DataFrame({"stage2_permeate_flow": np.full(105, 0.9)}, index=DAYS[:105])
    assert not new_references(daily, [replaced()], PLANT, after=DAYS[16])
    assert not new_references(daily, [replaced()], PLANT, after=ON)


def test_a_renewed_stage_of_a_simulated_train_starts_again() -> None:
    """The second stage loses a fifth in 200 days and is renewed with elements that take 3 % less once compacted."""
    worn = Change(Linear(1 / 200.0), 2, water=-0.2, salt=0.1, cleanings=(Cleaning(200.0, 1.0),))
    scenario = Scenario(
        days=300, seed=77, ageing=(worn, compaction(0.03, stage=2)),
        happenings=(Happening(200.0, "element-replacement", "", 2),),
    )  # fmt: skip
    result = simulate(scenario)
    answer = assess(result.plant, result.readings, result.events)
    flow = answer.daily["stage2_permeate_flow"]
    before, after = flow.iloc[185:199].median(), flow.iloc[202:216].median()
    assert before == pytest.approx(0.84, abs=0.03)
    assert after == pytest.approx(1.0, abs=0.002)
    assert any("Stage 2 has new elements since" in note for note in answer.notes)
    assert answer.daily["stage1_permeate_flow"].iloc[202:216].median() == pytest.approx(1.0, abs=0.02)
