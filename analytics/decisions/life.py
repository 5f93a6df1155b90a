"""Time until the elements of a stage must be replaced: a distribution, by limit and over all limits.

A stage is due at the first limit that it reaches. What all stages share, the salt in the product and the flow that the
pump can still make, is charged to the stage that has lost most for it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analytics.decisions.life_table import MOST_YEARS, LifeTable
from analytics.decisions.wear import Wear, next_set

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

STEP_YEARS = 0.25
LEAST_RATE = 0.002
"""No set of elements ages more slowly; common practice, no source. [1/a]"""
NOTHING_LEFT = 1e-6
DRAWS = 1000
LINEAR_SHARE = 0.5
"""Nobody knows whether a loss goes on by the same amount or by the same share every year: half of the futures each;
common practice uses both, no source. [-]"""
LIMITS = ("product salt", "pump", "permeability", "exposure")
PERMEABILITY_LEFT = 0.70
"""Share of the reference flow at which a stage counts as worn out: an example of a performance warranty after three
years (published warranty text of a membrane maker). [-]"""
WARRANTY_SALT = 2.0
"""Salt passage over that at the start, in the same warranty text. [-]"""


@dataclass(frozen=True)
class StageWear:
    """How the elements of one stage age, and its shares of the product's salt and water at the reference. [-]"""

    stage: int
    flow: Wear
    salt: Wear
    salt_share: float
    flow_share: float


@dataclass(frozen=True)
class Exposure:
    """Free chlorine that the elements have had, what they bear, and what a year adds. [mg h/L, mg h/L, mg h/L/a]

    `rate_spread` is the standard deviation of the logarithm of the rate. [-]
    """

    spent: float
    tolerance: float
    rate: float
    rate_spread: float = 0.5


@dataclass(frozen=True)
class EndOfLife:
    """Limits of a train: ratios to the reference, None where one is not known or not wanted. [-]

    Attributes
    ----------
    product_salt : float, optional
        Salt passage of the whole train at which the product no longer meets the contract.
    pump_flow : float, optional
        Permeate flow at the reference conditions below which the pump cannot make the contract's flow.
    permeability : float
        Permeate flow of a stage below which its loss counts as worn out.
    exposure : Exposure, optional
    """

    product_salt: float | None = None
    pump_flow: float | None = None
    permeability: float = PERMEABILITY_LEFT
    exposure: Exposure | None = None


@dataclass(frozen=True)
class LimitLife:
    """One limit of one stage: time to it, and the share of draws in which it is the first. [a, -]"""

    name: str
    table: LifeTable
    first: float


@dataclass(frozen=True)
class GroupLife:
    """The elements of one stage: when they are due, by which limit, and how long the next ones last.

    `warranty` is the probability that flow or salt passage leave the warranty's levels before it ends. [-]
    """

    stage: int
    due: LifeTable
    limits: tuple[LimitLife, ...]
    next_life: LifeTable
    warranty: float | None


@dataclass(frozen=True)
class _Clock:
    """Times of the steps, where between two of them each draw is, and whether its losses are linear. [a, -, -]"""

    times: Array
    within: Array
    linear: Flags


@dataclass(frozen=True)
class _Paths:
    """Losses of all stages in all draws at all steps: [stage, draw, step]. [-]"""

    flow: Array
    salt: Array


def train_lives(
    stages: Sequence[StageWear],
    limits: EndOfLife,
    *,
    rng: np.random.Generator,
    draws: int = DRAWS,
    warranty_left_years: float | None = None,
    linear_share: float = LINEAR_SHARE,
) -> tuple[GroupLife, ...]:
    """Simulate the ageing of a train until every stage has reached a limit.

    Parameters
    ----------
    stages : sequence of StageWear
    limits : EndOfLife
    rng : Generator
    draws : int
    warranty_left_years : float, optional
        From today; None where there is no warranty. [a]
    linear_share : float
        Share of the futures in which every year takes the same amount; in the others it takes the same share. [-]

    Returns
    -------
    tuple of GroupLife
        In the order of the stages.

    Notes
    -----
    Each draw takes level and rate of every stage from their distribution, goes on by the same share or the same amount
    every year, and wanders. A stage is due for the
    product's salt (or the pump) when the train reaches that limit and it has added most; a stage that has added less is
    due when it would bring the train there by itself, with the others new. Replacements of other stages and shifts of
    load between stages are not simulated here; the strategies do that.
    """
    times = np.arange(0.0, MOST_YEARS + STEP_YEARS, STEP_YEARS)
    clock = _Clock(times, rng.random(draws), rng.random(draws) < linear_share)
    paths = _Paths(
        np.array([_losses(stage.flow, clock, rng, grows=-1.0) for stage in stages]),
        np.array([_losses(stage.salt, clock, rng, grows=1.0) for stage in stages]),
    )
    exposure = _exposure_times(limits.exposure, draws, rng)
    found = []
    for number, stage in enumerate(stages):
        own = _stage_times(number, stages, paths, limits, clock) | exposure
        everything = np.array([own[name] for name in own])
        due, first = everything.min(axis=0), everything.argmin(axis=0)
        shares = {name: float(np.mean((first == n) & (due < MOST_YEARS))) for n, name in enumerate(own)}
        found.append(
            GroupLife(
                stage.stage,
                LifeTable.of(due),
                tuple(LimitLife(name, LifeTable.of(own[name]), round(shares[name], 4)) for name in own),
                LifeTable.of(_next_times(number, stages, limits, clock, rng)),
                _warranty(paths, number, times, warranty_left_years),
            )
        )
    return tuple(found)


def _losses(wear: Wear, clock: _Clock, rng: np.random.Generator, *, grows: float) -> Array:
    """Loss of one stage: [draw, step]; `grows` is 1 for what rises and -1 for what falls."""
    times, draws = clock.times, len(clock.within)
    loss = wear.loss + wear.loss_error * rng.standard_normal(draws)
    slope = wear.covariance / wear.loss_error**2
    rest = np.sqrt(max(wear.rate_error**2 - slope * wear.covariance, 0.0))
    rate = wear.rate + slope * (loss - wear.loss) + rest * rng.standard_normal(draws)
    grown = np.maximum(rate, LEAST_RATE)[:, None] * times
    # The rate is that of the middle of the log; the same amount is another share of what is there today.
    amount = grown[clock.linear] * np.exp(-grows * loss[clock.linear] / 2)[:, None]
    grown[clock.linear] = grows * np.log(np.maximum(1.0 + grows * amount, NOTHING_LEFT))
    steps = rng.standard_normal((draws, len(times) - 1)) * (wear.roughness * np.sqrt(times[1] - times[0]))
    wander = np.concatenate([np.zeros((draws, 1)), np.cumsum(steps, axis=1)], axis=1)
    return np.asarray(loss[:, None] + grown + wander)


def _first_time(over: Flags, clock: _Clock) -> Array:
    """When each draw is over its limit for the first time: anywhere between two steps. [a]"""
    place = over.argmax(axis=1)
    between = np.where(place > 0, clock.times[place] - STEP_YEARS * clock.within, 0.0)
    return np.asarray(np.where(over[np.arange(len(over)), place], between, MOST_YEARS))


def _stage_times(
    number: int, stages: Sequence[StageWear], paths: _Paths, limits: EndOfLife, clock: _Clock
) -> dict[str, Array]:
    """Time of one stage to each limit that comes from ageing: name -> [draw]."""
    found: dict[str, Array] = {}
    if limits.product_salt is not None:
        added = np.expm1(paths.salt) * _shares([stage.salt_share for stage in stages])
        found["product salt"] = _shared_time(added, number, limits.product_salt - 1.0, clock)
    if limits.pump_flow is not None:
        lost = -np.expm1(-paths.flow) * _shares([stage.flow_share for stage in stages])
        found["pump"] = _shared_time(lost, number, 1.0 - limits.pump_flow, clock)
    found["permeability"] = _first_time(paths.flow[number] >= -np.log(limits.permeability), clock)
    return found


def _shares(values: Sequence[float]) -> Array:
    """Shares that add up to one, to be spread over draws and steps."""
    shares = np.asarray(values, dtype=np.float64)
    return np.asarray((shares / shares.sum())[:, None, None])


def _shared_time(added: Array, number: int, most: float, clock: _Clock) -> Array:
    """When a stage is due for what all stages add to: [draw]."""
    over = added.sum(axis=0) >= most
    train = _first_time(over, clock)
    place = over.argmax(axis=1)
    worst = added[:, np.arange(added.shape[1]), place].argmax(axis=0)
    alone = _first_time(added[number] >= most, clock)
    return np.where(worst == number, train, alone)


def _exposure_times(exposure: Exposure | None, draws: int, rng: np.random.Generator) -> dict[str, Array]:
    if exposure is None:
        return {}
    left = max(exposure.tolerance - exposure.spent, 0.0)
    rates = exposure.rate * np.exp(exposure.rate_spread * rng.standard_normal(draws))
    with np.errstate(divide="ignore", invalid="ignore"):
        years = np.where(rates > 0, left / rates, np.inf if left else 0.0)
    return {"exposure": np.minimum(years, MOST_YEARS)}


def _next_times(
    number: int, stages: Sequence[StageWear], limits: EndOfLife, clock: _Clock, rng: np.random.Generator
) -> Array:
    """Life of the set after this one, with the other stages as new and as much chlorine a year as now. [a]"""
    stage = stages[number]
    flow = _losses(next_set(stage.flow), clock, rng, grows=-1.0)
    salt = _losses(next_set(stage.salt), clock, rng, grows=1.0)
    share_of_salt = stage.salt_share / sum(one.salt_share for one in stages)
    share_of_flow = stage.flow_share / sum(one.flow_share for one in stages)
    over = flow >= -np.log(limits.permeability)
    if limits.product_salt is not None and limits.product_salt > 1:
        over |= np.expm1(salt) * share_of_salt >= limits.product_salt - 1.0
    if limits.pump_flow is not None and limits.pump_flow < 1:
        over |= -np.expm1(-flow) * share_of_flow >= 1.0 - limits.pump_flow
    found = np.maximum(_first_time(over, clock), STEP_YEARS)
    if limits.exposure is not None and limits.exposure.rate > 0:
        fresh = Exposure(0.0, limits.exposure.tolerance, limits.exposure.rate, limits.exposure.rate_spread)
        found = np.minimum(found, _exposure_times(fresh, len(clock.within), rng)["exposure"])
    return found


def _warranty(paths: _Paths, number: int, times: Array, left_years: float | None) -> float | None:
    if left_years is None or left_years <= 0:
        return None
    within = times <= left_years
    flow, salt = paths.flow[number][:, within], paths.salt[number][:, within]
    broken = (flow >= -np.log(PERMEABILITY_LEFT)) | (salt >= np.log(WARRANTY_SALT))
    return round(float(np.mean(broken.any(axis=1))), 4)
