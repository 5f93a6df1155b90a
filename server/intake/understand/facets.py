"""What the name of a column says about it, word by word: measure, water, stage, side, and whose it is."""

import re
from dataclasses import dataclass

from server.intake.header_rows import NAMELESS
from server.intake.understand.unit_words import PERCENT, find_unit
from server.intake.understand.words import NUMERALS, facet_of, words_of

MEASURE_OF_UNIT = {
    "degC": "temperature", "degF": "temperature", "m3/h": "flow", "gpm": "flow", "gpd": "flow", "gph": "flow",
    "L/min": "flow", "L/s": "flow", "L/h": "flow", "m3/d": "flow", "m3/min": "flow", "MGD": "flow", "MLD": "flow",
    "bar": "pressure", "psi": "pressure", "kPa": "pressure", "MPa": "pressure", "mbar": "pressure",
    "kgf/cm2": "pressure", "mH2O": "pressure", "inH2O": "pressure", "ftH2O": "pressure", "inHg": "pressure",
    "mmHg": "pressure",
    "atm": "pressure", "uS/cm": "conductivity", "mS/cm": "conductivity",
    "mS/m": "conductivity", "S/m": "conductivity", "mV": "orp", "NTU": "turbidity", "FNU": "turbidity",
    "h": "hours", "min": "hours",
    "kWh": "energy", "MWh": "energy", "kW": "power", "hp": "power", "Hz": "frequency", "A": "current",
}  # fmt: skip
UNIT_OF_MEASURE = {
    "pressure": "bar", "drop": "bar", "flow": "m3/h", "conductivity": "uS/cm", "temperature": "degC", "ph": "-",
    "orp": "mV", "tds": "mg/L", "chlorine": "mg/L", "turbidity": "NTU", "sdi": "-", "power": "kW", "energy": "kWh",
    "hours": "h", "volume": "m3", "frequency": "Hz", "current": "A", "dose": "mg/L", "level": "L",
}  # fmt: skip
"""Canonical unit of what is measured."""
_TAGS = (
    (r"p?(?:dp|pd|d)(?:i|t|it|ir|ic)?", "drop"), (r"p(?:i|t|it|ic|ir|e|g|m)", "pressure"),
    (r"f(?:i|t|it|ic|ir|e|m)", "flow"), (r"fq(?:i|it)?", "volume"), (r"t(?:i|t|it|ic|e)", "temperature"),
    (r"c(?:i|t|it|e)", "conductivity"), (r"q(?:i|t|it)|a(?:i|t|it|e)", "analysis"), (r"l(?:i|t|it)", "level"),
)  # fmt: skip
"""Letters of instruments after ISA-5.1, with the number of their loop behind; they weigh less than words."""
_WATERS = ("feed", "permeate", "concentrate", "recycle", "raw")
_ORDINALS = {"st", "nd", "rd", "th", "o", "a", "e", "er", "eme"}


@dataclass(frozen=True)
class Facets:
    """What a name says; empty where it says nothing.

    `tagged` means that the measure comes from the letters of an instrument; `owner` is the train that is named;
    `unknown_unit` stands where a unit must be (`unknown_why` says more), `odd` where one could be.
    """

    words: tuple[str, ...]
    unit: str
    unit_where: str
    measure: str = ""
    tagged: bool = False
    places: frozenset[str] = frozenset()
    sides: frozenset[str] = frozenset()
    kinds: frozenset[str] = frozenset()
    stage: int = 0
    second_pass: bool = False
    owner: str = ""
    unknown_unit: str = ""
    unknown_why: str = ""
    odd: str = ""

    @property
    def water(self) -> str:
        """The one water that is named, or nothing."""
        named = [water for water in _WATERS if water in self.places]
        return named[0] if len(named) == 1 else ""


def facets_of(header: str, unit: str = "") -> Facets:
    """Take the name of a column apart; `unit` is one that is known from elsewhere."""
    found = find_unit("" if header.startswith(NAMELESS) else header)
    words = words_of(found.rest)
    stage, rest = _stage(words)
    owner, rest = _owner(rest)
    by_kind: dict[str, list[str]] = {"measure": [], "place": [], "side": [], "kind": []}
    for word in rest:
        facet = facet_of(word)
        if facet is not None:
            by_kind[facet[0]].append(facet[1])
    the_unit = unit or found.unit
    where = found.where if not unit else "written behind the numbers"
    measure, tagged = _measure(by_kind["measure"], rest, the_unit)
    if not measure and set(by_kind["place"]) & {"cartridge", "media", "suction", "discharge"}:
        measure, tagged = "pressure", True
    return Facets(
        words=words,
        unit=the_unit,
        unit_where=where if the_unit else "",
        measure=measure,
        tagged=tagged,
        places=frozenset(by_kind["place"]),
        sides=frozenset(by_kind["side"]),
        kinds=frozenset(by_kind["kind"]),
        stage=stage,
        second_pass=_second_pass(words),
        owner=owner,
        unknown_unit="" if unit else found.unknown,
        unknown_why="" if unit else found.why,
        odd="" if unit else found.odd,
    )


def _measure(named: list[str], words: tuple[str, ...], unit: str) -> tuple[str, bool]:
    """What is measured, and whether only the letters of an instrument say so."""
    if "quality" in named:
        return "quality", False
    measures = [name for name in named if name not in {"value", "unit"}]
    if unit == PERCENT:
        percents = [name for name in measures if name in {"recovery", "rejection", "passage"}]
        return (percents[0] if percents else "percent"), False
    if "drop" in measures and MEASURE_OF_UNIT.get(unit, "pressure") == "pressure":
        return "drop", False
    for group in (
        ("recovery", "rejection", "passage"), ("dose", "level"), ("remark", "person", "shift"),
        ("chlorine", "turbidity", "sdi", "orp", "ph"), ("hours", "energy"),
    ):  # fmt: skip
        first = next((name for name in measures if name in group), "")
        if first and not (first == "hours" and "time" in measures):
            return _by_unit(first, unit), False
    if unit in {"m3", "L", "gal", "kgal"}:
        return "volume", False
    return _physical(measures, words, unit)


def _physical(measures: list[str], words: tuple[str, ...], unit: str) -> tuple[str, bool]:
    physical = [name for name in measures if name in UNIT_OF_MEASURE]
    if "volume" in physical and len(physical) > 1:
        physical = [name for name in physical if name != "volume"] if unit and "/" in unit else ["volume"]
    if physical:
        return _by_unit(physical[0], unit), False
    others = [name for name in measures if name not in UNIT_OF_MEASURE]
    if others and not unit:
        return others[0], False
    if unit in MEASURE_OF_UNIT:
        return MEASURE_OF_UNIT[unit], False
    if unit == "mg/L" and not measures:
        return "tds", True
    return _tag(words)


def _by_unit(measure: str, unit: str) -> str:
    """A unit that measures something else than the name says is believed: a column `Feed cond ppm` holds TDS."""
    if measure == "conductivity" and unit in {"mg/L", "g/L"}:
        return "tds"
    if measure == "current" and unit in {"Hz", "kW"} | {"mg/L"}:
        return MEASURE_OF_UNIT.get(unit, measure)
    if measure == "frequency" and unit in {"kW", "A"}:
        return MEASURE_OF_UNIT[unit]
    if measure == "tds" and unit in {"uS/cm", "mS/cm"}:
        return "conductivity"
    return measure


def _tag(words: tuple[str, ...]) -> tuple[str, bool]:
    for number, word in enumerate(words):
        behind = words[number + 1] if number + 1 < len(words) else ""
        if not behind.isdigit() and len(words) > 1 and number:
            continue
        for pattern, measure in _TAGS:
            if re.fullmatch(pattern, word) and len(word) >= 2 and behind.isdigit():
                return measure, True
    alone = {"p": "pressure", "t": "temperature", "f": "flow", "q": "flow", "c": "conductivity", "ec": "conductivity"}
    letters = [alone[word] for word in words if word in alone]
    return (letters[0], True) if letters else ("", False)


def _stage(words: tuple[str, ...]) -> tuple[int, tuple[str, ...]]:
    """Number of the stage that is named, and the words without it."""
    for place, word in enumerate(words):
        facet = facet_of(word)
        if (facet is not None and facet[1] == "stage_word") or word == "s":
            after = words[place + 1 : place + 2]
            before = words[max(place - 1, 0) : place]
            if word == "st" and before and before[0].isdigit() and after and _is_pass(after[0]):
                continue
            if after and (number := _numeral(after[0])):
                return number, words[:place] + words[place + 2 :]
            if word == "st" and before and before[0].isdigit() and "stage" in words[place + 1 : place + 2]:
                continue
            if before and before[0] in _ORDINALS and place > 1 and (number := _numeral(words[place - 2])):
                return number, words[: place - 2] + words[place + 1 :]
            if before and word != "s" and (number := _numeral(before[0])):
                return number, words[: place - 1] + words[place + 1 :]
    return 0, words


def _is_pass(word: str) -> bool:
    return facet_of(word) == ("kind", "pass_word")


def _numeral(word: str) -> int:
    number = int(word) if word.isdigit() else NUMERALS.get(word, 0)
    return number if 1 <= number <= 4 else 0


def _owner(words: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
    """The train that is named ("RO-2", "Skid B"), and the words without it."""
    for place, word in enumerate(words[:-1]):
        facet, after = facet_of(word), words[place + 1]
        if facet is not None and facet[1] == "train_word":
            number = after.lstrip("0") if after.isdigit() else after
            if (after.isdigit() and len(after) <= 2 and number) or (len(after) == 1 and after in "abcdefgh"):
                return number, words[:place] + words[place + 2 :]
    return "", words


def _second_pass(words: tuple[str, ...]) -> bool:
    text = " ".join(words)
    return re.search(r"\b(?:pass|passe) 2\b|\b(?:2 nd|2|second|zweite) (?:pass|passe)\b", text) is not None
