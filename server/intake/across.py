"""Tables with several readings of a day beside each other: for each quantity a column for each shift or time of day.

Each row becomes one row for each of them, with the shift or time of day in a column of its own.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from server.intake.header_rows import cell_text
from server.intake.rows import Cell, Row, cell_at
from server.intake.understand.facets import UNIT_OF_MEASURE
from server.intake.understand.words import facet_of, knows_words, words_of

TIME_ACROSS, SHIFT_ACROSS = "time across", "shift across"
"""How the column of these times or shifts is called."""
_SHIFT = r"(?:shift|schicht|turno|poste|équipe|equipe|quart|zmiana|smena|směna|смена|vardiya|skift|班次)"
_KINDS = (
    (TIME_ACROSS, re.compile(
        r"(?<![\w/.:])(\d{1,2}[:h]\d{2}(?::\d{2})?(?:\s?[ap]\.?m\b\.?)?|\d{1,2}\s?[ap]\.?m\b\.?)(?!\w)", re.IGNORECASE
    )),
    (SHIFT_ACROSS, re.compile(rf"\b({_SHIFT}\s*[-:.]?\s*(?:[a-d]|[1-4]|i{{1,3}}))\b", re.IGNORECASE)),
    (SHIFT_ACROSS, re.compile(
        r"\b((?:day|night|morning|afternoon|evening|früh|spät|nacht|matin|soir|nuit|mañana|tarde|noche)"
        r"(?:\s?shift|schicht)?)\b", re.IGNORECASE
    )),
    (SHIFT_ACROSS, re.compile(r"(?<![\w./])(AM|PM)(?![\w./])", re.IGNORECASE)),
    (SHIFT_ACROSS, re.compile(r"(?<![\w./-])([A-C])(?![\w./-])")),
)  # fmt: skip
_LETTERS = frozenset("ABC")
"""Single letters are only shifts where there are these three; two could be two pumps or two trains."""


@dataclass(frozen=True)
class Across:
    """Columns that stand for several readings of a row.

    Attributes
    ----------
    name
        Of the column with the time of day or the shift.
    moments
        What stands in it.
    names
        Headers of the rows taken apart: columns of the whole row, `name`, the quantities.
    plain
        Positions of the columns of the whole row.
    places
        For each moment, positions of its quantities.
    """

    name: str
    moments: tuple[str, ...]
    names: tuple[str, ...]
    plain: tuple[int, ...]
    places: tuple[tuple[int, ...], ...]

    def apart(self, rows: Iterable[Row]) -> Iterator[Row]:
        """One row for each moment at which anything was written down."""
        for row in rows:
            plain = tuple(cell_at(row, number) for number in self.plain)
            for moment, places in zip(self.moments, self.places, strict=True):
                values = tuple(cell_at(row, number) for number in places)
                if any(value is not None for value in values):
                    yield Row(row.number, (*plain, moment, *values))


def find_across(names: Sequence[str], train: str = "") -> Across | None:
    """Columns of several readings of a day: the same names again for each time of day or shift, and none missing.

    Single letters are no shifts where the `train` itself is called by one.

    Examples
    --------
    >>> found = find_across(("Date", "Feed bar 06:00", "Flow 06:00", "Feed bar 14:00", "Flow 14:00"))
    >>> found.moments, found.names
    (('06:00', '14:00'), ('Date', 'time across', 'Feed bar', 'Flow'))
    >>> find_across(("Date", "Feed P A", "Feed P B")) is None
    True
    """
    for name, pattern in _KINDS:
        found = [pattern.search(text) for text in names]
        moments = tuple(dict.fromkeys(match[1] for match in found if match))
        by_base: dict[str, dict[str, int]] = {}
        for number, match in enumerate(found):
            if match:
                base = " ".join(f"{names[number][: match.start()]} {names[number][match.end() :]}".split())
                by_base.setdefault(base, {}).setdefault(match[1], number)
        whole = all(tuple(sorted(places)) == tuple(sorted(moments)) for places in by_base.values())
        counted = sum(map(len, by_base.values())) == sum(match is not None for match in found)
        if len(moments) < 2 or not whole or not counted or not all(map(knows_words, by_base)):
            continue
        letters = all(len(moment) == 1 for moment in moments)
        if letters and not _are_shifts(
            moments, [name for name, match in zip(names, found, strict=True) if not match], train
        ):
            continue
        plain = tuple(number for number, match in enumerate(found) if not match)
        places = tuple(tuple(base[moment] for base in by_base.values()) for moment in moments)
        return Across(name, moments, (*(names[number] for number in plain), name, *by_base), plain, places)
    return None


def _are_shifts(letters: Sequence[str], others: Sequence[str], train: str) -> bool:
    """Whether single letters can be shifts: not where the train is called by one, nor where others measure without."""
    measured = any(facet == ("measure", name) for text in others for word in words_of(text)
                   if (facet := facet_of(word)) for name in UNIT_OF_MEASURE)  # fmt: skip
    return set(letters) == _LETTERS and not measured and (train.split() or [""])[-1].upper() not in _LETTERS


def names_moments(cells: Sequence[Cell]) -> bool:
    """Whether a row below a header holds nothing but times of day or shifts, each of them for a column."""
    texts = [cell_text(cell) for cell in cells if cell is not None]
    return len(texts) >= 2 and any(all(pattern.fullmatch(text) for text in texts) for _, pattern in _KINDS)
