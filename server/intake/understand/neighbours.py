"""Columns whose names do not say whose water they measure: what do the numbers say, beside each other?

All of it is a guess, and told as one. Common practice, no source: plants make more permeate than concentrate; their
permeate has less than a fifth of the feed's conductivity; pressure falls along the way of the water.
"""

import statistics
from collections.abc import Mapping, Sequence

from server.intake.understand.meaning import Meaning

Columns = Mapping[str, Sequence[float]]
SUM_WITHIN = 0.08
"""Share by which two flows may miss a third that is their sum."""
PERMEATE_SHARE = 0.2
"""Largest conductivity of a permeate, of that of its feed."""
NEAR = 0.6
"""Smallest pressure of a concentrate, of that of its feed."""


def by_neighbours(open_columns: Columns, measures: Mapping[str, str], taken: Columns) -> dict[str, Meaning]:
    """Guesses for columns that only say flow, pressure or conductivity; `taken` are the quantities found by name."""
    found: dict[str, Meaning] = {}
    for measure, guess in (("flow", _flows), ("conductivity", _conductivities), ("pressure", _pressures)):
        middles = {
            name: statistics.median(numbers) for name, numbers in open_columns.items() if measures[name] == measure
        }
        if middles and not any(name.endswith(measure) for name in taken):
            found |= guess(middles)
    return found


def _guess(name: str, reason: str) -> Meaning:
    return Meaning(name, "guess", f"{reason}; please check")


def _flows(middles: Mapping[str, float]) -> dict[str, Meaning]:
    if len(middles) != 3:
        return {}
    largest, second, third = sorted(middles, key=lambda name: -middles[name])
    if abs(middles[second] + middles[third] - middles[largest]) > SUM_WITHIN * middles[largest]:
        return {}
    return {
        largest: _guess("feed_flow", "it is the sum of the two other flows"),
        second: _guess("permeate_flow", "it is the larger of two flows that make up the third"),
        third: _guess("concentrate_flow", "it is the smaller of two flows that make up the third"),
    }


def _conductivities(middles: Mapping[str, float]) -> dict[str, Meaning]:
    ordered = sorted(middles, key=lambda name: middles[name])
    if len(ordered) not in (2, 3) or middles[ordered[0]] > PERMEATE_SHARE * middles[ordered[1]]:
        return {}
    names = ("permeate_conductivity", "feed_conductivity", "concentrate_conductivity")
    words = ("the lowest", "far above the permeate", "the highest")
    return {
        column: _guess(name, f"its conductivity is {word}")
        for column, name, word in zip(ordered, names, words, strict=False)
    }


def _pressures(middles: Mapping[str, float]) -> dict[str, Meaning]:
    ordered = sorted(middles, key=lambda name: -middles[name])
    if len(ordered) not in (2, 3) or middles[ordered[1]] < NEAR * middles[ordered[0]]:
        return {}
    if len(ordered) == 3 and middles[ordered[2]] > NEAR * middles[ordered[0]]:
        return {}
    names = ("feed_pressure", "concentrate_pressure", "permeate_pressure")
    words = ("the highest", "a little below the highest", "far below the others")
    return {
        column: _guess(name, f"its pressure is {word}")
        for column, name, word in zip(ordered, names, words, strict=False)
    }
