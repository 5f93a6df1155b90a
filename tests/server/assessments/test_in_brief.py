"""Six questions under one sentence: where, why, when, how sure, what next, made from the stored answer alone."""

from typing import Any

from server.assessments.in_brief import in_brief, leading_indicator
from tests.server.assessments.example import example_document


def brief(**changed: Any) -> dict[str, str]:
    lines = in_brief(example_document() | changed, "SI")
    return {line.question: line.answer.replace("\u202f", " ").replace("\u00a0", " ") for line in lines}


def verdict(level: str) -> dict[str, Any]:
    return {"level": level, "headline": "", "reasons": []}


def test_a_cleaning_to_plan_answers_all_five() -> None:
    window = {"advice": "plan", "scope": "train", "name": "permeate_flow", "earliest": "2026-04-24",
              "aim": "2026-05-20", "latest": "2026-06-20"}  # fmt: skip
    said = brief(cleaning=window)
    assert said["Where"] == "Stage 2: flow, salt passage and pressure drop"
    assert said["Why"] == "Scale in stage 2 (71 %), else colloids in stage 2 (14 %)"
    assert said["When"] == "Clean about 20 May 2026, between 24 Apr 2026 and 20 Jun 2026"
    assert said["How sure"] == (
        "Flow of the train −8 % (−9 to −7 %, 90 times in 100), limit −10 %; 1 246 of 1 284 readings"
    )
    assert said["What next"] == "Weigh the last element of stage 2; then plan the cleaning"


def test_a_meter_is_where_and_how_sure() -> None:
    meter = {"quantity": "permeate_flow", "bias": -0.08, "low": -0.09, "high": -0.07, "suspect": True}
    said = brief(verdict=verdict("check a meter"), meters=[meter])
    assert (said["Where"], said["When"]) == ("Permeate flow meter", "Before the membranes are judged")
    assert said["How sure"].startswith("Off by −8 % (−9 to −7 %, 90 times in 100)")


def test_of_several_meters_all_are_named_and_each_with_its_own_figure() -> None:
    meters = [{"quantity": name, "bias": bias, "low": -0.1, "high": 0.1, "suspect": False}
              for name, bias in (("feed_flow", -0.07), ("permeate_flow", 0.09), ("concentrate_flow", 0.3))]  # fmt: skip
    said = brief(verdict=verdict("check a meter"), meters=meters)
    assert said["Where"] == "One of the meters of feed flow, permeate flow and concentrate flow"
    assert said["How sure"].startswith(
        "One of them is off, nothing tells which: feed flow by −7 %, permeate flow by +9 % or concentrate flow by"
    )


def test_a_thermometer_is_off_by_degrees() -> None:
    meter = {"quantity": "feed_temperature", "bias": 0.15, "low": 0.1, "high": 0.2, "suspect": True, "reading_c": 20.0}
    said = brief(verdict=verdict("check a meter"), meters=[meter])
    assert said["How sure"].startswith("Off by +3.0 °C (+2.0 to +4.0 °C, 90 times in 100)")


def test_a_steady_train_says_which_limit_is_nearest_and_that_nothing_is_to_be_done() -> None:
    steady = [entry | {"standing": "fine", "reaches_limit": None} for entry in example_document()["indicators"]]
    said = brief(verdict=verdict("steady"), indicators=steady, causes=[])
    assert said["Where"].startswith("Nearest to its limit: ") and said["When"] == "No limit is in sight"
    assert said["What next"] == "Go on logging; nothing has to be done" and "Why" not in said


def test_the_cheaper_check_of_the_two_likeliest_comes_first() -> None:
    check = {"cause": "colloidal", "other": "scaling", "check": "measure SDI", "minutes": 20, "shared": False}
    said = brief(verdict=verdict("watch"), separating_check=check)
    assert said["What next"] == "Measure SDI (about 20 minutes)"
    assert said["When"] == "Limit of flow of the train between 24 April and 20 June 2026"


def test_without_an_answer_only_what_is_known_is_said() -> None:
    nothing = {"total": 0, "used": 0, "set_aside": {}, "values_set_aside": {}}
    said = brief(verdict=verdict("not enough data"), indicators=[], causes=[], meters=[], readings=nothing)
    assert said == {"How sure": "0 of 0 readings", "What next": "Log more readings; the reference needs steady days"}


def test_the_indicator_of_the_cleaning_leads_before_one_that_is_further_on() -> None:
    document = example_document()
    assert leading_indicator(document)["scope"] == "stage2"
    window = {"scope": "train", "name": "permeate_flow"}
    assert leading_indicator(document | {"cleaning": window})["scope"] == "train"
