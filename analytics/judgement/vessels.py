"""Permeate of single vessels: which one stands out of its stage, and how large its leak is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from analytics.errors import InvalidSettings

ROBUST_SIGMAS = 3.5
LEAST_EXCESS = 0.15
"""A vessel stands out when it lies this many robust standard deviations and this share above the median of its stage;
the second because a small spread gives false alarms. Common practice, no source."""
MAD_TO_SIGMA = 1.4826
"""Standard deviations of a normal distribution in its median absolute deviation: 1 / 0.6745. [-]"""
LEAST_VESSELS = 3
"""Of fewer, none stands apart from the others: of two that differ either may be off. [-]"""


@dataclass(frozen=True)
class VesselStanding:
    """One vessel in its stage: conductivity [uS/cm], robust deviation [-], share above the median [-]."""

    vessel: int
    conductivity_us_cm: float
    deviation: float
    excess: float
    stands_out: bool


@dataclass(frozen=True)
class StageProfile:
    """All vessels of a stage, with what they say in words."""

    median_us_cm: float
    spread_us_cm: float
    vessels: tuple[VesselStanding, ...]
    said: str
    next_check: str


def judge_vessels(conductivities_us_cm: Mapping[int, float]) -> StageProfile | None:
    """Compare the vessels of one stage, measured on one round.

    Parameters
    ----------
    conductivities_us_cm : mapping
        Vessel -> conductivity of its permeate. [uS/cm]

    Returns
    -------
    StageProfile or None
        None with fewer than three vessels.
    """
    known = {vessel: value for vessel, value in sorted(conductivities_us_cm.items()) if value > 0}
    if len(known) < LEAST_VESSELS:
        return None
    values = np.array(list(known.values()))
    median = float(np.median(values))
    mad = float(np.median(np.abs(values - median)))
    standings = tuple(_standing(vessel, value, median, mad) for vessel, value in known.items())
    out = [one.vessel for one in standings if one.stands_out]
    return StageProfile(median, mad, standings, *_words(out, len(known)))


def _standing(vessel: int, value: float, median: float, mad: float) -> VesselStanding:
    excess = value / median - 1
    if mad > 0:
        deviation = (value - median) / (MAD_TO_SIGMA * mad)
    else:
        deviation = 0.0 if value == median else float(np.copysign(np.inf, value - median))
    return VesselStanding(vessel, value, deviation, excess, deviation > ROBUST_SIGMAS and excess > LEAST_EXCESS)


def _words(out: Sequence[int], count: int) -> tuple[str, str]:
    if not out:
        return (
            "No vessel stands out of its stage.",
            "If the whole stage passes more salt, think of oxidation or hydrolysis rather than of a seal.",
        )
    if len(out) > count / 3:
        return (
            f"Vessels {', '.join(map(str, out))} stand out, a good part of the stage.",
            "Look for what these vessels share: elements of one delivery, one header, one place.",
        )
    named = "Vessel " + ", ".join(map(str, out))
    return (
        f"{named} stands out: a leak at a seal or a glue line, or one bad element.",
        "Probe this vessel along its permeate tube; at a connector a step is a seal, within an element its membrane.",
    )


def leak_fraction(measured_mg_l: float, expected_mg_l: float, feed_side_mg_l: float) -> float:
    r"""Share of a vessel's permeate that is leaked feed.

    Parameters
    ----------
    measured_mg_l, expected_mg_l : float
        Permeate of the vessel, and of its neighbours. [mg/L]
    feed_side_mg_l : float
        Water on the other side of the leak. [mg/L]

    Notes
    -----
    .. math:: f = \frac{c - c_0}{c_f - c_0}

    a balance of salt.

    Examples
    --------
    >>> round(100 * leak_fraction(75.0, 60.0, 3000.0), 2)
    0.51
    """
    if not feed_side_mg_l > expected_mg_l:
        raise InvalidSettings("the water on the feed side must be saltier than the permeate")
    return (measured_mg_l - expected_mg_l) / (feed_side_mg_l - expected_mg_l)
