"""What each column is: from its name, its values, what the train usually shows, and its neighbours."""

import re
import statistics
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from analytics.condition.meanings import GAUGE_UNITS, guess_meaning
from analytics.quantities import QUANTITIES
from analytics.units import from_canonical, to_canonical, units_of
from analytics.units import unit as unit_of
from server.intake.header_rows import cell_text
from server.intake.numerals import Marks, Numeral, is_ditto, is_no_value, read_number
from server.intake.rows import Cell
from server.intake.understand.facets import MEASURE_OF_UNIT, Facets, facets_of
from server.intake.understand.meaning import Confidence, Meaning, canonical_unit, left_out, meaning_of
from server.intake.understand.neighbours import by_neighbours
from server.intake.understand.states import says_little, state_words
from server.intake.understand.trains import own_number
from server.intake.understand.understanding import Doubt, FoundColumn, Known
from server.intake.understand.unit_words import PERCENT, not_taken, read_unit
from server.intake.yearless import is_date

US_UNITS, SI_UNITS = frozenset(("psi", "gpm", "degF", "gpd", "gal")), frozenset(("bar", "m3/h", "degC", "kPa", "MPa"))
_ORDER: dict[Confidence, int] = {"sure": 3, "likely": 2, "guess": 1, "unknown": 0}
_EXAMPLES = 3
_LETTER = re.compile(r"(?<![\w./-])([A-H])(?![\w./-])")
_LONG_TEXT = 8
"""Mean length of the texts of a column that holds remarks."""
SAME_WITHIN = 0.02
"""Share by which the middles of two columns may differ that show one gauge; common practice, no source."""


@dataclass(frozen=True)
class Draft:
    """A column on the way: its name taken apart, its values as numbers, and what it is taken for."""

    name: str
    facets: Facets
    numbers: tuple[float, ...]
    texts: tuple[str, ...]
    examples: tuple[str, ...]
    meaning: Meaning


def find_columns(
    columns: Mapping[str, Sequence[Cell]], known: Known, marks: Marks, units: Mapping[str, str] | None = None
) -> tuple[FoundColumn, ...]:
    """What each column is.

    Parameters
    ----------
    columns
        Cells by header, of a sample of rows; the columns of times are not among them.
    units
        Unit by header, where it stands in a column of its own.
    """
    drafts = [_draft(name, cells, marks, (units or {}).get(name, "")) for name, cells in columns.items()]
    stages = known.stages or max((draft.facets.stage for draft in drafts), default=0)
    drafts = [replace(draft, meaning=_meaning(draft, stages)) for draft in drafts]
    drafts = _of_this_train(_owned_by_letters(drafts, known.train), known.train)
    found = by_neighbours({d.name: d.numbers for d in drafts if _is_open(d)}, _measures(drafts), _taken(drafts))
    drafts = [replace(d, meaning=found.get(d.name, d.meaning)) for d in drafts]
    drafts = _one_remark(drafts)
    system = _system(drafts, known)
    return tuple(_once(drafts, [_with_unit(draft, known, system) for draft in drafts]))


def _draft(name: str, cells: Sequence[Cell], marks: Marks, unit: str) -> Draft:
    filled = [cell for cell in cells if not is_no_value(cell) and not is_ditto(cell)]
    numerals = [found for cell in filled if (found := read_number(cell, marks)) is not None]
    if not unit:
        behind = Counter(read_unit(numeral.behind) for numeral in numerals if numeral.behind)
        common = behind.most_common(1)
        unit = common[0][0] or "" if common and common[0][1] >= 0.5 * len(numerals) else ""
    texts = tuple(cell for cell in filled if isinstance(cell, str) and not _could_be_number(cell, marks))
    facets = facets_of(name, read_unit(unit) or "")
    if unit and not facets.unit:
        facets = replace(facets, unknown_unit=unit, unknown_why=not_taken(unit)[1])
    examples = tuple(dict.fromkeys(cell_text(cell) for cell in filled))[:_EXAMPLES]
    return Draft(
        name, facets, tuple(_in_unit(n, facets.unit) for n in numerals), texts, examples, Meaning("", "unknown", "")
    )


def _in_unit(numeral: Numeral, unit: str) -> float:
    """A number in the unit of its column, where another of its kind is written behind it."""
    own, value = read_unit(numeral.behind), -numeral.value if numeral.bracketed else numeral.value
    if not own or not unit or own == unit or PERCENT in (own, unit):
        return value
    canonical = unit_of(unit).canonical
    if unit_of(own).canonical != canonical:
        return value
    return float(from_canonical(to_canonical(value, own, canonical), canonical, unit))


def _could_be_number(cell: str, marks: Marks) -> bool:
    """Whether a text is a number, or a formula that stands for one."""
    return read_number(cell, marks) is not None or cell.startswith("=")


def _meaning(draft: Draft, stages: int) -> Meaning:
    found = meaning_of(draft.facets, stages)
    mostly_text = len(draft.texts) > len(draft.numbers)
    if not draft.numbers and not draft.texts:
        return left_out("it is empty") if found.name in {"", "state", "remark"} else found
    if found.name == "state" and not mostly_text and not set(draft.numbers) <= {0.0, 1.0, 2.0}:
        return Meaning("", "unknown", "its name says state, but it holds numbers")
    if found.name in QUANTITIES and mostly_text:
        words = state_words(draft.texts)
        if words and all(words.values()):
            return Meaning("state", "likely", "it holds nothing but words for running and stopped")
        return Meaning("", "unknown", f'it holds texts such as "{draft.texts[0][:30]}", not numbers')
    if not found.name and found.confidence == "unknown" and mostly_text:
        words = state_words(draft.texts)
        if words and all(words.values()) and not says_little(words):
            return Meaning("state", "likely", "it holds nothing but words for running and stopped")
        if sum(is_date(text) for text in draft.texts) > 0.5 * len(draft.texts):
            return Meaning("", "unknown", "it holds dates; the times are taken from another column")
        if statistics.mean(len(text) for text in draft.texts) >= _LONG_TEXT:
            return Meaning("remark", "guess", "it holds texts")
    return found


def _owned_by_letters(drafts: list[Draft], train: str) -> list[Draft]:
    """Where the train is called by a letter, columns whose names are alike but for such a letter are of trains."""
    own = (train.split() or [""])[-1]
    letters = {draft.name: found[1] for draft in drafts if (found := _LETTER.search(draft.name))}
    bases = {name: _LETTER.sub("", name, count=1) for name in letters}
    rivals = {name for name, letter in letters.items() if letter != own and own in
              {letters[other] for other in letters if bases[other] == bases[name]}}  # fmt: skip
    owned = rivals | {name for name in letters if letters[name] == own and rivals}
    return [
        replace(d, facets=replace(d.facets, owner=letters[d.name].lower())) if d.name in owned else d for d in drafts
    ]


def _of_this_train(drafts: list[Draft], train: str) -> list[Draft]:
    """In a file of several trains, leave out the columns of the others."""
    owners = {draft.facets.owner for draft in drafts if draft.facets.owner}
    if len(owners) < 2:
        return drafts
    ours = own_number(train, owners)
    named = {owner: next(d.name for d in drafts if d.facets.owner == owner) for owner in sorted(owners)}
    kept = []
    for draft in drafts:
        owner = draft.facets.owner
        if owner and ours and owner != ours:
            draft = replace(draft, meaning=left_out(f'it belongs to another train, as "{named[owner]}" does'))
        elif owner and not ours and draft.meaning.name and owner != min(owners):
            listed = ", ".join(f'"{name}"' for name in named.values())
            draft = replace(draft, meaning=Meaning("", "guess", f"the file holds several trains ({listed})"))
        kept.append(draft)
    return kept


def _is_open(draft: Draft) -> bool:
    facets = draft.facets
    nothing = not facets.places and not facets.stage and draft.meaning.confidence == "unknown"
    return nothing and facets.measure in {"flow", "pressure", "conductivity"} and len(draft.numbers) > 0


def _measures(drafts: list[Draft]) -> dict[str, str]:
    return {draft.name: draft.facets.measure for draft in drafts}


def _taken(drafts: list[Draft]) -> dict[str, tuple[float, ...]]:
    return {draft.meaning.name: draft.numbers for draft in drafts if draft.meaning.name}


def _one_remark(drafts: list[Draft]) -> list[Draft]:
    """A guess at a remark holds only where no other column is named so."""
    named = [d for d in drafts if d.meaning.name == "remark" and d.meaning.confidence == "sure"]
    guessed = [d for d in drafts if d.meaning.name == "remark" and d.meaning.confidence != "sure"]
    losers = {d.name for d in (guessed if named else guessed[1:])}
    away = Meaning("", "unknown", "it holds texts, and another column holds the remarks")
    return [replace(d, meaning=away) if d.name in losers else d for d in drafts]


def _system(drafts: list[Draft], known: Known) -> str:
    """Units in which the file is written, by those that it names; else those of the site."""
    units = [draft.facets.unit for draft in drafts]
    us, si = sum(unit in US_UNITS for unit in units), sum(unit in SI_UNITS for unit in units)
    return "US" if us > si else "SI" if si > us else known.units


def _with_unit(draft: Draft, known: Known, system: str) -> FoundColumn:
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
        doubt = _doubt(draft, facets.unit, expected, usual)
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
        return replace(found, unit=quantity.unit, unit_reason="there is hardly another")
    unit, reason, confidence = _unit_by_values(draft.numbers, quantity.unit, expected, usual, system)
    if facets.odd:
        confidence, reason = "guess", f'{reason}; whether "{facets.odd}" says one is not known here'
    worse = min(confidence, found.confidence, key=lambda name: _ORDER[name])
    return replace(found, unit=unit, unit_reason=reason, confidence=worse)


def _doubt(draft: Draft, unit: str, expected: tuple[float, float], usual: float | None) -> Doubt | None:
    guess = guess_meaning(draft.numbers, unit, expected, usual=usual) if draft.numbers else None
    if guess is None:
        return None
    middle = statistics.median(draft.numbers)
    meant = float(guess.meaning.canonical(middle))
    canonical = QUANTITIES[draft.meaning.name].unit
    against = f"usual here is {usual:.4g} {canonical}" if usual is not None else (
        f"expected is {expected[0]:.4g} to {expected[1]:.4g} {canonical}"
    )  # fmt: skip
    if guess.meaning.kind == "unit":
        text = (
            f'"{draft.name}" is named with {unit}, but its middle value is {middle:.6g} and {against}: did you mean '
            f"{guess.meaning.unit}? Then it is {meant:.4g} {canonical}."
        )
        return Doubt(guess.meaning.unit, text)
    text = (
        f'"{draft.name}" shows about {middle:.6g} {unit}, and {against}: a decimal point may be lost, or the unit be '
        f"another. Then it would be {meant:.4g} {canonical}."
    )
    return Doubt("", text)


def _unit_by_values(
    numbers: Sequence[float], canonical: str, expected: tuple[float, float], usual: float | None, system: str
) -> tuple[str, str, Confidence]:
    """The unit that makes the numbers what they should be; where several do, the one the file or site works in."""
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
    where = f"most columns are in {system} units" if system else "nothing tells"
    return unit, f"no unit is given; {where}", "guess" if not system else "likely"


def _once(drafts: list[Draft], found: list[FoundColumn]) -> list[FoundColumn]:
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
    return _ORDER[column.confidence], whole, MEASURE_OF_UNIT.get(facets.unit, "") != "", len(draft.numbers)


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
