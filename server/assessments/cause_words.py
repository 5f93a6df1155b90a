"""Causes and their checks in the words of the pages."""

from collections.abc import Mapping, Sequence
from typing import Any

from server.assessments.levels import CAUSES
from server.assessments.meter_words import Entry, in_question
from server.display import THIN, number, sentence, uncapitalized

Document = Mapping[str, Any]
NEARLY_ALL = 0.995
"""What would be rounded to 100 %. [-]"""


def causes_in_order(document: Document) -> list[Mapping[str, Any]]:
    """The causes of an answer, likeliest first."""
    return sorted(document["causes"], key=lambda cause: -cause["probability"])


def cause_name(cause: Mapping[str, Any], meters: Sequence[Entry] = ()) -> str:
    """A cause in words with its stage, as a sentence begins: "Scale, stage 2"; a meter by the names of `meters`."""
    if cause["cause"] == "meter" and meters:
        return sentence(in_question(meters))
    name = CAUSES.get(cause["cause"], sentence(cause["cause"]))
    return f"{name}, stage {cause['stage']}" if cause["stage"] else name


def probability_words(cause: Mapping[str, Any]) -> str:
    """Such as 71 %; never 100 %, which nothing is.

    Examples
    --------
    >>> probability_words({"probability": 0.998}).replace(THIN, " ")
    'over 99 %'
    """
    share = cause["probability"]
    return f"over 99{THIN}%" if share >= NEARLY_ALL else f"{number(100 * share)}{THIN}%"


def as_sentence(text: str) -> str:
    """Begin with a capital and end with one full stop; nothing stays nothing."""
    return f"{sentence(text.rstrip('.'))}." if text else ""


def first_check(document: Document) -> str:
    """The check that is made first: the one that separates the two likeliest causes, or the likeliest one's own."""
    if check := document.get("separating_check"):
        return check_of(check["check"], check["minutes"])
    found = next((cause for cause in causes_in_order(document) if cause["cause"] != "none"), None)
    return check_of(found["next_check"], found.get("minutes")) if found else ""


def check_words(document: Document) -> str:
    """The first check, and what it tells."""
    check, begun = document.get("separating_check"), first_check(document)
    if not check:
        return begun
    one, other = (uncapitalized(CAUSES.get(check[key], check[key])) for key in ("cause", "other"))
    if check["shared"]:
        return f"{begun} It shows which of the two it is."
    if check["other"] == "none":
        return f"{begun} It tells whether there is {one} at all."
    return f"{begun} It tells {one} from {other}: what the one loses, the other gains."


def check_of(check: str, minutes: int | None) -> str:
    """A check as a sentence, with how long it takes where that is known."""
    return f"{as_sentence(check)[:-1]} (about {minutes} minutes)." if minutes else as_sentence(check)
