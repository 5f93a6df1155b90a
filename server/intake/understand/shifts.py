"""Names of shifts, and the time of day at which a plant with such shifts usually reads: always asked, never taken."""

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
MOST_SHIFTS = 6


def shift_hours(names: Iterable[str]) -> dict[str, str]:
    """Time of day for each name of a shift, "" where its name tells nothing; empty where there are too many of them.

    Day and night alone are taken as two shifts of twelve hours; the hours are common practice, no source.

    Examples
    --------
    >>> shift_hours(["Day", "Night"]), shift_hours(["Früh", "Spät", "Nacht"])
    ({'Day': '06:00', 'Night': '18:00'}, {'Früh': '06:00', 'Spät': '14:00', 'Nacht': '22:00'})
    """
    different = list(dict.fromkeys(names))
    if not 2 <= len(different) <= MOST_SHIFTS:
        return {}
    kinds = {name: _KIND.get(plain_text(name).removesuffix(" shift"), "") for name in different}
    hours = _TWO if set(kinds.values()) <= {"day", "night", ""} else _THREE
    return {name: hours.get(kind, "") for name, kind in kinds.items()}
