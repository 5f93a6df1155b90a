"""What is known of the condition of one element: from its stage, its vessel, and the chlorine that it has seen."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum

from analytics.decisions.dechlorination import Exposure
from analytics.judgement.limits import Standing
from analytics.judgement.vessels import LEAST_EXCESS, VesselStanding


class Condition(IntEnum):
    """From good to bad; nobody knows an element by itself before it is taken out."""

    UNKNOWN = -1
    NOTHING_FOUND = 0
    WATCH = 1
    PAST_A_LIMIT = 2


BY_STANDING: Mapping[Standing, Condition] = {
    "fine": Condition.NOTHING_FOUND,
    "warn": Condition.WATCH,
    "clean": Condition.PAST_A_LIMIT,
    "too late": Condition.PAST_A_LIMIT,
}
WORDS = {
    Condition.WATCH: "nears its limit",
    Condition.PAST_A_LIMIT: "is past its limit",
}
NAMES = {"permeate_flow": "permeate flow", "salt_passage": "salt passage", "pressure_drop": "pressure drop"}


@dataclass(frozen=True)
class ElementCondition:
    """The worst that is known, and the sentences it rests on."""

    condition: Condition
    reasons: tuple[str, ...]


def element_condition(
    stage: Mapping[str, Standing],
    vessel: VesselStanding | None,
    exposure: Exposure | None,
    *,
    of: str,
    max_chlorine_exposure_ppm_h: float,
) -> ElementCondition:
    """Put together what is known of an element.

    Parameters
    ----------
    stage : mapping
        Indicator -> where it stands, of the stage or, where nothing is metered there, of the train; see `of`.
    vessel : VesselStanding or None
        Of the newest round that still speaks of the elements there now.
    exposure : Exposure or None
        Free chlorine that this element has seen.
    of : str
        Whose indicators these are, as a sentence begins: "Stage 2".
    max_chlorine_exposure_ppm_h : float
        [mg/L x h]

    Returns
    -------
    ElementCondition
        Unknown where nothing of all that is known.
    """
    found: list[tuple[Condition, str]] = [
        (BY_STANDING[standing], f"{of}: {NAMES.get(name, name)} {WORDS[BY_STANDING[standing]]}.")
        for name, standing in stage.items()
        if BY_STANDING[standing] in WORDS
    ]
    if vessel is not None and vessel.excess > LEAST_EXCESS:
        reads = f"Its vessel reads {vessel.conductivity_us_cm:.3g} µS/cm, {100 * vessel.excess:.0f} % above the median"
        level = Condition.PAST_A_LIMIT if vessel.stands_out else Condition.WATCH
        found.append((level, f"{reads} of its stage{', and stands out' if vessel.stands_out else ''}."))
    if exposure is not None and exposure.most > max_chlorine_exposure_ppm_h:
        level = Condition.PAST_A_LIMIT if exposure.least > max_chlorine_exposure_ppm_h else Condition.WATCH
        perhaps = "" if level == Condition.PAST_A_LIMIT else "perhaps "
        found.append(
            (level, f"It has {perhaps}seen more than {max_chlorine_exposure_ppm_h:.0f} ppm·h of free chlorine.")
        )
    if found:
        return ElementCondition(max(level for level, _ in found), tuple(text for _, text in found))
    if not stage and vessel is None and exposure is None:
        return ElementCondition(
            Condition.UNKNOWN, ("Nothing is known of its condition: no day of its stage is judged.",)
        )
    looked = [f"{of.lower()} within its limits"] if stage else []
    looked += ["its vessel like the others"] if vessel is not None else []
    looked += [f"less than {max_chlorine_exposure_ppm_h:.0f} ppm·h of free chlorine"] if exposure is not None else []
    return ElementCondition(Condition.NOTHING_FOUND, (f"Nothing was found against it: {', '.join(looked)}.",))
