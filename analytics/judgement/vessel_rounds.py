"""What rounds of the single vessels say of causes: one that stands out has a leak; what meets all shows in none."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import pandas as pd

from analytics.events import Event
from analytics.judgement.vessels import LEAST_EXCESS, StageProfile, judge_vessels
from analytics.judgement.words import day_and_month

LEAK = "seal-leak"
WORN_ALIKE = ("oxidation", "hydrolysis")
"""Causes of more salt that meet every vessel of a stage; what a round says of a leak says the opposite of them."""
FOUND_DAYS, AGREED_DAYS, AFTER_DAYS = 90, 30, 30
"""How long before the day judged a leak was found, and all vessels were found alike, for it to count: what has been
found stays until it is mended, but a leak comes from one day to the next. And how long after that day, where nothing
was logged since. Common practice, no source. [d]"""
FOUND, AGREED = 6.0, 0.2
"""Factors on a leak where a vessel stands out of its stage, and where all were measured and lie within `LEAST_EXCESS`
of the median: most leaks that a stage shows stand out on a round; of stages without one, one in seven or so shows such
a vessel for another reason. Judgement, no source. [-]"""
PROBE = (
    "probe {} of stage {} along its permeate tube: a step at a connector is a seal, within an element its membrane or"
    " glue line"
)
PROBE_MINUTES = 30
"""Common practice, no source. [min]"""
REPLACEMENTS = ("element-replacement", "element-move")


@dataclass(frozen=True)
class VesselReadings:
    """One round (UTC): stage -> vessel -> conductivity of its permeate. [uS/cm]"""

    time: datetime
    conductivities_us_cm: Mapping[int, Mapping[int, float]]


@dataclass(frozen=True)
class VesselsSaid:
    """What the newest round says of a leak in one stage: a factor on it, the sentence, and the check that comes next
    where a vessel stands out (else empty). [-]"""

    factor: float
    sentence: str
    next_check: str = ""


def vessels_said(
    rounds: Sequence[VesselReadings],
    events: Sequence[Event],
    vessels: Mapping[int, int],
    *,
    day: date,
    after: date,
    timezone: str,
) -> dict[int, VesselsSaid]:
    """Read the newest round of each stage.

    Parameters
    ----------
    rounds : sequence of VesselReadings
    events : sequence of Event
        A round from before the latest replacement or move of elements of its stage says nothing of those there now.
    vessels : mapping
        Stage -> vessels in parallel.
    day : date
        The local day judged.
    after : date
        The last of the reference: what was so then explains no change since.
    timezone : str

    Returns
    -------
    dict
        By stage; without those where nothing was measured in time, or where it says neither.
    """
    found = {}
    for stage, count in vessels.items():
        renewed = [e.time for e in events if e.kind in REPLACEMENTS and e.stage in (None, stage)]
        for one in sorted(rounds, key=lambda one: one.time, reverse=True):
            measured = pd.Timestamp(one.time).tz_convert(timezone).date()
            profile = judge_vessels(one.conductivities_us_cm.get(stage, {}))
            late = measured > day + timedelta(days=AFTER_DAYS)
            if late or profile is None or measured <= after or any(one.time <= time for time in renewed):
                continue
            said = _said(stage, profile, count, measured, day)
            if said is not None:
                found[stage] = said
            break
    return found


def _said(stage: int, profile: StageProfile, count: int, measured: date, day: date) -> VesselsSaid | None:
    """Nothing where a good part of the stage stands out, where some differ without standing out, or it is long ago."""
    age, when = (day - measured).days, day_and_month(measured, day)
    out = [one for one in profile.vessels if one.stands_out]
    others = [one.conductivity_us_cm for one in profile.vessels if not one.stands_out]
    if out:
        if len(out) > len(profile.vessels) / 3 or age > FOUND_DAYS:
            return None
        named = "vessels " if len(out) > 1 else "vessel "
        named += " and ".join(str(one.vessel) for one in out)
        reads = f"read{'' if len(out) > 1 else 's'} {_range([one.conductivity_us_cm for one in out])} µS/cm"
        sentence = f"{named.capitalize()} of stage {stage} {reads} where the others read {_range(others)} ({when})."
        return VesselsSaid(FOUND, sentence, PROBE.format(named, stage))
    alike = all(abs(one.excess) <= LEAST_EXCESS for one in profile.vessels)
    if not alike or len(profile.vessels) < count or age > AGREED_DAYS:
        return None
    return VesselsSaid(AGREED, f"All {count} vessels of stage {stage} agree: {_range(others)} µS/cm ({when}).")


def _range(values: Sequence[float]) -> str:
    low, high = (f"{value:.0f}" if value >= 20 else f"{value:.3g}" for value in (min(values), max(values)))
    return low if low == high else f"{low} to {high}"
