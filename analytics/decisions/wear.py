"""What cleanings do not give back: the irreversible trend of one set of elements, with its uncertainty.

Losses are logarithms: 0 at the reference, 0.357 where the flow is down to 70 % or the salt passage up to 143 %.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

REFERENCE_ERROR = 0.02
"""How well the reference stands for new elements. [-]"""
REVERSIBLE_LOSS = 0.05
"""Mean loss of flow between cleanings that begin at 10 % (published cleaning criteria), with as many as now. [-]"""
DAYS_PER_YEAR = 365.25


@dataclass(frozen=True)
class Prior:
    """What the trade sees: irreversible loss per year and its spread, and how unevenly it comes. [1/a, 1/a,
    1/sqrt(a)]"""

    rate: float
    spread: float
    roughness: float


FLOW = Prior(0.07, 0.03, 0.02)
"""Design allowances for permeate flow: 3 to 7 % a year on well water, 7 to 10 % on surface water, up to 15 % on reuse
(membrane makers' design limits, from memory). The roughness is common practice, no source."""
SALT = Prior(0.08, 0.035, 0.04)
"""Design allowances for salt passage: 5 to 10 % a year, up to 15 % (membrane makers' design limits, from memory)."""
SET_TO_SET = 0.02
"""How much the rates of one set and the next differ at one place; common practice, no source. [1/a]"""


@dataclass(frozen=True)
class GivenBack:
    """Share of what a run lost that its cleaning is expected to give back, with its standard error. [-]"""

    share: float
    error: float


FLOW_GIVEN_BACK = GivenBack(0.8, 0.15)
SALT_GIVEN_BACK = GivenBack(0.4, 0.3)
"""A cleaning that gives back more than 80 % of the flow is a good one; of the salt passage less comes back. Common
practice, no source."""
NOTHING_GIVEN_BACK = GivenBack(0.0, 0.0)


@dataclass(frozen=True)
class Level:
    """Loss that is not given back, at one time: after a cleaning, or as one today would leave it. [a, -, -]"""

    years: float
    loss: float
    error: float
    after_cleaning: bool


@dataclass(frozen=True)
class Wear:
    """Irreversible loss today and its rate, as a joint normal distribution.

    Attributes
    ----------
    loss, loss_error : float
        Today. [-]
    rate, rate_error : float
        Per year. [1/a]
    covariance : float
        Of loss and rate. [1/a]
    roughness : float
        What the loss wanders beside its rate. [1/sqrt(a)]
    levels : int
        Levels that it rests on.
    years : float
        Time that they span. [a]
    from_trade : float
        Share of the rate that is the trade's experience and not this log: 1 with no history. [-]
    """

    loss: float
    loss_error: float
    rate: float
    rate_error: float
    covariance: float
    roughness: float
    levels: int
    years: float
    from_trade: float


@dataclass(frozen=True)
class Renewal:
    """Part of the elements renewed at one time: what was lost of them is lost no more. [a, -]"""

    years: float
    share: float


def irreversible_trend(
    levels: Sequence[Level], prior: Prior, *, now_years: float, renewals: Sequence[Renewal] = ()
) -> Wear:
    r"""Rate and level of the irreversible loss, from levels and the trade's experience.

    Parameters
    ----------
    levels : sequence of Level
        In the order of time.
    prior : Prior
    now_years : float
        Today, on the time of the levels. [a]
    renewals : sequence of Renewal
        On the time of the levels; one of all elements begins a set.

    Returns
    -------
    Wear
        With no levels, the prior alone.

    Notes
    -----
    The loss is a Brownian motion with drift; the drift (rate) is normal beforehand:

    .. math:: dx = r \, dt + \sigma \, dW, \quad r \sim N(m, s^2), \quad y_i = x(t_i) + \varepsilon_i

    Everything is normal, so the Kalman filter is exact. A renewal of a share :math:`p` of the elements leaves
    :math:`(1 - p) x`.
    """
    mean = np.array([0.0, prior.rate])
    spread = np.diag([REFERENCE_ERROR**2, prior.spread**2])
    steps: list[Level | Renewal] = sorted([*renewals, *levels], key=lambda one: one.years)
    at = steps[0].years if steps else 0.0
    for step in steps:
        mean, spread = _carried(mean, spread, step.years - at, prior.roughness)
        mean, spread = _renewed(mean, spread, step.share) if isinstance(step, Renewal) else _seen(mean, spread, step)
        at = step.years
    mean, spread = _carried(mean, spread, max(now_years - at, 0.0), prior.roughness)
    return Wear(
        loss=float(mean[0]),
        loss_error=float(np.sqrt(spread[0, 0])),
        rate=float(mean[1]),
        rate_error=float(np.sqrt(spread[1, 1])),
        covariance=float(spread[0, 1]),
        roughness=prior.roughness,
        levels=len(levels),
        years=levels[-1].years - levels[0].years if levels else 0.0,
        from_trade=min(float(spread[1, 1] / prior.spread**2), 1.0),
    )


def _seen(mean: Array, spread: Array, level: Level) -> tuple[Array, Array]:
    gain = spread[:, 0] / (spread[0, 0] + level.error**2)
    return mean + gain * (level.loss - mean[0]), spread - np.outer(gain, spread[0])


def _renewed(mean: Array, spread: Array, share: float) -> tuple[Array, Array]:
    """What stays of the loss is that of the elements that stay; new ones age at about the rate of the others."""
    kept = np.diag([1.0 - share, 1.0])
    new = np.diag([(share * REFERENCE_ERROR) ** 2, (share * SET_TO_SET) ** 2])
    return kept @ mean, kept @ spread @ kept + new


def _carried(mean: Array, spread: Array, years: float, roughness: float) -> tuple[Array, Array]:
    move = np.array([[1.0, years], [0.0, 1.0]])
    wander = np.diag([roughness**2 * years, 0.0])
    return move @ mean, move @ spread @ move.T + wander


def wear_after_damage(levels: Sequence[Level], prior: Prior) -> Wear:
    """Wear of elements that were damaged at once: the level is today's, and the rate says nothing about the damage.

    Parameters
    ----------
    levels : sequence of Level
        The last one counts.
    prior : Prior

    Returns
    -------
    Wear
        With the rate of the trade.
    """
    if not levels:
        return irreversible_trend((), prior, now_years=0.0)
    last = levels[-1]
    return Wear(
        loss=last.loss, loss_error=last.error, rate=prior.rate, rate_error=prior.spread, covariance=0.0,
        roughness=prior.roughness, levels=1, years=0.0, from_trade=1.0,
    )  # fmt: skip


def next_set(wear: Wear) -> Wear:
    """The wear of the elements that will follow: new ones, at about the same rate.

    Parameters
    ----------
    wear : Wear
        Of the elements that are in.

    Returns
    -------
    Wear
    """
    return replace(
        wear, loss=0.0, loss_error=REFERENCE_ERROR, rate_error=math.hypot(wear.rate_error, SET_TO_SET), covariance=0.0
    )
