"""Steps that nobody explained become questions; those that were answered do not."""

from typing import Any

from server.assessments.questions import ANSWERS, questions_of


def step(**change: Any) -> dict[str, Any]:
    return {
        "day": "2026-02-11", "stage": 1, "words": "On 11 February 2026 …", "answered": False, "likely": "cleaning",
        "why": "what fouling had taken came back",
    } | change  # fmt: skip


def test_the_likeliest_answer_comes_first() -> None:
    (question,) = questions_of(
        {"steps": [step(likely="source-change", why="the feed went up by 20 %"), step(answered=True)]}
    )
    assert question.answers[0] == ("source-change", "Another source of water")
    assert len(question.answers) == len(ANSWERS)
    assert question.looks_like == "It looks like another source of water: the feed went up by 20 %."


def test_a_document_from_before_has_no_questions() -> None:
    assert questions_of({}) == ()


def test_nothing_is_guessed_where_nothing_speaks_for_it() -> None:
    (question,) = questions_of({"steps": [step(likely="", why="")]})
    assert question.looks_like == "" and question.answers[0][0] == "cleaning"


def test_where_several_are_as_likely_all_are_said() -> None:
    (question,) = questions_of({"steps": [step(likely="", why="salt passage rose: a cell, or damage")]})
    assert question.looks_like == "Salt passage rose: a cell, or damage."
