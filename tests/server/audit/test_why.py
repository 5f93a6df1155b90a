"""Why a verdict differs from the one before it."""

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from server.assessments.models import PastAssessment
from server.audit.why import FIRST, figure_name, why_changed

UTC_ZONE = ZoneInfo("UTC")
SETTINGS = {
    1: {"train": {"limits": {"permeate_flow_clean": 0.9}}},
    2: {"train": {"limits": {"permeate_flow_clean": 0.85}}},
    3: {"train": {"stage": [{"vessels": 3, "membrane": "bw8"}, {"vessels": 2, "membrane": "bw8"}]}},
    4: {"train": {"stage": [{"vessels": 3, "membrane": "bw8"}, {"vessels": 1, "membrane": "bw8"}]}},
}


def past(level: str, settings: int = 1, day: int = 1, flow: float = 0.95, **more: Any) -> PastAssessment:
    known = {"version": "0.1.0", "figures": {"train permeate_flow": [flow, flow - 0.01, flow + 0.01]}} | more
    return PastAssessment(level=level, settings_id=settings, as_of=datetime(2026, 3, day, tzinfo=UTC), **known)


def why(*verdicts: PastAssessment) -> list[str]:
    said = why_changed(verdicts, SETTINGS, UTC_ZONE, whole=True)
    return [text.replace("\u00a0", " ") for text in said]


def test_new_readings_say_until_when_and_what_moved() -> None:
    said = why(past("watch", day=9, flow=0.92), past("steady"))
    assert said == ["Before: steady. Readings up to 9 March 2026 and permeate flow, train from 0.95 to 0.92.", FIRST]


def test_a_changed_setting_is_named_with_both_values() -> None:
    assert why(past("steady", 2), past("plan cleaning"))[0] == (
        "Before: plan cleaning. Permeate flow: clean from 0.9 to 0.85."
    )


def test_a_changed_stage_is_named_by_what_changed_in_it() -> None:
    assert why(past("steady", 4), past("steady", 3))[0] == "Vessels of stage 2 from 2 to 1."


def test_another_program_is_a_reason_of_its_own() -> None:
    assert why(past("steady", version="0.2.0"), past("steady"))[0] == "Program 0.2.0 in place of 0.1.0."


def test_the_oldest_of_a_long_list_is_not_called_the_first() -> None:
    assert why_changed([past("steady")], SETTINGS, UTC_ZONE, whole=False) == [""]
    assert why_changed([], SETTINGS, UTC_ZONE, whole=True) == []


def test_figures_are_named_in_words() -> None:
    assert figure_name("stage2 salt_passage") == "Salt passage, stage 2"
