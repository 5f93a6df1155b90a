"""What time does to membranes: pure functions of time, in days since the start of the scenario.

A `Change` has a growing severity (0 = nothing, 1 = as large as its shares say), places where it sits, and cleanings
that give back a stated share of it. Several changes of one stage multiply.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal, Protocol

import numpy as np

from demo_data.simulator.design import Design
from demo_data.simulator.train import Age
from demo_data.simulator.water import FloatArray

Profile = Literal["even", "lead", "tail"]
LEAST_FACTOR = 0.05
"""However bad a story gets, this much of a new element is left. [-]"""
PROFILE_SLOPE = 0.6
"""A "lead" profile falls in a straight line from 1.6 times the mean at the first element to 0.4 at the last. [-]"""


class Growth(Protocol):
    """How a severity grows on from `value` at the day `since`."""

    def after(self, value: float, since: float, days: FloatArray) -> FloatArray: ...


@dataclass(frozen=True)
class Linear:
    """The same amount every day from `begins` to `ends`. [1/day, day]"""

    per_day: float
    begins: float = 0.0
    ends: float = np.inf

    def after(self, value: float, since: float, days: FloatArray) -> FloatArray:
        return value + self.per_day * np.maximum(np.minimum(days, self.ends) - max(since, self.begins), 0.0)


@dataclass(frozen=True)
class Doubling:
    """Accelerating: doubles every `doubling_days` from a `seed`, and levels out at `most` (a logistic curve)."""

    doubling_days: float
    seed: float = 0.02
    most: float = 4.0
    begins: float = 0.0

    def after(self, value: float, since: float, days: FloatArray) -> FloatArray:
        start = max(value, self.seed)
        elapsed = np.maximum(days - max(since, self.begins), 0.0)
        grown = self.most / (1 + (self.most / start - 1) * 2.0 ** (-elapsed / self.doubling_days))
        return value + grown - start


@dataclass(frozen=True)
class Settling:
    """Fast at first, then done: one minus a decaying exponential, such as the compaction of new elements."""

    time_constant_days: float

    def after(self, value: float, since: float, days: FloatArray) -> FloatArray:
        return value + (1 - value) * (1 - np.exp(-np.maximum(days - since, 0.0) / self.time_constant_days))


@dataclass(frozen=True)
class Spell:
    """Rises smoothly from 0 to 1 between two days and stays, such as the damage of a chlorine slip."""

    begins: float
    ends: float

    def after(self, value: float, since: float, days: FloatArray) -> FloatArray:
        return value + self._share(days) - float(self._share(np.asarray([since]))[0])

    def _share(self, days: FloatArray) -> FloatArray:
        share = np.clip((days - self.begins) / (self.ends - self.begins), 0.0, 1.0)
        return np.asarray(share**2 * (3 - 2 * share))


@dataclass(frozen=True)
class Cleaning:
    """On this day a share of the severity is given back; 1 for new elements. [day, -]"""

    day: float
    gives_back: float


@dataclass(frozen=True)
class Change:
    """One way of ageing of one stage, or of all stages where `stage` is None.

    `water`, `salt` and `friction` are what a severity of 1 adds to the factor of 1 (such as -0.1); each answers
    with its own power of the severity: above 1 it shows late.
    """

    growth: Growth
    stage: int | None = None
    water: float = 0.0
    salt: float = 0.0
    friction: float = 0.0
    water_power: float = 1.0
    salt_power: float = 1.0
    friction_power: float = 1.0
    profile: Profile = "even"
    cleanings: tuple[Cleaning, ...] = ()

    def severity(self, days: FloatArray) -> FloatArray:
        """Severity at each day, with its cleanings. [-]"""
        value, since = 0.0, 0.0
        result = self.growth.after(value, since, days)
        for cleaning in sorted(self.cleanings, key=lambda one: one.day):
            before = float(self.growth.after(value, since, np.asarray([cleaning.day]))[0])
            value, since = before * (1 - cleaning.gives_back), cleaning.day
            result = np.where(days >= since, self.growth.after(value, since, days), result)
        return result


def cleaned(change: Change, *cleanings: Cleaning) -> Change:
    """The same change with further cleanings."""
    return replace(change, cleanings=(*change.cleanings, *cleanings))


def replaced(changes: Iterable[Change], *, stage: int, day: float) -> tuple[Change, ...]:
    """New elements in one stage: every change of that stage starts again (a change of all stages is split by you)."""
    return tuple(cleaned(one, Cleaning(day, 1.0)) if one.stage == stage else one for one in changes)


def ages(design: Design, changes: Iterable[Change], days: FloatArray) -> tuple[Age, ...]:
    """Factors on the new elements of every stage, element by element."""
    listed = tuple(changes)
    return tuple(
        _age([one for one in listed if one.stage in (None, number)], stage.elements_per_vessel, days)
        for number, stage in enumerate(design.stages, start=1)
    )


def _age(changes: list[Change], elements: int, days: FloatArray) -> Age:
    water, salt, friction = (np.ones((elements, len(days))) for _ in range(3))
    for change in changes:
        severity = change.severity(days)
        weight = profile_weights(change.profile, elements)[:, np.newaxis]
        water = water * (1 + change.water * weight * severity**change.water_power)
        salt = salt * (1 + change.salt * weight * severity**change.salt_power)
        friction = friction * (1 + change.friction * weight * severity**change.friction_power)
    return Age(*(np.maximum(factor, LEAST_FACTOR) for factor in (water, salt, friction)))


def profile_weights(profile: Profile, elements: int) -> FloatArray:
    """Weights of the elements of a vessel, with a mean of 1. [-]"""
    place = np.linspace(1.0, -1.0, elements) if elements > 1 else np.zeros(1)
    return {
        "even": np.ones(elements),
        "lead": 1 + PROFILE_SLOPE * place,
        "tail": 1 - PROFILE_SLOPE * place,
    }[profile]


def compaction(share: float = 0.03, *, time_constant_days: float = 9.0, stage: int | None = None) -> Change:
    """New elements lose a share of their water permeability in the first weeks, and pass a little less salt."""
    return Change(Settling(time_constant_days), stage, water=-share, salt=-0.6 * share)


def slow_fouling(stage: int | None, *, flow_loss_per_year: float, friction_per_year: float = 0.0) -> Change:
    """The same small loss every day; salt passage rises by a third of the share that flow loses."""
    return Change(
        Linear(1 / 365.0), stage, water=-flow_loss_per_year, salt=flow_loss_per_year / 3, friction=friction_per_year
    )


def biofouling(stage: int, *, doubling_days: float = 30.0, seed: float = 0.03, begins: float = 0.0) -> Change:
    """Accelerating growth in the lead elements: friction first, flow later, salt passage last."""
    return Change(
        Doubling(doubling_days, seed, begins=begins),
        stage,
        water=-0.08,
        salt=0.05,
        friction=0.18,
        water_power=1.3,
        salt_power=2.0,
        profile="lead",
    )


def scaling(stage: int, *, flow_loss: float, over_days: float, begins: float = 0.0, ends: float = np.inf) -> Change:
    """Crystals in the tail elements: flow down and salt passage up in step, friction late (third power)."""
    return Change(
        Linear(1 / over_days, begins, ends),
        stage,
        water=-flow_loss,
        salt=1.1 * flow_loss,
        friction=0.35 * flow_loss,
        friction_power=3.0,
        profile="tail",
    )


def oxidation(stage: int, *, begins: float, ends: float, flow_gain: float, salt_gain: float) -> Change:
    """A spell of oxidant: flow up, salt passage strongly up, no friction; it never comes back."""
    return Change(Spell(begins, ends), stage, water=flow_gain, salt=salt_gain, profile="lead")
