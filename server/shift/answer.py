"""What a person is told after an entry was handed in: one sentence with the verdict and what changed."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.assessments.levels import INDICATORS, REASONS, level_of, scope_words
from server.display import number
from server.shift.models import ShiftEntry

LEAST_MOVE = 0.005
"""Change of an indicator, a ratio to the reference, from which it shows in two decimals. [-]"""


@dataclass(frozen=True)
class Verdict:
    """What an assessment says: level, headline, and the indicators as its document has them."""

    level: str
    headline: str
    indicators: tuple[Mapping[str, Any], ...]


def saved_answer(entry: ShiftEntry, before: Verdict | None, after: Verdict | None, set_aside: str) -> dict[str, Any]:
    """The answer to an entry that became a reading."""
    kept = f"Saved, and set aside from trends: {REASONS.get(set_aside, set_aside)}." if set_aside else "Saved."
    return _document(entry, f"{kept} {_verdict_words(before, after)}", after)


def same_answer(entry: ShiftEntry, verdict: Verdict | None) -> dict[str, Any]:
    """The answer to an entry that says what is stored already."""
    words = f' The verdict is "{verdict.level}".' if verdict else ""
    return _document(entry, f"These very values are in the log already; nothing was added.{words}", verdict)


def conflict_answer(entry: ShiftEntry) -> dict[str, Any]:
    """The answer to an entry that contradicts a reading of the same instant."""
    words = "There is another reading of this very minute with other values. Both are kept: say which is right."
    return _document(entry, words, None) | {"look": "meter"}


def _document(entry: ShiftEntry, sentence: str, verdict: Verdict | None) -> dict[str, Any]:
    return {
        "outcome": entry.status,
        "entry": entry.id,
        "reading": entry.reading_id,
        "sentence": sentence,
        "level": level_of(verdict.level).label if verdict else "",
        "look": level_of(verdict.level).look if verdict else "unknown",
        "headline": verdict.headline if verdict else "",
    }


def _verdict_words(before: Verdict | None, after: Verdict | None) -> str:
    if after is None:
        return "There is no verdict yet."
    if before is None:
        return f'The first verdict is "{after.level}".'
    if before.level != after.level:
        return f'The verdict went from "{before.level}" to "{after.level}"; {_moved(before, after)}.'
    return f'The verdict stays "{after.level}"; {_moved(before, after)}.'


def _moved(before: Verdict, after: Verdict) -> str:
    """The indicator that moved most, in words."""
    old = {(one["scope"], one["name"]): one["value"] for one in before.indicators}
    moves = [
        (abs(one["value"] - was), one, was)
        for one in after.indicators
        if (was := old.get((one["scope"], one["name"]))) is not None and one["value"] is not None
    ]
    size, one, was = max(moves, key=lambda move: move[0], default=(0.0, {}, 0.0))
    if size < LEAST_MOVE:
        return "no indicator moved"
    name = f"{INDICATORS[one['name']]} of {'the train' if one['scope'] == 'train' else scope_words(one['scope'])}"
    return f"normalized {name} went from {number(was, 2)} to {number(one['value'], 2)} of the reference"
