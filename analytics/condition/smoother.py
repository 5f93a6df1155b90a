"""A slow level, and what moves the readings beside it, told apart: a smoothing spline with known disturbances.

The level may bend slowly and break at interventions. Disturbances (temperature, salinity, flow) act through
coefficients that are known roughly beforehand; the log refines them where it can tell. This is the fixed-interval
smoother of an integrated random walk, solved in one go as banded least squares: its cost grows linearly with the days.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg import cho_solve_banded, cholesky_banded

Array = npt.NDArray[np.float64]

STIFFNESSES = tuple(10.0**power for power in (-5.5, -5.0, -4.5, -4.0, -3.5, -3.0))
"""Change of the level's slope in a day, as standard deviations to choose from by likelihood. [1/d^1.5]"""
HUBER = 1.5
ROUNDS = 4
LEAST_NOISE = 1e-4


@dataclass(frozen=True)
class Disturbance:
    """Something that moves the values: its course by day (zero at the reference), and how far its coefficient may lie
    from zero (standard deviation)."""

    name: str
    course: Array
    prior: float


@dataclass(frozen=True)
class Smoothed:
    """Outcome on the days given.

    Attributes
    ----------
    level, error : array
        Smooth level and its standard error, on the days given. [as the values]
    corrected : array
        The values less their disturbances. NaN where there was none.
    coefficients, coefficient_errors : dict
        By name of the disturbance; a posterior as wide as the prior has learned nothing.
    noise : float
        Standard deviation of a day about the level.
    """

    level: Array
    error: Array
    corrected: Array
    coefficients: dict[str, float]
    coefficient_errors: dict[str, float]
    noise: float


def smooth(
    days: npt.NDArray[np.int64], values: Array, disturbances: Sequence[Disturbance], breaks: Sequence[int] = ()
) -> Smoothed:
    """Separate a slow level from known disturbances.

    Parameters
    ----------
    days : int array
        Ascending, gaps allowed. [d]
    values : array
        One a day; NaN where there is none.
    disturbances : sequence of Disturbance
    breaks : sequence of int
        Days on which the level may jump, such as cleanings. [d]

    Returns
    -------
    Smoothed

    Notes
    -----
    Minimizes sum w (y - level - X b)^2 / noise^2 + sum (second difference of level)^2 / q^2 + sum (b / prior)^2, the
    differences that reach across a break left out. q is the one of `STIFFNESSES` with the greatest marginal likelihood;
    w are Huber weights. Second differences are taken between the days that have readings, divided by the gaps.
    """
    known = np.isfinite(values)
    for disturbance in disturbances:
        known &= np.isfinite(disturbance.course)
    x = np.column_stack([d.course[known] for d in disturbances]) if disturbances else np.zeros((int(known.sum()), 0))
    priors = np.array([d.prior for d in disturbances])
    day, y = days[known], values[known]
    penalty = _penalty_bands(day, breaks)
    noise, weights = _first_noise(y), np.ones_like(y)
    best = None
    for turn in range(ROUNDS):
        candidates = STIFFNESSES if turn < 2 or best is None else (best.stiffness,)
        fits = [_solve(y, x, priors, penalty, weights, noise, q) for q in candidates]
        best = max(fits, key=lambda fit: fit.likelihood)
        residual = y - best.level - x @ best.coefficients
        leverage = float(np.sum(_inverse_diagonal(best.factor) * weights)) / (noise**2 * len(y))
        noise = 1.4826 * float(np.median(np.abs(residual))) / np.sqrt(max(1.0 - leverage, 0.3))
        noise = max(noise, LEAST_NOISE)
        weights = np.minimum(1.0, HUBER * noise / np.maximum(np.abs(residual), 1e-12))
    assert best is not None
    level, error = np.full(len(days), np.nan), np.full(len(days), np.nan)
    level[known] = best.level
    error[known] = _level_errors(best)
    corrected = np.where(known, values, np.nan)
    corrected[known] = y - x @ best.coefficients
    names = [d.name for d in disturbances]
    return Smoothed(
        level=level,
        error=error,
        corrected=corrected,
        coefficients=dict(zip(names, map(float, best.coefficients), strict=True)),
        coefficient_errors=dict(zip(names, map(float, np.sqrt(np.diag(best.covariance))), strict=True)),
        noise=noise,
    )


@dataclass(frozen=True)
class _Fit:
    stiffness: float
    level: Array
    coefficients: Array
    covariance: Array
    likelihood: float
    factor: Array
    carried: Array


def _first_noise(y: Array) -> float:
    steps = np.abs(np.diff(y))
    return max(1.4826 * float(np.median(steps)) / np.sqrt(2), LEAST_NOISE) if steps.size else LEAST_NOISE


def _penalty_bands(day: npt.NDArray[np.int64], breaks: Sequence[int]) -> Array:
    """Upper bands of D'D, D the second differences over uneven days."""
    count = len(day)
    bands = np.zeros((3, count))
    if count < 3:
        return bands
    before, after = np.diff(day)[:-1].astype(float), np.diff(day)[1:].astype(float)
    span = (before + after) / 2
    across = np.zeros(count - 2, dtype=bool)
    for cut in breaks:
        across |= (day[:-2] < cut) & (day[2:] >= cut)
    scale = np.where(across, 0.0, 1.0 / np.sqrt(span))
    left, right = scale / before, scale / after
    middle = -(left + right)
    bands[2, :-2] += left * left
    bands[2, 1:-1] += middle * middle
    bands[2, 2:] += right * right
    bands[1, 1:-1] += left * middle
    bands[1, 2:] += middle * right
    bands[0, 2:] += left * right
    return bands


def _solve(y: Array, x: Array, priors: Array, penalty: Array, weights: Array, noise: float, stiffness: float) -> _Fit:
    """Level and coefficients for one stiffness, with the marginal likelihood up to a constant."""
    precision = weights / noise**2
    bands = penalty / stiffness**2
    bands[2] = bands[2] + precision + 1e-9
    factor = cholesky_banded(bands)
    right = np.column_stack([precision * y, precision[:, None] * x])
    solved = cho_solve_banded((factor, False), right)
    alone, carried = solved[:, 0], solved[:, 1:]
    weighted = precision[:, None] * x
    inner = x.T @ weighted - weighted.T @ carried + np.diag(1.0 / priors**2)
    covariance: Array = np.asarray(np.linalg.inv(inner)) if len(priors) else np.zeros((0, 0))
    coefficients = covariance @ (weighted.T @ (y - alone))
    level = alone - carried @ coefficients
    residual = y - level - x @ coefficients
    quadratic = float(np.sum(precision * residual * (y)))
    free = len(y) - 2
    logdet = 2 * float(np.sum(np.log(factor[-1]))) + (float(np.linalg.slogdet(inner)[1]) if len(priors) else 0.0)
    likelihood = -0.5 * (quadratic + logdet + 2 * free * np.log(stiffness) - float(np.sum(np.log(precision))))
    return _Fit(stiffness, level, coefficients, covariance, likelihood, factor, carried)


def _inverse_diagonal(factor: Array) -> Array:
    """Diagonal of the inverse of a matrix with two upper bands, from its Cholesky factor (Takahashi's recursion)."""
    count = factor.shape[1]
    d = factor[2]
    one = np.r_[factor[1, 1:] / d[:-1], 0.0]
    two = np.r_[factor[0, 2:] / d[:-2], 0.0, 0.0][:count]
    inverse = 1.0 / d**2
    diagonal = np.zeros(count + 2)
    off_one, off_two = np.zeros(count + 2), np.zeros(count + 2)
    for i in range(count - 1, -1, -1):
        off_one[i] = -(one[i] * diagonal[i + 1] + two[i] * off_one[i + 1])
        off_two[i] = -(one[i] * off_one[i + 1] + two[i] * diagonal[i + 2])
        diagonal[i] = inverse[i] - one[i] * off_one[i] - two[i] * off_two[i]
    return diagonal[:count]


def _level_errors(fit: _Fit) -> Array:
    variance = _inverse_diagonal(fit.factor)
    if fit.carried.shape[1]:
        variance = variance + np.einsum("ij,jk,ik->i", fit.carried, fit.covariance, fit.carried)
    return np.asarray(np.sqrt(variance))
