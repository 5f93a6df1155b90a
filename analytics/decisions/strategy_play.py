"""The ways of renewing a train played side by side, year by year, with the membrane model.

All are played at the likely rates of ageing, without a range. A year is looked at before it begins: where the contract
would be broken by its end, the steps of the way are taken one after the other until it would not.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from analytics.decisions.annualised import HOURS_PER_YEAR
from analytics.decisions.cost_per_m3 import pump_power_kw
from analytics.decisions.strategies import STRATEGIES, Ageing, Course, Strategy, Terms
from analytics.decisions.train_model import Duty, Part, TrainModel
from analytics.decisions.wear import REVERSIBLE_LOSS

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

RATE_WITH_TWICE = 0.8
"""Irreversible loss of flow with twice the cleanings, over that with as many as now; common practice, no source. [-]"""
SALT_PER_CLEANING = 0.005
"""What each further cleaning adds to salt passage: ageing by cleaning shows there first (published), the amount is
common practice, no source. [-]"""
ENDS = {"even": (1.0, 1.0, 1.0), "lead": (1.5, 1.0, 0.5), "tail": (0.5, 1.0, 1.5)}
"""How the loss of a stage spreads over lead, middle and tail; common practice, no source. [-]"""


@dataclass
class _State:
    """Losses of every part in every way: [part, strategy]; changed as the years go by."""

    flow: Array
    salt: Array
    rotated: Flags
    renewed: Flags
    moved: Flags

    def begin_year(self) -> None:
        """Nothing is renewed or moved yet."""
        self.renewed, self.moved = (np.zeros(self.flow.shape, dtype=bool) for _ in range(2))


@dataclass(frozen=True)
class _Outlook:
    """The end of a year in every way. [bar, -]"""

    pressure: Array
    product: Array
    broken: Flags


@dataclass(frozen=True)
class _Year:
    """What a year brought in every way; elements counted once however many steps concern them. [kWh, -]"""

    outlook: _Outlook
    energy: Array
    renewed: Array
    moved: Array


def play(
    model: TrainModel, ageing: Sequence[Ageing], terms: Terms, strategies: Sequence[Strategy] = STRATEGIES
) -> tuple[Course, ...]:
    """Play every way over the years.

    Parameters
    ----------
    model : TrainModel
    ageing : sequence of Ageing
        By stage.
    terms : Terms
    strategies : sequence of Strategy

    Returns
    -------
    tuple of Course
        In the order of the strategies.
    """
    game = _Game(model, tuple(ageing), terms, tuple(strategies))
    state = game.today()
    years: list[_Year] = []
    for _ in range(terms.years):
        state.begin_year()
        outlook = game.outlook(state)
        for step in range(max(len(one.steps) for one in strategies)):
            if not outlook.broken.any():
                break
            game.take(step, state, outlook.broken)
            outlook = game.outlook(state)
        years.append(_Year(outlook, game.energy_kwh(state), game.count(state.renewed), game.count(state.moved)))
        game.age(state)
    return tuple(game.course(number, years) for number in range(len(strategies)))


@dataclass(frozen=True)
class _Game:
    """The rules, the same in every year."""

    model: TrainModel
    ageing: tuple[Ageing, ...]
    terms: Terms
    strategies: tuple[Strategy, ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        return self.model.parts

    def weights(self) -> Array:
        """How much of its stage's loss each part has: [part, 1]."""
        places = {"lead": 0, "middle": 1, "tail": 2, "all": 1}
        return np.array([[ENDS[self.ageing[p.stage - 1].profile][places[p.place]]] for p in self.parts])

    def today(self) -> _State:
        count = len(self.strategies)
        flow, salt = (
            np.array([[getattr(self.ageing[p.stage - 1], name)] for p in self.parts]) * self.weights()
            for name in ("flow_loss", "salt_loss")
        )
        nothing = np.zeros((len(self.parts), count), dtype=bool)
        return _State(np.repeat(flow, count, axis=1), np.repeat(salt, count, axis=1), nothing[0], nothing, nothing)

    def count(self, places: Flags) -> Array:
        """Elements of some parts, in every way."""
        return np.asarray(np.array([part.elements for part in self.parts]) @ places)

    def rates(self) -> tuple[Array, Array]:
        """Losses of a year: [part, strategy]."""
        more = np.array([one.cleanings for one in self.strategies])
        flow, salt = (
            np.array([[getattr(self.ageing[p.stage - 1], name)] for p in self.parts]) * self.weights()
            for name in ("flow_rate", "salt_rate")
        )
        further = SALT_PER_CLEANING * self.terms.cleanings_per_year * (more - 1)
        return flow * RATE_WITH_TWICE ** np.log2(more), salt + further

    def age(self, state: _State) -> None:
        flow, salt = self.rates()
        state.flow, state.salt = state.flow + flow, state.salt + salt

    def outlook(self, state: _State) -> _Outlook:
        """The end of the year that begins with this state."""
        flow, salt = self.rates()
        water, passes = np.exp(-(state.flow + flow)), np.exp(state.salt + salt)
        fouled = water * self._fouled()
        cold = self.model.needs(self._duty(self.terms.coldest_c), fouled, passes, np.ones_like(water))
        warm = self.model.needs(self._duty(self.terms.warmest_c), fouled, passes, np.ones_like(water))
        product = warm.permeate_tds_mg_l / self._clean_product
        broken = ~np.isfinite(cold.feed_pressure_bar)
        most = self._most_pressure()
        if most is not None:
            broken |= ~(cold.feed_pressure_bar <= most)
        if self.terms.product_salt is not None:
            broken |= ~(product <= self.terms.product_salt)
        for stage in range(1, len(self.ageing) + 1):
            broken |= self._mean_of(water, stage) < self.terms.permeability
        return _Outlook(cold.feed_pressure_bar, product, broken)

    def _fouled(self) -> Array:
        return 1.0 - REVERSIBLE_LOSS / np.array([one.cleanings for one in self.strategies])

    def _duty(self, temperature_c: float) -> Duty:
        recovery = self.terms.recovery + np.array([one.recovery for one in self.strategies])
        return Duty(self.terms.permeate_flow_m3h, recovery, temperature_c)

    @cached_property
    def _clean_product(self) -> Array:
        """Salt in the product of the reference's membranes at the contract, in the warmest water. [mg/L]"""
        same = np.ones((len(self.parts), 1))
        duty = Duty(self.terms.permeate_flow_m3h, self.terms.recovery, self.terms.warmest_c)
        return self.model.needs(duty, same, same, same).permeate_tds_mg_l

    def _most_pressure(self) -> Array | None:
        if self.terms.most_pressure_bar is None:
            return None
        raised = self.terms.most_pressure_bar * np.array([one.pressure for one in self.strategies])
        return np.minimum(raised, max(self.terms.element_pressure_bar, self.terms.most_pressure_bar))

    def _mean_of(self, values: Array, stage: int) -> Array:
        """Mean over the parts of a stage, by elements."""
        inside = [n for n, part in enumerate(self.parts) if part.stage == stage]
        return np.average(values[inside], axis=0, weights=[self.parts[n].elements for n in inside])

    def energy_kwh(self, state: _State) -> Array:
        """Of the feed pump in this year, at the temperature of the reference."""
        flow, salt = self.rates()
        water = np.exp(-(state.flow + 0.5 * flow)) * self._fouled()
        same = np.ones_like(water)
        pressure = self.model.needs(
            self._duty(self.model.temperature_c), water, np.exp(state.salt + 0.5 * salt), same
        ).feed_pressure_bar
        power = pump_power_kw(self._feed(), pressure, self.terms.efficiency)
        return np.asarray(power * HOURS_PER_YEAR * self.terms.availability)

    def _feed(self) -> Array:
        return self.terms.permeate_flow_m3h / (
            self.terms.recovery + np.array([one.recovery for one in self.strategies])
        )

    def take(self, step: int, state: _State, broken: Flags) -> None:
        """Take one step of each way that needs it."""
        for n, strategy in enumerate(self.strategies):
            if not broken[n] or step >= len(strategy.steps):
                continue
            if strategy.steps[step] == "rotate":
                self._rotate(n, state)
                continue
            chosen = self._chosen(strategy.steps[step], n, state)
            state.flow[chosen, n], state.salt[chosen, n] = 0.0, 0.0
            state.renewed[chosen, n] = True

    def _chosen(self, step: str, n: int, state: _State) -> list[int]:
        """Places of the parts that a step renews."""
        last = len(self.ageing)
        worn = state.flow[:, n] + state.salt[:, n]
        places = range(len(self.parts))
        if step == "worst stage":
            stage = max(range(1, last + 1), key=lambda s: self._mean_of(worn[:, None], s)[0])
            return [p for p in places if self.parts[p].stage == stage]
        if step == "worst third":
            names = list(dict.fromkeys(part.place for part in self.parts))
            third = max(names, key=lambda name: max(worn[p] for p in places if self.parts[p].place == name))
            return [p for p in places if self.parts[p].place == third]
        end = {"tail": (last, ("tail", "all")), "lead": (1, ("lead", "all"))}.get(step)
        return [p for p in places if end is None or (self.parts[p].stage == end[0] and self.parts[p].place in end[1])]

    def _rotate(self, n: int, state: _State) -> None:
        """Let lead and tail of every stage change places, once."""
        if state.rotated[n]:
            return
        state.rotated = state.rotated | (np.arange(len(state.rotated)) == n)
        for stage in range(1, len(self.ageing) + 1):
            ends = [p for p, part in enumerate(self.parts) if part.stage == stage and part.place in ("lead", "tail")]
            for values in (state.flow, state.salt):
                values[ends, n] = values[ends[::-1], n]
            state.moved[ends, n] = True

    def course(self, n: int, years: Sequence[_Year]) -> Course:
        count = self.terms.cleanings_per_year * self.strategies[n].cleanings
        feed = float(self._feed()[n]) * HOURS_PER_YEAR * self.terms.availability
        return Course(
            strategy=self.strategies[n],
            renewed=tuple(int(year.renewed[n]) for year in years),
            moved=tuple(int(year.moved[n]) for year in years),
            cleanings=(count,) * len(years),
            energy_kwh=tuple(float(year.energy[n]) for year in years),
            feed_m3=(feed,) * len(years),
            pressure_bar=tuple(float(year.outlook.pressure[n]) for year in years),
            product=tuple(float(year.outlook.product[n]) for year in years),
            kept=tuple(not bool(year.outlook.broken[n]) for year in years),
        )
