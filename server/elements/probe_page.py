"""The worksheet of a probing as typed values: a field before and behind each connector, and the answer."""

from collections.abc import Mapping
from dataclasses import dataclass

from analytics.decisions.element_map import Layout
from analytics.errors import InvalidSettings
from analytics.judgement.probing import ProbeStep, probe_step
from server.display import number
from server.typed_numbers import typed_number

HIGHEST_US_CM = 100_000.0
ENDS = (("front", 0.1), ("back", 0.9))
"""Where an element is sampled, in elements from its feed end."""
LONGEST = 500


@dataclass(frozen=True)
class ProbeField:
    name: str
    label: str
    value: str


@dataclass(frozen=True)
class ProbeLine:
    """One sample, its bar [%], and what is to be said of it."""

    label: str
    value: str
    share: float
    note: str


@dataclass(frozen=True)
class Probe:
    """What was entered, by fields or as two rows of numbers, and the answer or what is wrong."""

    elements: tuple[tuple[int, tuple[ProbeField, ...]], ...]
    places: str
    values: str
    lines: tuple[ProbeLine, ...]
    answer: str
    error: str


def probe_of(query: Mapping[str, str], layout: Layout) -> Probe:
    """The answer of a probing from the address."""
    most = max(elements for _, elements in layout.stages)
    fields = tuple(
        (n, tuple(ProbeField(name := f"{end}{n}", end, query.get(name, "")[:LONGEST]) for end, _ in ENDS))
        for n in range(1, most + 1)
    )
    places, values = query.get("places", "")[:LONGEST], query.get("values", "")[:LONGEST]
    lines: tuple[ProbeLine, ...] = ()
    answer = error = ""
    try:
        samples = _in_rows(places, values) | _in_fields(fields)
        if samples:
            at = sorted(samples)
            step = probe_step(at, [samples[place] for place in at])
            lines, answer = _lines(samples, step), step.said
    except (InvalidSettings, ValueError) as problem:
        error = f"{str(problem)[:1].upper()}{str(problem)[1:].rstrip('.')}."
    return Probe(fields, places, values, lines, answer, error)


def _in_fields(fields: tuple[tuple[int, tuple[ProbeField, ...]], ...]) -> dict[float, float]:
    """Conductivities by place; what is left out is not there. [uS/cm]"""
    found = {}
    for n, of_element in fields:
        for field, (end, within) in zip(of_element, ENDS, strict=True):
            if field.value.strip():
                found[round(n - 1 + within, 1)] = _conductivity(field.value, f"Element {n}, {end}")
    return found


def _in_rows(places: str, values: str) -> dict[float, float]:
    """The same from two rows of numbers apart by spaces or semicolons."""
    at, found = (row.replace(";", " ").split() for row in (places, values))
    if len(at) != len(found):
        raise ValueError(f"There are {len(at)} places and {len(found)} conductivities; each place needs one.")
    numbers = [_number(part, "places") for part in at]
    if sorted(set(numbers)) != numbers or any(not 0 <= place <= 100 for place in numbers):
        raise ValueError("Places must rise from the feed end, in elements: 0.1 0.9 1.1 and so on.")
    return dict(zip(numbers, (_conductivity(part, "conductivities") for part in found), strict=True))


def _conductivity(text: str, where: str) -> float:
    value = _number(text, where)
    if not 0 < value <= HIGHEST_US_CM:
        raise ValueError(f'{where}: "{text[:20]}" is not a conductivity above zero, in µS/cm.')
    return value


def _number(text: str, where: str) -> float:
    try:
        return float(typed_number(text))
    except ValueError as error:
        raise ValueError(f'{where}: "{text[:20]}": {error}') from None


def _lines(samples: Mapping[float, float], step: ProbeStep) -> tuple[ProbeLine, ...]:
    highest = max(samples.values())
    notes = dict.fromkeys(step.odd, "stands alone")
    notes |= {} if step.before is None else {step.before: "the step comes behind it"}
    return tuple(
        ProbeLine(_label(place), number(value, 1), round(100 * value / highest, 1), notes.get(place, ""))
        for place, value in sorted(samples.items())
    )


def _label(place: float) -> str:
    for end, within in ENDS:
        if abs(place % 1 - within) < 1e-6:
            return f"Element {int(place) + 1}, {end}"
    return f"{place:g}"
