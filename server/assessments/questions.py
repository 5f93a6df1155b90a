"""Questions to the people of the plant: steps in the indicators that nobody wrote down."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.display import sentence

ANSWERS = {
    "cleaning": "A cleaning", "element-replacement": "Other elements", "meter-calibration": "A meter",
    "set-point-change": "A set-point", "source-change": "Another source of water", "note": "Nobody knows",
}  # fmt: skip
"""Kinds of event that answer a step, as buttons say them; "Nobody knows" becomes a note."""
MOST_ASKED = 3


@dataclass(frozen=True)
class Question:
    """One step: what moved, what it looks like, and the answers, the likeliest first."""

    day: str
    stage: str
    words: str
    looks_like: str
    answers: tuple[tuple[str, str], ...]


def questions_of(document: Mapping[str, Any]) -> tuple[Question, ...]:
    """The latest steps that nobody has explained, the newest first."""
    open_steps = [step for step in document.get("steps", []) if not step["answered"]]
    return tuple(_question(step) for step in reversed(open_steps[-MOST_ASKED:]))


def _question(step: Mapping[str, Any]) -> Question:
    likely = step["likely"]
    ordered = sorted(ANSWERS.items(), key=lambda answer: answer[0] != likely)
    why = f"{sentence(step['why'])}." if step["why"] else ""
    looks = f"It looks like {ANSWERS[likely].lower()}: {step['why']}." if likely in ANSWERS else why
    return Question(step["day"], str(step["stage"] or ""), step["words"], looks, tuple(ordered))
