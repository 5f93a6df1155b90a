"""A column on the way to its meaning: its name taken apart, its cells as numbers."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from analytics.units import from_canonical, to_canonical
from analytics.units import unit as unit_of
from server.intake.header_rows import cell_text
from server.intake.numerals import Marks, Numeral, is_ditto, is_no_value, read_number
from server.intake.rows import Cell
from server.intake.understand.facets import Facets, facets_of
from server.intake.understand.meaning import Meaning
from server.intake.understand.unit_words import PERCENT, not_taken, read_unit

_EXAMPLES = 3


@dataclass(frozen=True)
class Draft:
    """A column on the way: its name taken apart, its values as numbers, and what it is taken for."""

    name: str
    facets: Facets
    numbers: tuple[float, ...]
    texts: tuple[str, ...]
    examples: tuple[str, ...]
    meaning: Meaning


def draft_of(name: str, cells: Sequence[Cell], marks: Marks, unit: str) -> Draft:
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
