"""Causes and cleanings in a terminal: plain sentences with their numbers."""

from datetime import date

from analytics.decisions.cleaning_effect import CleaningResult, Efficiency, IndicatorEffect, Level
from analytics.decisions.cleaning_history import CleaningDays, JudgedCleaning
from analytics.decisions.cleaning_window import CleaningWindow
from analytics.judgement.cause import Cause
from server.assessments.judged_document import cleaning_document
from server.assessments.report_advice import WIDTH, causes_part, cleaning_part, cleaning_words

BEFORE, AFTER = Level(1.30, 0.01, 20), Level(1.06, 0.01, 20)
EFFECT = IndicatorEffect("stage1", "pressure_drop", BEFORE, AFTER, Efficiency(0.80, 0.69, 1.12), 0.06, 1.05, None)
DAYS = CleaningDays(date(2026, 5, 3), date(2026, 5, 4), 1)
CLEANED = JudgedCleaning(DAYS, CleaningResult("worked", EFFECT, (EFFECT,)), 12)
SCALE = Cause(
    "scaling", 2, 0.71, ("Salt permeability of the last stage +19 %.", "One.", "Two."), "look at the dose", ""
)


def test_causes_are_told_with_evidence_and_the_first_check() -> None:
    said = causes_part([SCALE])
    assert "71 %  Scale, stage 2. Salt permeability of the last stage +19 %. One." in said and "Two." not in said
    assert said.endswith("First check: look at the dose.")
    assert causes_part([]) == ""


def test_a_cleaning_is_told_with_the_share_that_came_back() -> None:
    assert cleaning_words(CLEANED) == (
        "The cleaning of stage 1 of 3 May 2026: it worked, 80 % (69 to 100 %) of what pressure drop of stage 1 had lost"
        " came back."
    )
    nothing = JudgedCleaning(CleaningDays(DAYS.first, DAYS.last, None), CleaningResult("too early", None, ()), None)
    assert cleaning_words(nothing) == "The cleaning of 3 May 2026: too early to say."


def test_the_window_comes_before_the_cleanings_so_far() -> None:
    window = CleaningWindow("look first", "train", "permeate_flow", None, None, None, None, "", ("It does not help.",))
    lines = cleaning_part(window, [CLEANED]).splitlines()
    assert lines[:2] == ["Cleaning: look first", "  - It does not help."] and lines[2].startswith("  - The cleaning of")
    assert max(map(len, lines)) <= WIDTH


def test_the_document_has_levels_and_share() -> None:
    found = cleaning_document(CLEANED)
    assert (found["day"], found["stage"], found["result"], found["days_past_limit"]) == ("2026-05-03", 1, "worked", 12)
    assert (found["before"], found["after"], found["given_back"], found["given_back_high"]) == (1.30, 1.06, 0.80, 1.12)
    unknown = cleaning_document(JudgedCleaning(DAYS, CleaningResult("too early", None, ()), None))
    assert unknown["given_back"] is None and unknown["name"] == ""
