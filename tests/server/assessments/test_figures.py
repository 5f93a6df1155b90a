"""Key figures and the stages that are marked."""

import pytest

from server.assessments.figures import key_figures, stage_attention, trend_words
from tests.server.assessments.example import example_document


def test_flow_and_salt_of_the_train_and_the_pressure_drop_of_each_stage() -> None:
    figures = key_figures(example_document())
    assert [figure.title for figure in figures] == [
        "Permeate flow", "Salt passage", "Pressure drop, stage 1", "Pressure drop, stage 2",
    ]  # fmt: skip
    assert (figures[0].value, figures[0].change, figures[0].limit) == ("0.92", "−7.8\u202f%", "0.90")
    assert figures[0].interval == "0.91 to 0.93" and figures[0].over


def test_stages_stand_in_where_the_train_has_no_indicator() -> None:
    document = example_document()
    document["indicators"] = [e for e in document["indicators"] if e["scope"] != "train"]
    assert [f.title for f in key_figures(document)][:2] == ["Permeate flow, stage 1", "Permeate flow, stage 2"]


def test_the_scale_runs_from_the_reference_towards_the_limit() -> None:
    # allowances -0.35 to 1.35 over the width: the reference at 0.35/1.7 = 20.59 %, the limit at 1.35/1.7 = 79.41 %
    for figure in key_figures(example_document()):
        scale = figure.scale
        assert scale is not None and (scale.reference, scale.limit) == (20.59, 79.41)
        assert scale.low <= scale.now <= scale.high
    first = key_figures(example_document())[0].scale
    assert first is not None and first.now == pytest.approx(100 * (0.78 + 0.35) / 1.7, abs=0.01)


def test_a_value_beyond_the_scale_stays_at_its_end() -> None:
    document = example_document()
    document["indicators"][1] |= {"value": 3.0, "low": 2.9, "high": 3.1}
    scale = key_figures(document)[1].scale
    assert scale is not None and scale.now == 100.0


def test_a_change_is_said_only_when_its_interval_has_one_sign() -> None:
    entry = {"change_per_30_days": -0.011, "change_low": -0.014, "change_high": -0.008, "temperature_corrected": True}
    assert trend_words(entry) == "−1.1\u202f% in 30 days"
    assert trend_words(entry | {"change_high": 0.002}) == "no clear change"
    assert trend_words(entry | dict.fromkeys(entry) | {"temperature_corrected": True}) == "too few days for a trend"
    assert trend_words(entry | {"temperature_corrected": False}) == "not corrected for temperature"


def test_only_stages_past_a_warning_are_marked() -> None:
    assert stage_attention(example_document()) == {
        2: "flow −19\u202f%; salt passage +22\u202f%; pressure drop +11\u202f%"
    }


def test_an_indicator_that_is_not_corrected_for_temperature_marks_nothing() -> None:
    document = example_document()
    for entry in document["indicators"]:
        entry["temperature_corrected"] = False
    assert stage_attention(document) == {2: "pressure drop +11\u202f%"}
    figures = key_figures(document)
    assert [figure.over for figure in figures] == [False, False, False, True]
    assert [figure.scale is None for figure in figures] == [True, True, False, False]
