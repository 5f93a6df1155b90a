"""Meters that cannot be right: drift of the flow and salt balances since the reference.

A first answer: one meter at a time is supposed to be off, and the one that explains both balances best is named. Where
two explain them equally well, both are named as candidates and neither is called suspect alone.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

Array = npt.NDArray[np.float64]

RECENT_DAYS = 21
LEAST_DAYS = 7
FLOW_TOLERANCE = 0.03
SALT_TOLERANCE = 0.08
"""Drift of a balance that good meters are allowed, as a share of the feed; common practice, no source. Salt is wider
because dissolved solids follow conductivity only roughly over a fourfold concentration."""

CLOSED = 5e-4
"""A balance that never misses by more than this share of the feed was computed, not metered: no three gauges of a skid
agree so well. [-]"""

AS_GOOD = 2.7
"""Misfits closer than this are told apart with less than 90 % confidence (chi-square, one degree of freedom). [-]"""


@dataclass(frozen=True)
class Meter:
    """One meter's bias since the reference, as a fraction of its reading, with the interval and the suspicion."""

    quantity: str
    bias: float
    low: float
    high: float
    suspect: bool
    evidence: str


@dataclass(frozen=True)
class BalanceDrift:
    """Median imbalance of the last weeks less that of the reference, and its error, as shares of the feed. [-]"""

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
    error = float(np.hypot(_error(before), _error(recent)))
    return BalanceDrift(float(recent.median() - before.median()), error, len(recent))


def _error(series: pd.Series) -> float:
    sigma = 1.4826 * float((series - series.median()).abs().median())
    return 1.645 * 1.2533 * sigma / float(np.sqrt(len(series)))


def suspect_meters(
    flow: BalanceDrift | None, salt: BalanceDrift | None, *, recovery: float, concentrate_share: float
) -> tuple[Meter, ...]:
    """Name the meter that explains the drift of the balances.

    Parameters
    ----------
    flow, salt : BalanceDrift or None
        None where the balance is not metered throughout (a balance on a computed flow proves nothing).
    recovery : float
        At the reference. [-]
    concentrate_share : float
        Salt leaving with the concentrate over salt fed, at the reference. [-]

    Returns
    -------
    tuple of Meter
        Empty when both balances hold.

    Notes
    -----
    A meter that reads (1 + b) times the truth moves the flow balance by its share of the feed and the salt balance by
    its share of the salt; one on the feed side, by which both balances are divided, by b / (1 + b) of it. Each meter
    alone is fitted to both drifts by weighted least squares; the misfit ranks them.
    """
    if flow is None or (abs(flow.now) <= max(FLOW_TOLERANCE, 2 * flow.error) and not _salt_broken(salt)):
        return ()
    moves = {
        "feed_flow": (1.0, concentrate_share),
        "permeate_flow": (-recovery, 0.0),
        "concentrate_flow": (-(1 - recovery), -concentrate_share),
        "concentrate_conductivity": (0.0, -concentrate_share),
        "feed_conductivity": (0.0, concentrate_share),
    }
    fits = {name: _fit(move, flow, salt) for name, move in moves.items() if salt is not None or move[0]}
    best = min(fit.misfit for fit in fits.values())
    return tuple(
        Meter(
            quantity=name,
            bias=_own(name, fit.bias),
            low=_own(name, fit.bias - fit.error),
            high=_own(name, fit.bias + fit.error),
            suspect=sum(f.misfit < best + AS_GOOD for f in fits.values()) == 1,
            evidence=_evidence(flow, salt),
        )
        for name, fit in sorted(fits.items(), key=lambda item: item[1].misfit)
        if fit.misfit < best + AS_GOOD
    )


@dataclass(frozen=True)
class _Fit:
    bias: float
    error: float
    misfit: float


def _own(name: str, moved: float) -> float:
    """Bias of a meter from what it moved: x = b / (1 + b) on the feed side, b elsewhere."""
    return moved / (1 - moved) if name.startswith("feed_") else moved


def _salt_broken(salt: BalanceDrift | None) -> bool:
    return salt is not None and abs(salt.now) > max(SALT_TOLERANCE, 2 * salt.error)


def _fit(move: tuple[float, float], flow: BalanceDrift, salt: BalanceDrift | None) -> _Fit:
    balances = [(flow, move[0], FLOW_TOLERANCE / 3)]
    if salt is not None:
        balances.append((salt, move[1], SALT_TOLERANCE / 4))
    sigmas = [float(np.hypot(balance.error, least)) for balance, _, least in balances]
    drifts = [balance.now for balance, _, _ in balances]
    slopes = [slope for _, slope, _ in balances]
    weight = sum((slope / sigma) ** 2 for slope, sigma in zip(slopes, sigmas, strict=True))
    bias = sum(s * d / e**2 for s, d, e in zip(slopes, drifts, sigmas, strict=True)) / weight
    misfit = sum(((d - s * bias) / e) ** 2 for s, d, e in zip(slopes, drifts, sigmas, strict=True))
    return _Fit(bias, 1.645 / float(np.sqrt(weight)), misfit)


def _evidence(flow: BalanceDrift, salt: BalanceDrift | None) -> str:
    text = f"the flow balance has moved by {100 * flow.now:+.1f} % of the feed since the reference"
    if salt is None:
        return text
    return f"{text}, the salt balance by {100 * salt.now:+.1f} %".replace("-", "−")
