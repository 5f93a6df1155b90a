"""Taking chlorine out before it reaches the membranes: how much it takes, and how much they have seen."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analytics.errors import InvalidSettings
from analytics.physics.oxidants import SULFITE_PER_CHLORINE

Array = npt.NDArray[np.float64]

PRACTICAL = 1.5
"""Times the stoichiometric mass that a dose should reach; practice is 1.8 to 3 mg of bisulfite a mg of chlorine. [-]"""
DETECTION_LIMIT_MG_L = 0.02
"""Free chlorine that a field kit can tell from none (DPD); common practice, no source."""
LONGEST_HOLD_H = 24.0
"""For how long a value of chlorine is taken to hold, when no other follows; common practice, no source."""


@dataclass(frozen=True)
class SulfiteDose:
    """How much to dose; `warning` is empty when the factor is enough."""

    grams_per_hour: float
    litres_per_hour: float
    factor: float
    stoichiometric: float
    warning: str

    @property
    def kilograms_per_day(self) -> float:
        return self.grams_per_hour * 0.024


def sulfite_dose(
    agent: str, *, feed_flow_m3h: float, chlorine_mg_l: float, factor: float, strength: float, density_kg_l: float
) -> SulfiteDose:
    """Dose for a flow and a chlorine residual.

    Parameters
    ----------
    agent : str
        One of `SULFITE_PER_CHLORINE`.
    feed_flow_m3h : float
        [m3/h]
    chlorine_mg_l : float
        Free chlorine before the dosing. [mg/L]
    factor : float
        Mass of the agent for a mass of chlorine. [mg/mg]
    strength : float
        Mass fraction of the agent in the tank, 0 to 1. [-]
    density_kg_l : float
        Of the solution in the tank. [kg/L]

    Raises
    ------
    InvalidSettings
        When a value is out of range or the agent not known.

    Examples
    --------
    >>> found = sulfite_dose("sodium metabisulfite", feed_flow_m3h=20, chlorine_mg_l=0.8, factor=3, strength=0.1,
    ...     density_kg_l=1.07)
    >>> round(found.grams_per_hour, 1), round(found.litres_per_hour, 3)
    (48.0, 0.449)
    """
    if agent not in SULFITE_PER_CHLORINE:
        raise InvalidSettings(f"{agent}: not known; there are {', '.join(SULFITE_PER_CHLORINE)}")
    for name, value, most in (
        ("feed flow", feed_flow_m3h, 1e5), ("chlorine", chlorine_mg_l, 50.0), ("factor", factor, 20.0),
        ("strength", strength, 1.0), ("density", density_kg_l, 2.0),
    ):  # fmt: skip
        if not 0 < value <= most:
            raise InvalidSettings(f"{name}: {value:g} is not above 0 and at most {most:g}")
    grams = feed_flow_m3h * chlorine_mg_l * factor
    return SulfiteDose(
        grams, grams / (strength * density_kg_l * 1000), factor, SULFITE_PER_CHLORINE[agent], _warning(agent, factor)
    )


def _warning(agent: str, factor: float) -> str:
    needed = SULFITE_PER_CHLORINE[agent]
    if factor < needed:
        return (
            f"Too little: {needed:.2f} mg of {agent} react with 1 mg of chlorine, so {factor:g} leaves"
            f" {100 * (1 - factor / needed):.0f} % of it in the water."
        )
    if factor < PRACTICAL * needed:
        return f"Hardly enough: the reaction takes {needed:.2f}; practice doses {PRACTICAL * needed:.1f} or more."
    return ""


@dataclass(frozen=True)
class Exposure:
    """Chlorine that membranes have seen: at least and at most [mg/L x h], and the hours that no value covers."""

    least: float
    most: float
    hours: float
    uncovered_hours: float


def chlorine_exposure(hours: Array, chlorine_mg_l: Array, *, end_h: float, detection_limit_mg_l: float) -> Exposure:
    """Add up chlorine over time.

    Parameters
    ----------
    hours : array
        Times of the values, rising. [h]
    chlorine_mg_l : array
        [mg/L]
    end_h : float
        Until when. [h]
    detection_limit_mg_l : float
        A value below it may be anything from nothing to it. [mg/L]

    Notes
    -----
    Each value holds until the next, for `LONGEST_HOLD_H` at the most; what lies beyond is not covered, nor what lies
    between the first time and the first value.

    Examples
    --------
    >>> days = np.arange(30) * 24.0
    >>> round(chlorine_exposure(days, np.full(30, 0.05), end_h=720.0, detection_limit_mg_l=0.02).most, 6)
    36.0
    """
    known = np.isfinite(chlorine_mg_l)
    times, values = hours[known], chlorine_mg_l[known]
    if not times.size:
        return Exposure(0.0, 0.0, 0.0, max(0.0, float(end_h - hours[0])) if hours.size else 0.0)
    gaps = np.diff(np.append(times, end_h))
    held = np.clip(gaps, 0.0, LONGEST_HOLD_H)
    seen = values >= detection_limit_mg_l
    least = float(np.sum(np.where(seen, values, 0.0) * held))
    most = float(np.sum(np.where(seen, values, detection_limit_mg_l) * held))
    uncovered = float(times[0] - hours[0] + np.sum(gaps - held))
    return Exposure(least, most, float(held.sum()), uncovered)


@dataclass(frozen=True)
class OrpBaseline:
    """The ORP of a site without chlorine, and how far above it the latest stands. [mV]"""

    without_chlorine: float
    latest: float
    days: int

    @property
    def rise(self) -> float:
        return self.latest - self.without_chlorine


def orp_baseline(orp_mv: Array, chlorine_mg_l: Array, *, detection_limit_mg_l: float) -> OrpBaseline | None:
    """The site's own ORP at no chlorine.

    Parameters
    ----------
    orp_mv, chlorine_mg_l : array
        By day, NaN where not measured. [mV, mg/L]
    detection_limit_mg_l : float
        Chlorine below it counts as none. [mg/L]

    Returns
    -------
    OrpBaseline or None
        None with fewer than 5 days that show both.

    Notes
    -----
    ORP differs by more than 100 mV between waters, so no set value holds everywhere.
    """
    clean = np.isfinite(orp_mv) & (chlorine_mg_l < detection_limit_mg_l)
    known = orp_mv[np.isfinite(orp_mv)]
    if clean.sum() < 5:
        return None
    return OrpBaseline(float(np.median(orp_mv[clean])), float(known[-1]), int(clean.sum()))


def agents() -> Sequence[str]:
    """Names of what can be dosed."""
    return tuple(SULFITE_PER_CHLORINE)
