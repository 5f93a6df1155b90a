"""Media and cartridge filters: their pressure drop at one flow, when to act, and how much water one set lasts."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

FLOW_EXPONENT = 1.7
"""Pressure drop of a loaded filter over flow; between 1.5 and 2 in practice, no source. [-]"""
CARTRIDGE_CHANGE_BAR = 1.0
"""Pressure drop at which cartridges are changed; a membrane maker's guide for small plants (0.1 MPa). [bar]"""
MEDIA_RISE_BAR = 0.7
"""Rise above the clean filter at which it is backwashed (10 psi); from memory. [bar]"""
CLEAN_DAYS = 7
SUDDEN_SHARE = 0.4
"""Fall of the pressure drop from one day to the next that no loading explains: bypass or burst. [-]"""


@dataclass(frozen=True)
class FilterState:
    """A filter at the flow of its clean days. [bar], rise per day [bar/d], days left None where it does not rise."""

    clean_bar: float
    now_bar: float
    rise_bar_per_day: float
    days_left: float | None
    burst: bool
    advice: str


def at_reference_flow(drop_bar: Array, flow_m3h: Array, reference_m3h: float) -> Array:
    """Pressure drop as it would be at one flow. [bar]

    Examples
    --------
    >>> at_reference_flow(np.array([0.5]), np.array([20.0]), 20.0)
    array([0.5])
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        corrected = drop_bar * (reference_m3h / flow_m3h) ** FLOW_EXPONENT
    return np.where(np.isfinite(corrected), corrected, np.nan)


def filter_state(days: Array, drop_bar: Array, flow_m3h: Array, *, kind: str) -> FilterState | None:
    """Judge a filter since its last change or backwash.

    Parameters
    ----------
    days : array
        Since the change, rising. [d]
    drop_bar, flow_m3h : array
        Daily medians. [bar], [m3/h]
    kind : str
        "cartridge" or "media".

    Returns
    -------
    FilterState or None
        None with fewer than three days.
    """
    known = np.isfinite(drop_bar) & np.isfinite(flow_m3h) & (flow_m3h > 0)
    if known.sum() < 3:
        return None
    days, drop, flow = days[known], drop_bar[known], flow_m3h[known]
    first = days <= days[0] + CLEAN_DAYS
    reference = float(np.median(flow[first]))
    corrected = at_reference_flow(drop, flow, reference)
    clean, now = float(np.median(corrected[first])), float(np.median(corrected[-3:]))
    limit = CARTRIDGE_CHANGE_BAR if kind == "cartridge" else clean + MEDIA_RISE_BAR
    rise = _slope(days, corrected)
    left = (limit - now) / rise if rise > 0 and now < limit else None
    burst = bool(len(corrected) > 3 and corrected[-1] < (1 - SUDDEN_SHARE) * np.median(corrected[-4:-1]))
    return FilterState(clean, now, rise, left, burst, _advice(kind, now, limit, left, burst=burst))


def _slope(days: Array, values: Array) -> float:
    """Median of the slopes of all pairs of days (Theil and Sen). [bar/d]"""
    left, right = np.triu_indices(len(days), k=1)
    apart = days[right] - days[left]
    slopes = (values[right] - values[left])[apart > 0] / apart[apart > 0]
    return float(np.median(slopes)) if slopes.size else 0.0


def _advice(kind: str, now: float, limit: float, left: float | None, *, burst: bool) -> str:
    what, act = ("Cartridges", "change them") if kind == "cartridge" else ("Media filter", "backwash it")
    if burst:
        return f"{what}: the pressure drop fell at once. Look for a bypass or a burst filter before anything else."
    if now >= limit:
        return f"{what}: {now:.2f} bar at the flow of the clean filter, limit {limit:.2f} bar: {act} now."
    if left is not None and left < 60:
        return f"{what}: {now:.2f} bar of {limit:.2f}; at this pace {act} in about {left:.0f} days."
    return f"{what}: {now:.2f} bar at the flow of the clean filter, limit {limit:.2f} bar."


def cartridge_lives_m3(changes_d: Sequence[float], days: Array, feed_flow_m3h: Array) -> tuple[float, ...]:
    """Water that passed between changes, oldest first; days without readings take the median flow. [m3]

    Parameters
    ----------
    changes_d : sequence of float
        Days of the changes, rising. [d]
    days, feed_flow_m3h : array
        Daily medians. [d], [m3/h]

    Examples
    --------
    >>> cartridge_lives_m3([0.0, 10.0], np.arange(10.0), np.full(10, 20.0))
    (4800.0,)
    """
    lives = []
    for start, end in pairwise(changes_d):
        inside = (days >= start) & (days < end) & np.isfinite(feed_flow_m3h)
        if inside.any():
            lives.append(float(np.median(feed_flow_m3h[inside]) * 24 * (end - start)))
    return tuple(lives)
