"""One meter more: which lets most be judged."""

import pytest

from analytics.condition.helpful_meter import most_helpful_meter
from analytics.plant import Plant
from analytics.plant_file import plant_from_dict

ALL = {
    "feed_temperature_c", "feed_pressure_bar", "concentrate_pressure_bar", "permeate_flow_m3h", "concentrate_flow_m3h",
    "feed_conductivity_us_cm", "permeate_conductivity_us_cm",
}  # fmt: skip


def plant_of(stages: int) -> Plant:
    stage = {"vessels": 4, "elements_per_vessel": 6, "membrane": "bw8"}
    return plant_from_dict(
        {
            "site": {"name": "Works", "timezone": "UTC"},
            "train": {"name": "1", "stage": [stage] * stages},
            "membrane": {"bw8": {"area_m2": 37.0}},
        }
    )


@pytest.mark.parametrize("absent", ["feed_temperature_c", "permeate_flow_m3h", "permeate_conductivity_us_cm"])
def test_what_a_train_of_one_stage_lacks_is_what_helps(absent: str) -> None:
    found = most_helpful_meter(plant_of(1), ALL - {absent})
    assert found is not None and found.column == absent


def test_without_temperature_both_flow_and_salt_are_gained() -> None:
    found = most_helpful_meter(plant_of(1), ALL - {"feed_temperature_c"})
    assert found is not None
    assert found.gains == (("train", "permeate_flow"), ("train", "salt_passage")) and found.next_best == 0


def test_nothing_is_asked_of_a_train_of_one_stage_that_has_all() -> None:
    assert most_helpful_meter(plant_of(1), ALL) is None


def test_the_gauge_between_two_stages_tells_their_pressure_drops_apart() -> None:
    split = ALL | {"stage1_permeate_flow_m3h", "stage1_permeate_conductivity_us_cm"}
    found = most_helpful_meter(plant_of(2), split)
    assert found is not None and found.column == "stage1_concentrate_pressure_bar"
    assert {("stage1", "pressure_drop"), ("stage2", "pressure_drop")} <= set(found.gains)


def test_a_stage_that_is_metered_through_and_through_leaves_nothing_to_ask() -> None:
    every = ALL | {f"stage1_{name}" for name in ("permeate_flow_m3h", "permeate_conductivity_us_cm")}
    assert most_helpful_meter(plant_of(2), every | {"stage1_concentrate_pressure_bar"}) is None


def test_it_is_said_with_its_numbers() -> None:
    found = most_helpful_meter(plant_of(1), ALL - {"feed_temperature_c"})
    assert found is not None
    assert found.sentence == (
        "One meter more would help most: feed temperature. It adds 2 to judge (permeate flow of the train, "
        "salt passage of the train); no other would add any."
    )


def test_what_is_judged_already_is_no_gain() -> None:
    by_model = {("train", "permeate_flow"), ("train", "salt_passage")}
    assert most_helpful_meter(plant_of(1), ALL - {"feed_temperature_c"}, by_model) is None
