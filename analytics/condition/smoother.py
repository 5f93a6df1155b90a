"""A slow level, and what moves the readings beside it, told apart: a smoothing spline with known disturbances.

The level may bend slowly and break at interventions. Disturbances (temperature, salinity, flow) act through
coefficients that are known roughly beforehand; the log refines them where it can tell. This is the fixed-interval
smoother of an integrated random walk, solved in one go as banded least squares: its cost grows linearly with the days.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dpbtrf, dpbtrs, dtbtrs

Array = npt.NDArray[np.float64]

STIFFNESSES = tuple(10.0**power for power in (-5.0, -4.5, -4.0, -3.5, -3.0, -2.5))
"""Change of the level's slope in a day, as standard deviations; each counts by its likelihood. [1/d^1.5]"""
HUBER = 1.5
ROUNDS = 4
LEAST_NOISE = 1e-4
LEAST_LOOSENESS = 0.3
"""A level never counts as using up more than the rest of the days' values. [-]"""
RIDGE = 1e-9
LEAST_SHARE = 1e-3
"""A stiffness that counts for less than this is left out. [-]"""


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
    scatter : array
        Part of that error which comes from the scatter of days; the rest is what is not known of the coefficients.
    corrected : array
        The values less their disturbances. NaN where there was none.
    coefficients, coefficient_errors : dict
        By name of the disturbance; a posterior as wide as the prior has learned nothing.
    noise : float
        Standard deviation of a day about the level.
    """

    level: Array
    error: Array
    scatter: Array
    corrected: Array
    coefficients: dict[str, float]
    coefficient_errors: dict[str, float]
    noise: float


def smooth(
    days: npt.NDArray[np.int64],
    values: Array,
    disturbances: Sequence[Disturbance],
    breaks: Sequence[int] = (),
    stiffnesses: Sequence[float] = STIFFNESSES,
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
    stiffnesses : sequence of float
        Ascending. [1/d^1.5]

    Returns
    -------
    Smoothed

    Notes
    -----
    Minimizes sum w (y - level - X b)^2 / noise^2 + sum (second difference of level)^2 / q^2 + sum (b / prior)^2, the
    differences that reach across a break left out. w are Huber weights. Second differences are taken between the days
    that have readings, divided by the gaps. The log cannot tell one stiffness q for certain: the answer is the mean of
    those of `stiffnesses`, each weighted by its marginal likelihood, and its error has their spread in it.
    """
    known = np.isfinite(values)
    for disturbance in disturbances:
        known &= np.isfinite(disturbance.course)
    x = np.column_stack([d.course[known] for d in disturbances]) if disturbances else np.zeros((int(known.sum()), 0))
    priors = np.array([d.prior for d in disturbances])
    day, y = days[known], values[known]
    penalty = _penalty(day, breaks)
    noise, weights = _first_noise(y), np.ones_like(y)
    fits = [_solve(y, x, priors, penalty, weights, noise, stiffness) for stiffness in stiffnesses]
    for _ in range(ROUNDS - 1):
        best = max(fits, key=lambda fit: fit.likelihood)
        residual = y - best.level - x @ best.coefficients
        noise = _noise(residual, float(np.sum(_inverse_diagonal(best.factor) * weights)) / noise**2 / len(y))
        weights = np.minimum(1.0, HUBER * noise / np.maximum(np.abs(residual), 1e-12))
        fits = _fits_around(best.stiffness, stiffnesses, partial(_solve, y, x, priors, penalty, weights, noise))
    mixture = _mixture(fits)
    corrected = _on_days(known, y - x @ mixture.coefficients)
    names = [d.name for d in disturbances]
    return Smoothed(
        level=_on_days(known, mixture.level),
        error=_on_days(known, mixture.error),
        scatter=_on_days(known, mixture.scatter),
        corrected=corrected,
        coefficients=dict(zip(names, map(float, mixture.coefficients), strict=True)),
        coefficient_errors=dict(zip(names, map(float, mixture.coefficient_errors), strict=True)),
        noise=noise,
    )


def _on_days(known: npt.NDArray[np.bool_], values: Array) -> Array:
    """NaN on days that have no value."""
    result = np.full(len(known), np.nan)
    result[known] = values
    return result


@dataclass(frozen=True)
class _Fit:
    """The answer for one stiffness."""

    stiffness: float
    level: Array
    coefficients: Array
    covariance: Array
    likelihood: float
    factor: Array
    carried: Array


@dataclass(frozen=True)
class _Mixture:
    """The answers for all stiffnesses, weighted by their likelihoods."""

    level: Array
    error: Array
    scatter: Array
    coefficients: Array
    coefficient_errors: Array


def _fits_around(stiffness: float, stiffnesses: Sequence[float], solve: Callable[[float], _Fit]) -> list[_Fit]:
    """Fits from a stiffness up and down, as far as they are likely enough to count beside the best of them."""
    begin = stiffnesses.index(stiffness)
    found = [solve(stiffness)]
    for way in (stiffnesses[begin + 1 :], stiffnesses[:begin][::-1]):
        for other in way:
            found.append(solve(other))
            if found[-1].likelihood < max(fit.likelihood for fit in found) + np.log(LEAST_SHARE):
                break
    return found


def _mixture(fits: Sequence[_Fit]) -> _Mixture:
    likelihoods = np.array([fit.likelihood for fit in fits])
    shares = np.exp(likelihoods - likelihoods.max())
    shares = np.where(shares < LEAST_SHARE * shares.sum(), 0.0, shares)
    picked = [(share, fit) for share, fit in zip(shares / shares.sum(), fits, strict=True) if share > 0]
    level = np.sum([share * fit.level for share, fit in picked], axis=0)
    coefficients = np.sum([share * fit.coefficients for share, fit in picked], axis=0)
    days, learned, spread = np.zeros_like(level), np.zeros_like(level), np.zeros_like(coefficients)
    for share, fit in picked:
        days = days + share * (_inverse_diagonal(fit.factor) + (fit.level - level) ** 2)
        learned = learned + share * np.einsum("ij,jk,ik->i", fit.carried, fit.covariance, fit.carried)
        spread = spread + share * (np.diag(fit.covariance) + (fit.coefficients - coefficients) ** 2)
    return _Mixture(level, np.sqrt(days + learned), np.sqrt(days), coefficients, np.sqrt(spread))


def _noise(residual: Array, used_up: float) -> float:
    """Standard deviation of a day about the level, from the middle of the residuals."""
    middle = 1.4826 * float(np.median(np.abs(residual)))
    return max(middle / float(np.sqrt(max(1.0 - used_up, LEAST_LOOSENESS))), LEAST_NOISE)


def _first_noise(y: Array) -> float:
    steps = np.abs(np.diff(y))
    return max(1.4826 * float(np.median(steps)) / np.sqrt(2), LEAST_NOISE) if steps.size else LEAST_NOISE


@dataclass(frozen=True)
class _Penalty:
    """Lower bands of D'D, D the second differences over uneven days, and how many of them there are."""

    bands: Array
    count: int


def _penalty(day: npt.NDArray[np.int64], breaks: Sequence[int]) -> _Penalty:
    count = len(day)
    bands = np.zeros((3, count))
    if count < 3:
        return _Penalty(bands, 0)
    before, after = np.diff(day)[:-1].astype(float), np.diff(day)[1:].astype(float)
    span = (before + after) / 2
    across = np.zeros(count - 2, dtype=bool)
    for cut in breaks:
        across |= (day[:-2] < cut) & (day[2:] >= cut)
    scale = np.where(across, 0.0, 1.0 / np.sqrt(span))
    left, right = scale / before, scale / after
    middle = -(left + right)
    bands[0, :-2] += left * left
    bands[0, 1:-1] += middle * middle
    bands[0, 2:] += right * right
    bands[1, :-2] += left * middle
    bands[1, 1:-1] += middle * right
    bands[2, :-2] += left * right
    return _Penalty(bands, int(np.count_nonzero(~across)))


def _solve(
    y: Array, x: Array, priors: Array, penalty: _Penalty, weights: Array, noise: float, stiffness: float
) -> _Fit:
    """Level and coefficients for one stiffness, with the marginal likelihood up to a constant."""
    precision = weights / noise**2
    bands = penalty.bands / stiffness**2
    bands[0] += precision + RIDGE
    weighted = precision[:, None] * x
    factor, failed = dpbtrf(bands, lower=1, overwrite_ab=1)
    if failed:
        raise np.linalg.LinAlgError("the smoother's matrix is not positive definite")
    solved = dpbtrs(factor, np.column_stack([precision * y, weighted]), lower=1)[0]
    alone, carried = solved[:, 0], solved[:, 1:]
    inner = x.T @ weighted - weighted.T @ carried + np.diag(1.0 / priors**2)
    covariance = np.asarray(np.linalg.inv(inner))
    coefficients = covariance @ (weighted.T @ (y - alone))
    level = alone - carried @ coefficients
    quadratic = float(np.sum(precision * (y - level - x @ coefficients) * y))
    determinant = 2 * float(np.sum(np.log(factor[0]))) + float(np.linalg.slogdet(inner)[1])
    likelihood = -0.5 * (quadratic + determinant + 2 * penalty.count * float(np.log(stiffness)))
    return _Fit(stiffness, level, coefficients, covariance, likelihood, factor, carried)


def _inverse_diagonal(factor: Array) -> Array:
    """Diagonal of the inverse of a symmetric matrix with two bands beside its diagonal, from its Cholesky factor.

    Notes
    -----
    Takahashi's recursion from the last day to the first, for the elements (i, i), (i, i+1) and (i, i+2) of the inverse:
    it is linear, and solved as a triangular system with four upper bands.
    """
    diagonal, count = factor[0], factor.shape[1]
    one, two = np.zeros(count), np.zeros(count)
    one[:-1], two[:-2] = factor[1, :-1] / diagonal[:-1], factor[2, :-2] / diagonal[:-2]
    bands = np.zeros((5, 3 * count + 6))
    at = 3 * np.arange(count)
    bands[4] = 1.0
    bands[3, at + 1], bands[2, at + 2] = one, two  # (i, i) goes with (i, i+1) and (i, i+2)
    bands[2, at + 3], bands[1, at + 4] = one, two  # (i, i+1) with (i+1, i+1) and (i+1, i+2)
    bands[2, at + 4], bands[0, at + 6] = one, two  # (i, i+2) with (i+1, i+2) and (i+2, i+2)
    known = np.zeros(3 * count + 6)
    known[at] = 1.0 / diagonal**2
    return np.asarray(dtbtrs(bands, known, uplo="U", diag="U")[0][at], dtype=np.float64)
