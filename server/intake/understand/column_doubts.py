"""Whether the numbers of a whole column can be what it is named: another unit, a lost point, two units in it."""

import itertools
import math
import statistics
from collections.abc import Sequence

import numpy as np

from analytics.condition.meanings import GAUGE_UNITS, guess_meaning
from analytics.quantities import COLUMNS, Quantity
from analytics.units import from_canonical, to_canonical
from server.intake.table import ReadingsTable
from server.intake.understand.understanding import Doubt, Known

LEAP = 3.0
"""Times by which one part of a column must lie above the other to be in another unit; common practice, no source."""
NEAR = 1.2
"""Times by which the leap may miss the factor between two units; common practice, no source."""
FEWEST = 3
"""Numbers of each part."""
STANDS_STILL_BAR = 2.0
"""Below it membranes for brackish water make nothing: a leap to it is a stop, no unit; common practice, no source."""
MOSTLY = 0.5
"""Share of numbers that cannot be, from which on the column is doubted and not its rows."""
MOST_LOOKED_AT = 5_000
"""Numbers of a column that say what it is; of more, every so many."""


def doubtful_columns(table: ReadingsTable, known: Known) -> tuple[str, ...]:
    """What is to be asked about whole columns of a table that was read, in their units: "did you mean psi?"."""
    said = []
    for name, unit in table.units.items():
        quantity, cells = COLUMNS[name], table.frame[name].to_numpy()
        cells = cells[~np.isnan(cells)]
        numbers = from_canonical(cells[:: max(1, len(cells) // MOST_LOOKED_AT)], quantity.unit, unit).tolist()
        expected = known.expected.get(name, quantity.usual)
        doubt = column_doubt(quantity.label, numbers, unit, quantity, expected, known.usual.get(name))
        said += [doubt.text] if doubt is not None else []
    return tuple(said)


def column_doubt(
    name: str,
    numbers: Sequence[float],
    unit: str,
    quantity: Quantity,
    expected: tuple[float, float],
    usual: float | None,
) -> Doubt | None:
    """The question about a column whose numbers, in the unit that it is read in, are not what they should be."""
    if not numbers:
        return None
    return (
        _changed_on_the_way(name, numbers, unit, quantity)
        or _meant_otherwise(name, numbers, unit, quantity, expected, usual)
        or _impossible(name, numbers, unit, quantity)
    )


def _meant_otherwise(
    name: str,
    numbers: Sequence[float],
    unit: str,
    quantity: Quantity,
    expected: tuple[float, float],
    usual: float | None,
) -> Doubt | None:
    canonical = quantity.unit
    guess = guess_meaning(numbers, unit, expected, usual=usual) if canonical in GAUGE_UNITS else None
    if guess is None:
        return None
    middle = statistics.median(numbers)
    meant = float(guess.meaning.canonical(middle))
    against = f"usual here is {usual:.4g} {canonical}" if usual is not None else (
        f"expected is {expected[0]:.4g} to {expected[1]:.4g} {canonical}"
    )  # fmt: skip
    if guess.meaning.kind == "unit":
        text = (
            f'"{name}" is named with {unit}, but its middle value is {middle:.6g} and {against}: did you mean '
            f"{guess.meaning.unit}? Then it is {meant:.4g} {canonical}."
        )
        return Doubt(guess.meaning.unit, text)
    text = (
        f'"{name}" shows about {middle:.6g} {unit}, and {against}: a decimal point may be lost, or the unit be '
        f"another. Then it would be {meant:.4g} {canonical}."
    )
    return Doubt("", text)


def _impossible(name: str, numbers: Sequence[float], unit: str, quantity: Quantity) -> Doubt | None:
    sizes = np.asarray(to_canonical(np.asarray(numbers), unit or quantity.unit, quantity.unit), dtype=np.float64)
    low, high = quantity.possible
    if np.mean((sizes < low) | (sizes > high)) <= MOSTLY:
        return None
    said = f" {unit}" if unit not in ("", "-") else ""
    limits = f"{low:g} to {high:g}{'' if quantity.unit == '-' else ' ' + quantity.unit}"
    text = (
        f'"{name}" shows about {statistics.median(numbers):.6g}{said}, and nothing but {limits} can be true: did it '
        "lose a decimal point, or is it something else?"
    )
    return Doubt("", text)


def _changed_on_the_way(name: str, numbers: Sequence[float], unit: str, quantity: Quantity) -> Doubt | None:
    """A column that leaps once, by the factor between two units, and stays there: its unit was changed on the way."""
    units = GAUGE_UNITS.get(quantity.unit, ())
    first, then = _leap(numbers)
    if not first or not then:
        return None
    before, after = statistics.median(first), statistics.median(then)
    for one, other in itertools.permutations(units, 2):
        size = float(to_canonical(before, one, quantity.unit))
        ratio = size / float(to_canonical(after, other, quantity.unit))
        stands = quantity.unit == "bar" and size < STANDS_STILL_BAR
        if ratio > 0 and max(ratio, 1 / ratio) < NEAR and unit in (one, other) and not stands:
            text = (
                f'"{name}" leaps once, from about {before:.4g} to about {after:.4g}: was its unit changed on the way, '
                f"from {one} to {other}? As it stands, all of it would be read as {unit}."
            )
            return Doubt("", text)
    return None


def _leap(numbers: Sequence[float]) -> tuple[list[float], list[float]]:
    """The parts of a column before and behind its one leap; empty where it has none, or comes back."""
    known = [number for number in numbers if number > 0]
    steps = [abs(math.log(b / a)) for a, b in itertools.pairwise(known)]
    if len(known) < 2 * FEWEST or max(steps) < math.log(LEAP):
        return [], []
    place = steps.index(max(steps)) + 1
    first, then = known[:place], known[place:]
    low, high = (first, then) if statistics.median(first) < statistics.median(then) else (then, first)
    apart = min(high) > LEAP / NEAR * max(low) and min(len(first), len(then)) >= FEWEST
    return (first, then) if apart else ([], [])
