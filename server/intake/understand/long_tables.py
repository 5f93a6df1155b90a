"""Tell a file with one row for each tag and time from one with a column for each."""

from collections.abc import Mapping, Sequence

from server.intake.numerals import Marks, is_no_value, read_number
from server.intake.qualities import GOOD
from server.intake.rows import Cell
from server.intake.understand.understanding import LongLayout
from server.intake.understand.unit_words import not_taken, read_unit
from server.intake.understand.words import facet_of, words_of

MOST_TAGS = 400
MOST_COLUMNS = 8
"""A long table is narrow."""


def find_long(columns: Mapping[str, Sequence[Cell]], marks: Marks) -> LongLayout | None:
    """Columns of tag, value, unit and quality of a long table; None when it is a wide one.

    The tag is a column of few texts that come again and again, beside one column of numbers.
    """
    if not 2 <= len(columns) <= MOST_COLUMNS:
        return None
    numeric = [name for name, cells in columns.items() if _share(cells, marks) > 0.5]
    texts = [name for name, cells in columns.items() if name not in numeric and any(cells)]
    if not 1 <= len(numeric) <= 2:
        return None
    units = [name for name in texts if _are_units(columns[name])]
    tags = [name for name in texts if name not in units and _repeats(columns[name]) and not _says(name, "shift")]
    named = [name for name in tags if _says(name, "tag")]
    quality = next((name for name in texts if _says(name, "quality")), "")
    quality = quality or next((name for name in texts if _says(name, "state") and _are_good(columns[name])), "")
    tags = [name for name in (named or tags) if name != quality]
    tags = sorted(tags, key=lambda name: -_told(columns[name]))
    value = next((name for name in numeric if _says(name, "value")), numeric[0])
    if not tags or not (named or _says(value, "value") or _name_columns(columns[tags[0]])):
        return None
    return LongLayout(tags[0], value, units[0] if units else "", quality)


def tags_of(cells: Sequence[Cell]) -> tuple[str, ...]:
    """Different tags, in the order in which they come."""
    return tuple(dict.fromkeys(str(cell) for cell in cells if cell is not None))


def _share(cells: Sequence[Cell], marks: Marks) -> float:
    filled = [cell for cell in cells if not is_no_value(cell)]
    return sum(read_number(cell, marks) is not None for cell in filled) / len(filled) if filled else 0.0


def _repeats(cells: Sequence[Cell]) -> bool:
    filled = [cell for cell in cells if isinstance(cell, str)]
    different = len(set(filled))
    return 1 <= different <= MOST_TAGS and len(filled) >= 2 * different and len(filled) > 0.8 * len(cells)


def _are_units(cells: Sequence[Cell]) -> bool:
    filled = [cell for cell in cells if isinstance(cell, str)]
    return bool(filled) and sum(map(_is_unit, filled)) > 0.8 * len(filled)


def _is_unit(text: str) -> bool:
    """Whether a text is a unit, also one that must not be taken for a known one."""
    return read_unit(text) is not None or not_taken(text)[0] != ""


def _are_good(cells: Sequence[Cell]) -> bool:
    """Whether a column of states speaks of values rather than of the plant: most of them are good."""
    filled = [cell.lower() for cell in cells if isinstance(cell, str)]
    return bool(filled) and sum(cell in GOOD for cell in filled) >= 0.5 * len(filled)


def _says(name: str, what: str) -> bool:
    return any(facet_of(word) == ("measure", what) for word in words_of(name))


def _told(cells: Sequence[Cell]) -> int:
    """How many words that name measurements the tags of a column hold: a description says more than a number."""
    return sum(facet_of(word) is not None for tag in tags_of(cells) for word in words_of(tag))


def _name_columns(cells: Sequence[Cell]) -> bool:
    """Whether tags read like names of measurements, not like states."""
    tags = tags_of(cells)
    physical = sum(
        any((f := facet_of(word)) and f[0] in {"measure", "place"} for word in words_of(tag)) for tag in tags
    )
    return len(tags) >= 2 and physical >= 0.5 * len(tags)
