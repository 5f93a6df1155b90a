"""What speaks for a cause and against it, in plain words with numbers."""

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
PLAIN_CHECK = {
    "none": "nothing beyond the usual readings",
    "feed-change": "have the feed analysed and compare it with the last analysis",
}
_WHAT = {"water": "water permeability", "salt": "salt permeability", "friction": "channel friction"}
_PLACE = {"first": "the first stage", "last": "the last stage", "all": "the train"}


def evidence_of(signature: Signature, seen: Seen) -> list[str]:
    """What goes with the signature and what goes against it, with numbers; the largest first."""
    parts = {"first": signature.first, "last": signature.last, "all": signature.first}
    order = np.argsort(-np.abs(seen.changes) / seen.errors)
    said = []
    for k in order:
        place, what = seen.names[k]
        expected, value, clear = getattr(parts[place], what), seen.changes[k], 2 * seen.errors[k]
        percent = f"{100 * np.expm1(value):+.0f} %".replace("-", "−")
        if abs(value) > clear and abs(expected) >= 0.15:
            fits = value * expected > 0
            said.append(f"{'' if fits else 'Against it: '}{_WHAT[what]} of {_PLACE[place]} {percent}.")
        elif abs(value) > clear:
            said.append(f"Against it: {_WHAT[what]} of {_PLACE[place]} {percent}, which it would leave alone.")
        elif abs(expected) >= 0.6:
            said.append(f"Against it: {_WHAT[what]} of {_PLACE[place]} has hardly moved ({percent}).")
    return [sentence[:1].upper() + sentence[1:] for sentence in said[:4]]


def plain_evidence(cause: str, seen: Seen, salinity_change: float, salinity_step: float) -> list[str]:
    """The same for `none` and `feed-change`, which have no signature."""
    if cause == "feed-change":
        change = f"{100 * salinity_change:+.0f} %".replace("-", "−")
        step = f"{100 * salinity_step:+.0f} %".replace("-", "−")
        sudden = f" From one day to the next it changed by {step}." if salinity_step else ""
        return [f"Feed salinity has changed by {change} since the reference.{sudden}"]
    moved = [
        f"{_WHAT[what]} of {_PLACE[place]} {100 * np.expm1(value):+.0f} %".replace("-", "−")
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
