"""Causes, what to do about them, and cleanings so far, for a terminal."""

import textwrap
from collections.abc import Sequence

from analytics.decisions.cleaning_history import JudgedCleaning
from analytics.decisions.cleaning_window import CleaningWindow
from analytics.judgement.cause import Cause
from analytics.judgement.separating import separating_check
from analytics.judgement.verdict_words import NAMES
from analytics.judgement.words import plain_date, scope_name
from server.assessments.cause_words import NEARLY_ALL
from server.assessments.levels import CAUSES

WIDTH = 88
MOST_CAUSES, MOST_EVIDENCE = 3, 2
RESULTS = {
    "worked": "it worked", "doubtful": "it worked in part", "failed": "it did not work",
    "too early": "too early to say",
    "nothing to win": "little was there to win", "cannot be said": "cannot be said",
}  # fmt: skip
ADVICE = {
    "now": "clean now", "plan": "plan a cleaning", "not yet": "not yet", "look first": "look first",
    "unknown": "not known yet",
}  # fmt: skip


def causes_part(causes: Sequence[Cause]) -> str:
    """The likeliest causes with their evidence, and the check that tells the first two apart."""
    if not causes:
        return ""
    lines = ["Why, as far as the meters tell:"]
    for cause in causes[:MOST_CAUSES]:
        place = f", stage {cause.stage}" if cause.stage else ""
        said = " ".join(cause.evidence[:MOST_EVIDENCE])
        share = ">99" if cause.probability >= NEARLY_ALL else f"{100 * cause.probability:.0f}"
        first = f"{share:>5} %  "
        text = f"{CAUSES.get(cause.cause, cause.cause)}{place}. {said}".rstrip()
        lines.append(textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=" " * len(first)))
    check = separating_check(causes)
    lines.append(_wrap(f"First check: {causes[0].next_check if check is None else check.check}."))
    return "\n".join(lines)


def cleaning_part(window: CleaningWindow, cleanings: Sequence[JudgedCleaning]) -> str:
    """When to clean and why, and what became of the cleanings in the log."""
    lines = [f"Cleaning: {ADVICE[window.advice]}", *(_item(reason) for reason in window.reasons)]
    lines += [_item(cleaning_words(one)) for one in cleanings]
    return "\n".join(lines)


def cleaning_words(one: JudgedCleaning) -> str:
    """What became of one cleaning, in a sentence."""
    stage = f" of stage {one.days.stage}" if one.days.stage else ""
    said = f"The cleaning{stage} of {plain_date(one.days.first)}: {RESULTS[one.result.quality]}"
    governing = one.result.governing
    if governing is None or governing.efficiency is None:
        return f"{said}."
    share = governing.efficiency
    low, high = (100 * max(min(value, 1.0), 0.0) for value in (share.low, share.high))
    name = f"{NAMES[governing.name]} of {scope_name(governing.scope)}"
    return f"{said}, {100 * share.value:.0f} % ({low:.0f} to {high:.0f} %) of what {name} had lost came back."


def _wrap(text: str) -> str:
    return textwrap.fill(text, WIDTH, initial_indent="  ", subsequent_indent="  ")


def _item(text: str) -> str:
    return textwrap.fill(text, WIDTH, initial_indent="  - ", subsequent_indent="    ")
