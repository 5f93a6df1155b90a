"""Why the membrane model and the standard method differ for a train, in one sentence made from numbers."""

from collections.abc import Sequence
from dataclasses import dataclass

from analytics.condition.standard_drift import STEPS, Drift, Waters
from analytics.judgement.limits import Indicator
from analytics.judgement.words import all_of, scope_name

LEAST_DIFFERENCE = 0.02
"""Two methods that differ by less agree. [-]"""
LEAST_PART = 0.15
"""A part smaller than this share of the difference is not named. [-]"""
MOST_PARTS = 3.0
"""Parts that cancel each other beyond this many times the difference explain nothing. [-]"""
NAMES = {"permeate_flow": "permeate flow", "salt_passage": "salt passage", "pressure_drop": "pressure drop"}


@dataclass(frozen=True)
class Difference:
    """One indicator by both methods. [-]"""

    scope: str
    name: str
    standard: float
    model: float
    limit: float

    @property
    def points(self) -> float:
        return self.standard - self.model


def largest_difference(indicators: Sequence[Indicator], by_standard: Sequence[Indicator]) -> Difference | None:
    """The indicator whose two values lie furthest apart, measured by its own limit; None where the methods agree."""
    standard = {(one.scope, one.name): one.value for one in by_standard}
    differences = [
        Difference(one.scope, one.name, standard[one.scope, one.name], one.value, one.limit)
        for one in indicators
        if (one.scope, one.name) in standard
    ]
    apart = [one for one in differences if abs(one.points) >= LEAST_DIFFERENCE]
    return max(apart, key=lambda one: abs(one.points / (one.limit - 1)), default=None)


def explain(difference: Difference, drift: Drift, reference: Waters, today: Waters) -> str:
    """Say what lies between the two values.

    Parameters
    ----------
    difference : Difference
    drift : Drift
        What the standard method makes of the model's own train.
    reference, today : Waters
    """
    sentence = (
        f"For {NAMES[difference.name]} of {scope_name(difference.scope)} the standard method finds"
        f" {difference.standard:.3f} of the reference and the membrane model {difference.model:.3f}"
    )
    parts = drift.parts.get(f"{difference.scope}_{difference.name}")
    shares = {} if parts is None else dict(parts) | {STEPS[-1]: parts[STEPS[-1]] - (difference.model - 1)}
    if not shares or max(map(abs, shares.values())) > MOST_PARTS * abs(difference.points):
        return f"{sentence}; where they part cannot be told from what is metered."
    same = {
        step: share
        for step, share in shares.items()
        if share * difference.points > 0 and abs(share) >= LEAST_PART * abs(difference.points)
    }
    points = f"{100 * abs(difference.points):.1f} points"
    if sum(shares.values()) * difference.points <= 0 or not same:
        return f"{sentence}: temperature, flows and salinity do not explain the {points} between them."
    named = [
        f"{100 * abs(share):.1f} from {_in_words(step, reference, today)}"
        for step, share in sorted(same.items(), key=lambda item: -abs(item[1]))
    ]
    against = sum(shares.values()) - sum(same.values())
    less = f", less {100 * abs(against):.1f} from the rest" if abs(against) >= LEAST_DIFFERENCE / 2 else ""
    listed = all_of(named)
    return f"{sentence}: of the {points} between them the model explains {listed}{less}."


def _in_words(step: str, reference: Waters, today: Waters) -> str:
    if step == "temperature":
        warmer = today.temperature_c - reference.temperature_c
        way = "warmer" if warmer > 0 else "colder"
        return f"water {abs(warmer):.0f} degC {way} than in the reference"
    if step == "flows":
        if abs(today.recovery - reference.recovery) >= 0.01:
            return f"another recovery ({100 * today.recovery:.0f} % against {100 * reference.recovery:.0f} %)"
        return f"another permeate flow ({today.permeate_flow_m3h:.1f} against {reference.permeate_flow_m3h:.1f} m3/h)"
    if step == "salinity":
        return f"feed of {today.feed_tds_mg_l:.0f} against {reference.feed_tds_mg_l:.0f} mg/L"
    if step == "gauges":
        return "pressure gauges that are off against each other"
    return "changed membranes, which make another flow at the pressure of the reference than at today's"
