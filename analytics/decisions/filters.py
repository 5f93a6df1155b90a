"""Media and cartridge filters: their pressure drop at one flow, when to act, and how much water one set lasts."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
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
UNCLEAN_BAR = 0.2
"""Rise left by backwashes, above the cleanest ones, from which a bed stays dirty; our choice, no source. [bar]"""
BACKWASH_BAR = MEDIA_RISE_BAR / 2
"""Fall of the pressure drop of a media filter that is a backwash, also of a bed that stays dirty; our choice. [bar]"""
CLEAN_DAYS = 7
SUDDEN_SHARE = 0.4
"""Fall of the pressure drop that no loading explains: a backwash, or a bypass or burst. [-]"""
FEW = 3
"""Backwashes by which the cleanest ones, and the latest ones, are told. [-]"""
SOON_DAYS = 60.0
"""A date further off is not told. [d]"""
FELL = "the pressure drop fell at once. Look for a bypass or a burst filter before anything else."
UNCLEAN = "Media filter: its backwashes leave {:.2f} bar, the best ones left {:.2f} bar: look at how it is backwashed."


@dataclass(frozen=True)
class FilterState:
    """What to do about a filter, and whether at once; days left None where nothing rises, or it is due. [d]"""

    days_left: float | None
    urgent: bool
    advice: str


def at_reference_flow(drop_bar: Array, flow_m3h: Array, reference_m3h: float) -> Array:
    """Pressure drop as it would be at one flow.

    Parameters
    ----------
    drop_bar, flow_m3h : array
        [bar, m3/h]
    reference_m3h : float
        [m3/h]

    Returns
    -------
    array
        NaN where nothing flows. [bar]

    Examples
    --------
    >>> at_reference_flow(np.array([0.5]), np.array([20.0]), 20.0)
    array([0.5])
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        corrected = drop_bar * (reference_m3h / flow_m3h) ** FLOW_EXPONENT
    return np.where(np.isfinite(corrected), corrected, np.nan)


def cartridge_state(days: Array, drop_bar: Array, flow_m3h: Array) -> FilterState | None:
    """Judge cartridges since their last change.

    Parameters
    ----------
    days : array
        Since the change, rising. [d]
    drop_bar, flow_m3h : array
        Daily medians. [bar], [m3/h]

    Returns
    -------
    FilterState or None
        None with fewer than three days.
    """
    days, drop = _at_one_flow(days, drop_bar, flow_m3h)
    if len(days) < 3:
        return None
    if len(drop) > 3 and drop[-1] < (1 - SUDDEN_SHARE) * np.median(drop[-4:-1]):
        return FilterState(None, True, f"Cartridges: {FELL}")
    now, rise = float(np.median(drop[-3:])), _slope([(days, drop)])
    return _loading("Cartridges", "change them", now, CARTRIDGE_CHANGE_BAR, rise)


def media_state(days: Array, drop_bar: Array, flow_m3h: Array) -> FilterState | None:
    """Judge a media filter, whose backwashes are seen in its pressure drop.

    Parameters
    ----------
    days, drop_bar, flow_m3h : array
        As for cartridges, over the last months.

    Returns
    -------
    FilterState or None
        None with fewer than three days.

    Notes
    -----
    A fall by `SUDDEN_SHARE` or `BACKWASH_BAR` within two days is a backwash. The clean filter is that of the cleanest
    backwashes; without any, that of the first week. Backwashes once a day or more often show in no daily value.
    """
    days, drop = _at_one_flow(days, drop_bar, flow_m3h)
    if len(days) < 3:
        return None
    washed = _backwashes(drop)
    after, runs = drop[washed], np.split(np.arange(len(drop)), washed)
    clean = float(np.median(np.sort(after)[:FEW] if washed else drop[days <= days[0] + CLEAN_DAYS]))
    if len(after) > FEW and after[-1] < (1 - SUDDEN_SHARE) * clean:
        return FilterState(None, True, f"Media filter: {FELL}")
    if len(after) > FEW and (latest := float(np.median(after[-FEW:]))) > clean + UNCLEAN_BAR:
        return FilterState(None, True, UNCLEAN.format(latest, clean))
    now, rise = float(np.median(drop[runs[-1][-2:]])), _slope([(days[run], drop[run]) for run in runs])
    state = _loading("Media filter", "backwash it", now, clean + MEDIA_RISE_BAR, rise)
    if washed:
        often = f" Backwashes in the last {days[-1] - days[0]:.0f} days: {len(washed)}."
        return replace(state, advice=state.advice + often)
    return state


def _at_one_flow(days: Array, drop_bar: Array, flow_m3h: Array) -> tuple[Array, Array]:
    """The days on which both are known, and the pressure drop at the flow of the first of them."""
    known = np.isfinite(drop_bar) & np.isfinite(flow_m3h) & (flow_m3h > 0)
    days, drop, flow = days[known], drop_bar[known], flow_m3h[known]
    if not len(days):
        return days, drop
    return days, at_reference_flow(drop, flow, float(np.median(flow[days <= days[0] + CLEAN_DAYS])))


def _backwashes(drop: Array) -> list[int]:
    """Places of the first value after each backwash: of falls that follow one another, the lowest.

    Examples
    --------
    >>> _backwashes(np.array([0.9, 1.0, 0.6, 0.3, 0.4, 0.6, 0.8, 0.35]))
    [3, 7]
    """
    before = np.maximum(drop[:-1], np.append(drop[:1], drop[:-2]))
    fallen = np.flatnonzero(drop[1:] < before - np.minimum(SUDDEN_SHARE * before, BACKWASH_BAR)) + 1
    together = np.split(fallen, np.flatnonzero(np.diff(fallen) > 1) + 1)
    return [int(places[np.argmin(drop[places])]) for places in together if len(places)]


def _slope(runs: Sequence[tuple[Array, Array]]) -> float:
    """Median of the slopes of all pairs of days of one run (Theil and Sen). [bar/d]"""
    slopes = []
    for days, values in runs:
        left, right = np.triu_indices(len(days), k=1)
        apart = days[right] - days[left]
        slopes.append((values[right] - values[left])[apart > 0] / apart[apart > 0])
    found = np.concatenate(slopes)
    return float(np.median(found)) if found.size else 0.0


def _loading(what: str, act: str, now: float, limit: float, rise: float) -> FilterState:
    """How far a filter is on its way to its limit."""
    stands = f"{what}: {now:.2f} bar at the flow of the clean filter, limit {limit:.2f} bar"
    if now >= limit:
        return FilterState(None, True, f"{stands}: {act} now.")
    left = (limit - now) / rise if rise > 0 else None
    if left is not None and left < SOON_DAYS:
        return FilterState(
            left, False, f"{what}: {now:.2f} bar of {limit:.2f} bar; at this pace {act} in about {left:.0f} days."
        )
    return FilterState(left, False, f"{stands}.")


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
