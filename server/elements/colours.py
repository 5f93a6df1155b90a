"""How the places of the map are marked: a shade, a short text that says the same in grey, and words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analytics.decisions.element_condition import Condition, ElementCondition
from analytics.decisions.element_map import Place
from server.display import number
from server.elements.queries import Placed

SHADES = 5
COLOURS = {
    "age": "Age",
    "condition": "Condition",
    "cleanings": "Cleanings lived through",
    "chlorine": "Free chlorine seen",
}
UNITS = {"age": "years", "cleanings": "", "chlorine": "ppm·h"}
DAYS_PER_YEAR = 365.25
NOT_KNOWN = "?"


@dataclass(frozen=True)
class Mark:
    """One place or one step of the legend; `shade` is "0" (least) to "4", "unknown" or "empty"."""

    shade: str
    text: str
    words: str


CONDITIONS: Mapping[Condition, Mark] = {
    Condition.NOTHING_FOUND: Mark("0", "ok", "nothing found against it"),
    Condition.WATCH: Mark("2", "~", "near a limit, or above its stage"),
    Condition.PAST_A_LIMIT: Mark("4", "!", "past a limit, or out of its stage"),
    Condition.UNKNOWN: Mark("unknown", NOT_KNOWN, "not known"),
}
EMPTY = Mark("empty", "", "no element known")


@dataclass(frozen=True)
class Coloured:
    """Marks by place, and the legend of those that occur."""

    marks: Mapping[Place, Mark]
    legend: tuple[Mark, ...]


def coloured(lying: Mapping[Place, Placed], colour: str, conditions: Mapping[Place, ElementCondition]) -> Coloured:
    """Mark what lies in a train by one of `COLOURS`."""
    if colour == "condition":
        marks = {place: CONDITIONS[one.condition] for place, one in conditions.items()}
        steps = [mark for mark in CONDITIONS.values() if mark in marks.values()]
        return Coloured(marks, tuple(steps))
    values = {place: _value(one, colour) for place, one in lying.items()}
    known = [value for value in values.values() if value is not None]
    step = _step(known, fine=colour == "age")
    marks = {place: _mark(value, step, colour) for place, value in values.items()}
    unknown = [CONDITIONS[Condition.UNKNOWN]] if len(known) < len(values) else []
    return Coloured(marks, (*_legend(step, colour, known), *unknown))


def _value(one: Placed, colour: str) -> float | None:
    """What a place is coloured by: years, cleanings, or the least chlorine seen [ppm h]."""
    if one.lived is None:
        return None
    if colour == "cleanings":
        return float(one.lived.cleanings)
    if colour == "chlorine":
        return None if one.lived.exposure is None else one.lived.exposure.least
    return one.lived.days / DAYS_PER_YEAR


def _step(known: Sequence[float], *, fine: bool) -> float:
    """A round step of which `SHADES` reach beyond the highest value."""
    highest = max(known, default=0.0)
    steps = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 5000, 1e9)
    return next(step for step in ((0.25, 0.5, *steps) if fine else steps) if step * SHADES > highest)


def _mark(value: float | None, step: float, colour: str) -> Mark:
    if value is None:
        return CONDITIONS[Condition.UNKNOWN]
    text = number(value, 1 if colour == "age" else 0)
    return Mark(
        str(min(int(value / step), SHADES - 1)), text, f"{COLOURS[colour].lower()} {text} {UNITS[colour]}".strip()
    )


def _legend(step: float, colour: str, known: Sequence[float]) -> list[Mark]:
    """Steps from the lowest to the highest that occurs."""
    if not known:
        return []
    decimals = 2 if step < 0.5 else 1 if step < 1 else 0
    last = min(int(max(known) / step), SHADES - 1)
    return [Mark(str(n), "", f"from {number(step * n, decimals)} {UNITS[colour]}".strip()) for n in range(last + 1)]
