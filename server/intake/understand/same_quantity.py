"""Several columns for one quantity: one stays, and what is not certain about that is said."""

import statistics
from dataclasses import replace

from analytics.quantities import QUANTITIES
from analytics.units import to_canonical
from server.intake.understand.drafts import Draft
from server.intake.understand.facets import MEASURE_OF_UNIT
from server.intake.understand.meaning import CERTAINTY, Confidence
from server.intake.understand.understanding import FoundColumn

SAME_WITHIN = 0.02
"""Share by which the middles of two columns may differ that show one gauge; common practice, no source."""


def each_once(drafts: list[Draft], found: list[FoundColumn]) -> list[FoundColumn]:
    """Two columns for one quantity: the surer stays, the other is left out and said so.

    Where nothing but their order speaks for the one that stays, and they do not show the same, it is to be checked.
    """
    best: dict[str, int] = {}
    for number, column in enumerate(found):
        rival = best.get(column.meaning)
        better = rival is None or _rank(found[number], drafts[number]) > _rank(found[rival], drafts[rival])
        if column.meaning and better:
            best[column.meaning] = number
    result = list(found)
    for number, column in enumerate(found):
        first = best.get(column.meaning, number)
        if first == number:
            continue
        confidence: Confidence = "guess" if column.confidence in {"sure", "likely"} else "unknown"
        reason = f'it would be the same as "{found[first].name}"; a reading has each quantity once'
        result[number] = replace(column, meaning="", unit="", confidence=confidence, reason=reason, doubt=None)
        alike = _rank(column, drafts[number])[:2] == _rank(found[first], drafts[first])[:2]
        if alike and not _show_the_same((column, drafts[number]), (found[first], drafts[first])):
            winner = result[first]
            why = f'{winner.reason}, but so could be "{column.name}"'
            result[first] = winner if winner.confidence == "guess" else replace(winner, confidence="guess", reason=why)
    return result


def _rank(column: FoundColumn, draft: Draft) -> tuple[int, int, bool, int]:
    """How much speaks for a column: a total above one with a number behind its name, a unit of its own, values."""
    facets = draft.facets
    numbered = not facets.tagged and not facets.stage and any(word.isdigit() for word in facets.words)
    whole = ("total_word" in facets.kinds) - numbered
    return CERTAINTY[column.confidence], whole, MEASURE_OF_UNIT.get(facets.unit, "") != "", len(draft.numbers)


def _show_the_same(one: tuple[FoundColumn, Draft], other: tuple[FoundColumn, Draft]) -> bool:
    """Whether two columns of one quantity show about the same, each in its unit."""
    if not one[1].numbers or not other[1].numbers:
        return False
    canonical = QUANTITIES[one[0].meaning].unit if one[0].meaning in QUANTITIES else ""
    sizes = [
        float(to_canonical(statistics.median(draft.numbers), column.unit or canonical, canonical))
        for column, draft in (one, other)
        if canonical
    ]
    return len(sizes) == 2 and abs(sizes[0] - sizes[1]) <= SAME_WITHIN * max(abs(sizes[0]), abs(sizes[1]))
