"""What the verdict would be with other limits: worked out from the stored answer, nothing is changed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from analytics.judgement.grounds import Verdict
from analytics.judgement.verdict import reach_verdict
from analytics.plant import Limits
from server.assessments.grounds import grounds_of, indicators_under, limits_of

Document = Mapping[str, Any]


@dataclass(frozen=True)
class Slider:
    """One limit that can be tried: per cent of change from the reference; `now` is that of the plant."""

    name: str
    label: str
    least: int
    most: int
    value: int
    now: int


_LABELS = (
    ("permeate_flow", "Loss of permeate flow", 30),
    ("salt_passage", "Rise of salt passage", 60),
    ("pressure_drop", "Rise of pressure drop", 60),
)
LEAST = 2


def sliders_of(document: Document, asked: Mapping[str, str]) -> tuple[Slider, ...]:
    """A slider for each indicator that was judged, at what is asked for, else at the limit of the plant."""
    limits, judged = limits_of(document), {entry["name"] for entry in document["indicators"]}
    sliders = []
    for name, label, most in _LABELS:
        now = round(100 * abs(getattr(limits, f"{name}_clean") - 1))
        if name in judged:
            least, most = min(LEAST, now), max(most, now)
            sliders.append(Slider(name, label, least, most, _asked(asked.get(name, ""), least, most, now), now))
    return tuple(sliders)


def _asked(text: str, least: int, most: int, now: int) -> int:
    try:
        return min(max(int(text), least), most)
    except ValueError:
        return now


def verdict_with(document: Document, sliders: Sequence[Slider]) -> Verdict | None:
    """The verdict with other limits; all else that it rests on stays as it was found.

    None of an answer that was kept without what it rests on.
    """
    grounds = grounds_of(document)
    if grounds is None:
        return None
    limits = limits_of(document)
    for slider in sliders:
        if slider.value != slider.now:
            limits = _moved(limits, slider)
    return reach_verdict(indicators_under(document, limits), grounds)


def _moved(limits: Limits, slider: Slider) -> Limits:
    """Limits with one at its slider: the warning keeps its share of the way, and too late is never before the limit."""
    warn, clean, late = (getattr(limits, f"{slider.name}_{kind}") for kind in ("warn", "clean", "too_late"))
    tried = 1 + (slider.value / 100 if clean > 1 else -slider.value / 100)
    found = {
        f"{slider.name}_warn": 1 + (warn - 1) * (tried - 1) / (clean - 1),
        f"{slider.name}_clean": tried,
        f"{slider.name}_too_late": max(late, tried) if clean > 1 else min(late, tried),
    }
    return replace(limits, **found)
