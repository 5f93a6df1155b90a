"""Levels, causes and set-aside reasons in the words and marks of a page."""

from dataclasses import dataclass

from analytics.judgement.grounds import LEVELS


@dataclass(frozen=True)
class Level:
    """A verdict level: `look` names its colour and mark, `rank` is lowest for the most urgent."""

    name: str
    look: str
    label: str
    rank: int


_LOOKS = {
    "act now": "act", "check a meter": "meter", "plan cleaning": "plan", "watch": "watch", "steady": "steady",
    "not enough data": "unknown",
}  # fmt: skip
_LEVELS: dict[str, Level] = {
    name: Level(name, _LOOKS[name], name[:1].upper() + name[1:], rank) for rank, name in enumerate(LEVELS)
}


def level_of(name: str) -> Level:
    """Look of a level; a name that this program does not know counts as not enough data."""
    return _LEVELS.get(name, _LEVELS["not enough data"])


REASONS = {
    "not running": "the plant stood still",
    "start-up": "the plant had not settled yet",
    "out of range": "a value that cannot be true",
    "order of pressures": "a pressure that rises along the way of the water",
    "flow balance": "feed is not permeate plus concentrate",
    "salt balance": "salt in is not salt out",
    "clipped": "a meter at the end of its scale: the true value may be anything beyond",
    "frozen value": "the same value too many times in a row",
    "spike": "stands apart from the readings around it",
    "duplicate": "the same instant as another reading",
    "value missing": "a value is missing that the method needs",
    "day out of line": "its day stands apart from the days around it",
}
"""What each reason means, in a few words."""

CAUSES = {
    "metal-oxide": "Iron or manganese", "colloidal": "Colloids", "scaling": "Scale", "biofouling": "Biofouling",
    "organic": "Organic matter", "oxidation": "Oxidation", "hydrolysis": "Hydrolysis", "seal-leak": "A leaking seal",
    "compaction": "Compaction", "feed-change": "A change of the feed", "meter": "A meter", "none": "None of these",
}  # fmt: skip

KINDS = {
    "start-up": "Start-up", "shutdown": "Shutdown", "cleaning": "Cleaning",
    "element-replacement": "Element replacement",
    "element-move": "Elements moved", "meter-calibration": "Meter calibrated", "meter-replacement": "Meter replaced",
    "cartridge-change": "Cartridge change", "chemical-change": "Chemical change",
    "set-point-change": "Set-point change", "source-change": "Source change", "note": "Note",
}  # fmt: skip
"""Kinds of event in words; the keys are `analytics.events.KINDS`."""

MARKED_KINDS = (
    "cleaning", "element-replacement", "element-move", "meter-calibration", "meter-replacement", "set-point-change",
    "source-change", "chemical-change",
)  # fmt: skip
"""Kinds that stand on the charts: they change the membranes, a meter, or what the plant is asked to do."""

INDICATORS = {"permeate_flow": "permeate flow", "salt_passage": "salt passage", "pressure_drop": "pressure drop"}
SHORT_INDICATORS = {"permeate_flow": "flow", "salt_passage": "salt passage", "pressure_drop": "pressure drop"}


def scope_words(scope: str) -> str:
    """Such as "train" or "stage 2"."""
    return scope if scope == "train" else f"stage {scope.removeprefix('stage')}"
