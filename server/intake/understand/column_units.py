"""In which unit each column is given: as its name says, as its numbers show, or a question."""

import statistics
from collections.abc import Sequence
from dataclasses import dataclass, replace

from analytics.condition.meanings import GAUGE_UNITS
from analytics.quantities import QUANTITIES
from analytics.units import to_canonical, units_of
from server.intake.understand.column_doubts import column_doubt
from server.intake.understand.drafts import Draft
from server.intake.understand.meaning import CERTAINTY, Confidence, canonical_unit
from server.intake.understand.understanding import Doubt, FoundColumn, Known
from server.intake.understand.unit_words import PERCENT

US_UNITS, SI_UNITS = frozenset(("psi", "gpm", "degF", "gpd", "gal")), frozenset(("bar", "m3/h", "degC", "kPa", "MPa"))


@dataclass(frozen=True)
class System:
    """Units in which a file is written, "US" or "SI" ("" where nothing tells), and whether the file tells it."""

    units: str
    told: bool


def system_of(drafts: list[Draft], known: Known) -> System:
    """Units in which the file is written, by those that it names; else those of the site."""
    units = [draft.facets.unit for draft in drafts]
    us, si = sum(unit in US_UNITS for unit in units), sum(unit in SI_UNITS for unit in units)
    told = "US" if us > si else "SI" if si > us else ""
    return System(told or known.units, told != "")


def with_unit(draft: Draft, known: Known, system: System) -> FoundColumn:
    meaning, facets = draft.meaning, draft.facets
    found = FoundColumn(
        draft.name, meaning.name, "", meaning.confidence, meaning.reason, examples=draft.examples,
        measures=canonical_unit(facets),
    )  # fmt: skip
    if meaning.name not in QUANTITIES:
        return found
    quantity = QUANTITIES[meaning.name]
    found = replace(found, measures=quantity.unit)
    expected = known.expected.get(quantity.column, quantity.usual)
    usual = known.usual.get(quantity.column)
    if facets.unit and facets.unit != PERCENT and facets.unit in units_of(quantity.unit):
        doubt = column_doubt(draft.name, draft.numbers, facets.unit, quantity, expected, usual)
        return replace(found, unit=facets.unit, unit_reason=facets.unit_where, doubt=doubt)
    if facets.unit and facets.unit not in (PERCENT, "-") and quantity.unit != "-":
        what = f"which does not measure {quantity.label.lower()}"
        text = f'"{draft.name}" is given in {facets.unit}, {what}: in which is it?'
        return replace(found, confidence="guess", doubt=Doubt("", text))
    if facets.unknown_unit and quantity.unit != "-":
        why = facets.unknown_why or "a unit that is not known here"
        text = f'"{draft.name}" is given in "{facets.unknown_unit}", {why}: in which is it?'
        return replace(found, confidence="guess", doubt=Doubt("", text))
    if quantity.unit not in GAUGE_UNITS:
        doubt = column_doubt(draft.name, draft.numbers, quantity.unit, quantity, expected, usual)
        return replace(found, unit=quantity.unit, unit_reason="there is hardly another", doubt=doubt)
    unit, reason, confidence = _unit_by_values(
        draft.numbers, quantity.unit, expected, usual, system.units, told=system.told
    )
    if facets.odd:
        confidence, reason = "guess", f'{reason}; whether "{facets.odd}" says one is not known here'
    worse = min(confidence, found.confidence, key=lambda name: CERTAINTY[name])
    doubt = column_doubt(draft.name, draft.numbers, unit, quantity, expected, usual)
    return replace(found, unit=unit, unit_reason=reason, confidence=worse, doubt=doubt)


def _unit_by_values(
    numbers: Sequence[float],
    canonical: str,
    expected: tuple[float, float],
    usual: float | None,
    system: str,
    *,
    told: bool,
) -> tuple[str, str, Confidence]:
    """The unit that makes the numbers what they should be; where several do, the one the file or site works in.

    That is a guess where the file names no unit at all (`told` is false).
    """
    candidates = GAUGE_UNITS[canonical]
    preferred = next((unit for unit in candidates if unit in (US_UNITS if system == "US" else SI_UNITS)), canonical)
    if not numbers:
        return preferred, "no unit is given, and there are no values to tell", "guess"
    middle = statistics.median(sorted(numbers)[len(numbers) // 4 :])
    sizes = {unit: float(to_canonical(middle, unit, canonical)) for unit in candidates}
    if usual:
        ratios = {unit: max(size / usual, usual / size) for unit, size in sizes.items() if size * usual > 0}
        best = min(ratios, key=lambda unit: ratios[unit], default="")
        if best and ratios[best] < 1.5:
            return best, f"no unit is given; in {best} it is {sizes[best]:.4g} {canonical}, as usual here", "likely"
    fitting = [unit for unit, size in sizes.items() if expected[0] <= size <= expected[1]]
    if len(fitting) == 1:
        return fitting[0], f"no unit is given; only {fitting[0]} makes {middle:.4g} a value that can be", "likely"
    unit = preferred if preferred in fitting or not fitting else fitting[0]
    if system and told:
        return unit, f"no unit is given; most columns are in {system} units", "likely"
    several = ", ".join(fitting) if len(fitting) > 1 else ""
    return unit, f"no unit is given{f'; it could be {several}' if several else ', and nothing tells'}", "guess"
