"""Meters that cannot be right: drift of balances since the reference.

One meter at a time is supposed to be off, and the one that explains all balances best is named. Where several explain
them equally well, all are named as candidates and none is called suspect alone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

Array = npt.NDArray[np.float64]

RECENT_DAYS = 21
LEAST_DAYS = 7

CLOSED = 5e-4
"""A balance that never misses by more than this share of the feed was computed, not metered: no three gauges of a skid
agree so well. [-]"""

WORTH_A_FIT = 0.01
"""A meter that moves the balances by less than a tenth of itself is not accused by them. [-]"""
AS_GOOD = 2.7
"""Misfits closer than this are told apart with less than 90 % confidence (chi-square, one degree of freedom). [-]"""


@dataclass(frozen=True)
class Meter:
    """One meter's bias since the reference, as a fraction of its reading, with the interval and the suspicion; and what
    it reads, where its bias is said in degrees. [-, degC]"""

    quantity: str
    bias: float
    low: float
    high: float
    suspect: bool
    evidence: str
    reading_c: float | None = None

    @property
    def reads(self) -> str:
        """Such as "8 % low"."""
        way = "high" if self.bias > 0 else "low"
        if self.reading_c is not None:
            return f"{abs(self.bias) * self.reading_c:.1f} °C {way}"
        size = f"{abs(100 * self.bias):.0f}"
        return f"{size if size != '0' else 'less than 1'} % {way}"


@dataclass(frozen=True)
class BalanceDrift:
    """Median imbalance of the last weeks less that of the reference, and its error, as shares. [-]"""

    now: float
    error: float
    days: int


def balance_drift(daily: pd.Series, *, reference: tuple[pd.Timestamp, pd.Timestamp]) -> BalanceDrift | None:
    """Drift of one balance.

    Parameters
    ----------
    daily : Series
        Imbalance by local day, (in - out) / in. [-]
    reference : pair of Timestamp
        First and last day of the reference.

    Returns
    -------
    BalanceDrift or None
        None where there are too few days, and where the balance closes by construction (one flow is the sum of the
        others) and so proves nothing.
    """
    known = daily[daily.notna()]
    before = known[(known.index >= reference[0]) & (known.index <= reference[1])]
    if not len(known) or float(known.abs().max()) < CLOSED:
        return None
    recent = known[known.index > known.index[-1] - pd.Timedelta(days=RECENT_DAYS)]
    recent = recent[recent.index > reference[1]]
    if len(before) < 3 or len(recent) < LEAST_DAYS:
        return None
    return drift_between(before, recent)


def drift_between(before: pd.Series, after: pd.Series) -> BalanceDrift:
    """Median of one stretch of days less that of another, and its error; every day has a value. [-]"""
    old, new = (stretch.to_numpy(dtype=np.float64) for stretch in (before, after))
    error = float(np.hypot(_error(old), _error(new)))
    return BalanceDrift(float(np.median(new) - np.median(old)), error, len(new))


def _error(values: npt.NDArray[np.float64]) -> float:
    sigma = 1.4826 * float(np.median(np.abs(values - np.median(values))))
    return 1.645 * 1.2533 * sigma / float(np.sqrt(len(values)))


@dataclass(frozen=True)
class Equation:
    """A balance that meters must keep, and how it has drifted.

    Attributes
    ----------
    name : str
        In words, such as "flow balance".
    drift : BalanceDrift
    tolerance : float
        Drift that good meters are allowed. [-]
    moves : mapping
        Meter -> change of the imbalance for a meter that reads twice the truth, from a small change. [-]
    """

    name: str
    drift: BalanceDrift
    tolerance: float
    moves: Mapping[str, float]

    @property
    def broken(self) -> bool:
        return abs(self.drift.now) > max(self.tolerance, 2 * self.drift.error)


def suspect_meters(equations: Sequence[Equation]) -> tuple[Meter, ...]:
    """Name the meter that explains how the balances have drifted.

    Parameters
    ----------
    equations : sequence of Equation
        Those that are metered throughout (a balance on a computed flow proves nothing).

    Returns
    -------
    tuple of Meter
        Empty when all balances hold.

    Notes
    -----
    Each meter alone is fitted to the drifts of all balances by weighted least squares; the misfit ranks them. With one
    balance, and where several meters move the balances alike, nothing tells them apart, and all are candidates.
    """
    if not any(equation.broken for equation in equations):
        return ()
    names = list(dict.fromkeys(name for equation in equations for name in equation.moves))
    fits = {name: fit for name in names if (fit := _fit(name, equations)) is not None}
    best = min(fit.misfit for fit in fits.values())
    candidates = {name: fit for name, fit in fits.items() if fit.misfit < best + AS_GOOD}
    return tuple(
        Meter(
            quantity=name,
            bias=_own(name, fit.moved),
            low=_own(name, fit.moved - fit.error),
            high=_own(name, fit.moved + fit.error),
            suspect=len(candidates) == 1,
            evidence=_evidence(equations),
        )
        for name, fit in sorted(candidates.items(), key=lambda item: item[1].misfit)
    )


@dataclass(frozen=True)
class Bias:
    """By how much a meter reads too high, as a fraction of its reading, with its interval. [-]"""

    value: float
    low: float
    high: float


def bias_alone(quantity: str, equations: Sequence[Equation]) -> Bias | None:
    """By how much one meter would be off if it were the only one; None where the balances say next to nothing of it."""
    fit = _fit(quantity, equations)
    if fit is None:
        return None
    return Bias(*(_own(quantity, fit.moved + side * fit.error) for side in (0, -1, 1)))


@dataclass(frozen=True)
class _Fit:
    """How far a meter must have moved, its error, and how far the balances miss it."""

    moved: float
    error: float
    misfit: float


def _own(name: str, moved: float) -> float:
    """Bias of a meter from what it moved: x = b / (1 + b) on the feed side, by which balances are divided."""
    return moved / (1 - moved) if name.startswith("feed_") else moved


def _fit(name: str, equations: Sequence[Equation]) -> _Fit | None:
    sigmas = np.array([np.hypot(e.drift.error, e.tolerance / 4) for e in equations])
    drifts = np.array([e.drift.now for e in equations])
    slopes = np.array([e.moves.get(name, 0.0) for e in equations])
    weight = float(np.sum((slopes / sigmas) ** 2))
    if weight < WORTH_A_FIT / float(np.min(sigmas)) ** 2:
        return None
    moved = float(np.sum(slopes * drifts / sigmas**2)) / weight
    return _Fit(moved, 1.645 / float(np.sqrt(weight)), float(np.sum(((drifts - slopes * moved) / sigmas) ** 2)))


def _evidence(equations: Sequence[Equation]) -> str:
    """Broken balances first."""
    ordered = sorted(equations, key=lambda e: -abs(e.drift.now) / e.tolerance)
    said = [f"the {e.name} by {100 * e.drift.now:+.1f} %".replace("-", "−") for e in ordered[:2]]
    return f"{said[0].replace(' by ', ' has moved by ', 1)} since the reference" + (f", {said[1]}" if said[1:] else "")
