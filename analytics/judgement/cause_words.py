"""What speaks for a cause and against it, in plain words with numbers."""

from typing import Literal

import numpy as np

from analytics.judgement.observed import Seen
from analytics.judgement.signatures import COURSES, Course, Signature

FITS, DOES_NOT_FIT = 1.5, 0.5
"""Weights of a course from which it speaks for a cause, or against it. [-]"""
_COURSES: dict[Course, str] = {
    "steady": "steady over time",
    "accelerating": "getting faster",
    "levelling off": "levelling off",
    "step": "a step, not a drift",
    "flat": "hardly to be told from scatter",
}
CLEAR, TOUCHED, MAIN = 2.0, 0.15, 0.6
"""A change is clear beyond so many standard errors; an effect smaller than the second figure leaves a place alone, one
from the third figure on belongs to the cause (`signatures`). [-]"""
SHOWS = 0.06
"""A change of this size would stand out where twice its standard error is no more; else nothing is said of what has not
moved. Judgement, no source. [-]"""
Speaks = Literal["for", "leans", "against", "left alone", "hardly moved", ""]
PLAIN_CHECK = {
    "none": "nothing beyond the usual readings",
    "feed-change": "have the feed analysed and compare it with the last analysis",
}
WHAT = {"water": "water permeability", "salt": "salt permeability", "friction": "channel friction"}
PLACE = {"first": "the first stage", "last": "the last stage", "all": "the train"}


def speaks(expected: float, change: float, error: float) -> Speaks:
    """What one change says of a cause that expects some effect there: it is for it, goes the other way, is one that the
    cause would leave alone, or is missing though it belongs to the cause and would show; it leans that way where it is
    not clear yet, and says nothing else.

    Examples
    --------
    >>> speaks(-1.0, -0.10, 0.02), speaks(-1.0, 0.10, 0.02), speaks(0.0, 0.10, 0.02), speaks(-1.0, 0.01, 0.02)
    ('for', 'against', 'left alone', 'hardly moved')
    >>> speaks(-1.0, -0.10, 0.07), speaks(-1.0, -0.02, 0.07)
    ('leans', '')
    """
    if abs(change) > CLEAR * error:
        if abs(expected) < TOUCHED:
            return "left alone"
        return "for" if change * expected > 0 else "against"
    if abs(expected) < MAIN:
        return ""
    if CLEAR * error <= SHOWS:
        return "hardly moved"
    return "leans" if change * np.sign(expected) > error else ""


def evidence_of(signature: Signature, seen: Seen, first_share: float) -> list[str]:
    """What goes with the signature and what goes against it, with numbers; the largest first."""
    pattern = seen.expected(signature.first, signature.last, first_share)
    order = np.argsort(-np.abs(seen.changes) / seen.errors)
    said: list[str] = []
    for k in order:
        place, what = seen.names[k]
        expected, value = float(pattern[k]), seen.changes[k]
        moved = f"{WHAT[what]} of {PLACE[place]}"
        percent = f"{100 * np.expm1(value):+.0f} %".replace("-", "−")
        said += {
            "for": [f"{moved} {percent}."],
            "leans": [
                f"{moved} {percent}, but that is not sure: give or take {100 * 1.645 * seen.errors[k]:.0f} points."
            ],
            "against": [f"Against it: {moved} {percent}."],
            "left alone": [f"Against it: {moved} {percent}, which it would leave alone."],
            "hardly moved": [f"Against it: {moved} has hardly moved ({percent})."],
            "": [],
        }[speaks(expected, value, seen.errors[k])]
    return [sentence[:1].upper() + sentence[1:] for sentence in said[:4]]


def plain_evidence(cause: str, seen: Seen, salinity_change: float, salinity_step: float) -> list[str]:
    """The same for `none` and `feed-change`, which have no signature."""
    if cause == "feed-change":
        change = f"{100 * salinity_change:+.0f} %".replace("-", "−")
        step = f"{100 * salinity_step:+.0f} %".replace("-", "−")
        sudden = f" From one day to the next it changed by {step}." if salinity_step else ""
        return [f"Feed salinity has changed by {change} since the reference.{sudden}"]
    moved = [
        f"{WHAT[what]} of {PLACE[place]} {100 * np.expm1(value):+.0f} %".replace("-", "−")
        for (place, what), value, error in zip(seen.names, seen.changes, seen.errors, strict=True)
        if abs(value) > 2 * error
    ]
    if not moved:
        return ["Nothing has moved beyond what the meters can tell."]
    return [f"Against it: {', '.join(moved)}."]


def course_words(courses: tuple[float, ...], course: Course | None) -> list[str]:
    """What the course over time says of a cause; nothing where it is neutral, or not clear."""
    weight = 1.0 if course is None else courses[COURSES.index(course)]
    if course is None or DOES_NOT_FIT < weight < FITS:
        return []
    return [
        f"The change is {_COURSES[course]}." if weight >= FITS else f"Against it: the change is {_COURSES[course]}."
    ]
