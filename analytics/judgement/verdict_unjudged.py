"""What is said where feed temperature is not measured: flow and salt passage cannot be judged then."""

from collections.abc import Sequence
from dataclasses import replace
from math import log

from analytics.judgement.grounds import Verdict, no_verdict
from analytics.judgement.limits import Indicator
from analytics.judgement.verdict_words import NAMES, state_words

FLOW_PER_DEGREE = 0.03
"""Of permeate flow at the same pressure with water temperature, as manuals have it. [1/degC]"""
FAR_COLDER_C = 5.0
"""A fall that would take water so much colder is told in degrees; judgement, no source. [degC]"""
SEASON = (
    "Without feed temperature, a warmer or colder season moves flow and salt passage by about 3 % a degree, and looks"
    " like a recovery or a loss of the membranes."
)


def only_unjudged(unjudged: Sequence[Indicator]) -> Verdict:
    """The verdict where nothing could be judged."""
    if not unjudged:
        return no_verdict("too few days with usable readings in the present run")
    return Verdict("not enough data", unjudged_note(unjudged), (*_colder(unjudged), SEASON))


def without_temperature(verdict: Verdict, unjudged: Sequence[Indicator]) -> Verdict:
    """Pressure drop alone was judged: say so, and never call the rest steady."""
    note = unjudged_note(unjudged)
    if verdict.level == "steady":
        found = Verdict("not enough data", f"Pressure drop is within its limits. {note}", verdict.reasons)
    else:
        found = Verdict(verdict.level, f"{verdict.headline} {note}", verdict.reasons)
    return replace(found, reasons=(*found.reasons, *_colder(unjudged), SEASON))


def _colder(unjudged: Sequence[Indicator]) -> list[str]:
    """How much colder the water would have to be, were it temperature alone, where that is a lot."""
    flows = [i for i in unjudged if i.name == "permeate_flow" and i.value > 0]
    least = min(flows, key=lambda i: i.value, default=None)
    degrees = 0.0 if least is None else -log(least.value) / FLOW_PER_DEGREE
    if least is None or degrees < FAR_COLDER_C:
        return []
    return [
        f"{state_words(least)}: were it temperature alone, the water would have to be about {degrees:.0f} °C colder"
        " than in the reference; a thermometer tells at once."
    ]


def unjudged_note(unjudged: Sequence[Indicator]) -> str:
    """Which indicators cannot be judged, and why."""
    names = " and ".join(n for key, n in NAMES.items() if any(i.name == key for i in unjudged))
    return f"{names[:1].upper()}{names[1:]} cannot be judged, because feed temperature is not measured."
