"""Names of shifts, and the time of day at which a plant with such shifts usually reads: always asked, never taken."""

import re
from collections.abc import Iterable

from server.intake.moments import plain_text

_TWO = {"day": "06:00", "night": "18:00"}
_THREE = {"early": "06:00", "late": "14:00", "day": "14:00", "night": "22:00"}
_WORDS = {
    "early": "morning early first fruh fruhschicht matin manana manha mattina mattino ochtend vroeg am 1 i 1st",
    "late": "afternoon late evening swing second spat spatschicht apres-midi soir tarde pomeriggio sera middag laat "
            "pm 2 ii 2nd",
    "day": "day days tag tagschicht jour journee dia giorno dag",
    "night": "night nights graveyard third nacht nachtschicht nuit noche noite notte 3 iii 3rd",
}  # fmt: skip
_KIND = {word: kind for kind, words in _WORDS.items() for word in words.split()}
_SPAN = re.compile(r"([01]?\d|2[0-4])(?:[:.h](\d{2}))?h?\s?(?:-|–|to|bis|a|à)\s?(?:[01]?\d|2[0-4])(?:[:.h]\d{2})?h?")
MOST_SHIFTS = 6


def are_spans(names: Iterable[str]) -> bool:
    """Whether texts are hours from and to, as shifts are written: 06-14."""
    return all(_SPAN.fullmatch(name.strip()) for name in names)


def shift_hours(names: Iterable[str]) -> dict[str, str]:
    """Time of day for each name of a shift, "" where its name tells nothing; empty where there are too many of them.

    Day and night alone are taken as two shifts of twelve hours; the hours are common practice, no source.

    Examples
    --------
    >>> shift_hours(["Day", "Night"]), shift_hours(["Früh", "Spät", "Nacht"])
    ({'Day': '06:00', 'Night': '18:00'}, {'Früh': '06:00', 'Spät': '14:00', 'Nacht': '22:00'})
    >>> shift_hours(["06-14", "14-22", "22-06"])
    {'06-14': '06:00', '14-22': '14:00', '22-06': '22:00'}
    """
    different = list(dict.fromkeys(names))
    if not 2 <= len(different) <= MOST_SHIFTS:
        return {}
    spans = {name: _SPAN.fullmatch(name.strip()) for name in different}
    if all(spans.values()):
        return {name: f"{int(span[1]):02d}:{span[2] or '00'}" for name, span in spans.items() if span}
    kinds = {name: _KIND.get(plain_text(name).removesuffix(" shift"), "") for name in different}
    hours = _TWO if set(kinds.values()) <= {"day", "night", ""} else _THREE
    return {name: hours.get(kind, "") for name, kind in kinds.items()}
