"""The train as fitted at the reference, to be asked what it needs when its membranes have changed.

Every stage is cut by position into a lead, a middle and a tail part, so that parts of a vessel can be renewed. Arrays
hold one value per alternative (a strategy, a state of the membranes).
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from analytics.condition.metered_train import FRICTION_EXPONENT
from analytics.condition.reference_run import ReferenceTrain
from analytics.judgement.new_elements import NewReference
from analytics.physics.temperature import membrane_water_temperature_factor, salt_temperature_factor
from analytics.physics.train import StageSetup, run_at_concentrate_flow, run_train
from analytics.physics.vessel import FILM_EXPONENT, Channel, Elements, Water
from analytics.physics.water import viscosity_mpa_s
from analytics.plant import Membrane, Plant

Array = npt.NDArray[np.float64]

PARTS = 3
"""Lead, middle and tail of a vessel."""
PRESSURES = 20
CLOSER = np.array([0.97, 0.99, 1.0, 1.01, 1.03])
"""Feed pressures that are tried, and then those around the answer between them; the rest is interpolated, to about 1e-5
of the flow."""
HIGHEST_BAR = 60.0
"""Where the search for a feed pressure ends: half as much again as brackish-water elements may carry, 41 bar. [bar]"""


@dataclass(frozen=True)
class Part:
    """Elements of one stage that stand at neighbouring positions: as many in each vessel, and how many in all."""

    stage: int
    vessels: int
    in_series: int
    place: str

    @property
    def elements(self) -> int:
        return self.vessels * self.in_series


@dataclass(frozen=True)
class StageAsFitted:
    """One stage at the reference temperature. [L/m2/h/bar, L/m2/h, bar]"""

    vessels: int
    in_series: int
    membrane: Membrane
    water_permeability_lmh_bar: float
    salt_permeability_lmh: float
    friction_bar: float
    permeate_pressure_bar: float
    boost_bar: float


@dataclass(frozen=True)
class Duty:
    """What the train is asked for: permeate at a recovery, from water at a temperature. [m3/h, -, degC]"""

    permeate_flow_m3h: Array | float
    recovery: Array | float
    temperature_c: float


@dataclass(frozen=True)
class Answer:
    """What it takes: NaN where no pressure up to `HIGHEST_BAR` makes the flow. [bar, mg/L]"""

    feed_pressure_bar: Array
    permeate_tds_mg_l: Array


@dataclass(frozen=True)
class TrainModel:
    """A train at the reference, with what it did there, and what the log taught of osmosis and film.

    [degC, mg/L, m3/h, -, bar]
    """

    stages: tuple[StageAsFitted, ...]
    temperature_c: float
    water: str
    feed_tds_mg_l: float
    permeate_flow_m3h: float
    recovery: float
    feed_pressure_bar: float
    osmotic_factor: float = 1.0
    film_factor: float = 1.0
    film_exponent: float = FILM_EXPONENT

    @classmethod
    def of(cls, reference: ReferenceTrain, plant: Plant) -> "TrainModel":
        """Take the fitted train; raises nothing, but see `known`."""
        first, last = reference.stages[0], reference.stages[-1]
        permeate = first.feed_flow_m3h - last.concentrate_flow_m3h
        stages = tuple(
            StageAsFitted(
                fitted.vessels, fitted.in_series, built.membrane, fitted.water_permeability_lmh_bar,
                fitted.salt_permeability_lmh, fitted.friction_bar, fitted.permeate_pressure_bar, fitted.boost_bar,
            )
            for fitted, built in zip(reference.stages, plant.train.stages, strict=True)
        )  # fmt: skip
        return cls(
            stages, reference.temperature_c, reference.water, first.feed_tds_mg_l, permeate,
            permeate / first.feed_flow_m3h, first.feed_pressure_bar,
            reference.closures.osmotic, reference.closures.film, reference.closures.film_exponent,
        )  # fmt: skip

    def renewed(self, references: Sequence[NewReference], columns: Collection[str]) -> "TrainModel":
        """The same train with the membranes of its new elements.

        Parameters
        ----------
        references : sequence of NewReference
        columns : collection of str
            Indicators by day that losses are taken from: a stage without one of its own follows the train.

        Notes
        -----
        Days over a new reference are the old ones times a factor, so the membranes that they are compared with are
        those of the first reference over it: water permeability and friction by their own, salt permeability by that of
        salt passage and that of flow, since salt passage is salt permeability over flux.
        """
        factors: dict[str, float] = {}
        for one in references:
            factors[one.column] = factors.get(one.column, 1.0) * one.factor

        def factor(stage: int, indicator: str) -> float:
            own = f"stage{stage}_{indicator}"
            return factors.get(own if own in columns else f"train_{indicator}", 1.0)

        stages = tuple(
            replace(
                stage,
                water_permeability_lmh_bar=stage.water_permeability_lmh_bar / (flow := factor(n, "permeate_flow")),
                salt_permeability_lmh=stage.salt_permeability_lmh / (factor(n, "salt_passage") * flow),
                friction_bar=stage.friction_bar / factor(n, "pressure_drop"),
            )
            for n, stage in enumerate(self.stages, start=1)
        )
        return replace(self, stages=stages)

    @property
    def known(self) -> bool:
        """Whether everything that a run needs is known."""
        numbers = [self.feed_tds_mg_l, self.permeate_flow_m3h, self.recovery, self.feed_pressure_bar]
        numbers += [
            n for s in self.stages for n in (s.water_permeability_lmh_bar, s.salt_permeability_lmh, s.friction_bar)
        ]
        return bool(np.all(np.isfinite(numbers))) and 0 < self.recovery < 1 and self.permeate_flow_m3h > 0

    @property
    def parts(self) -> tuple[Part, ...]:
        """Lead, middle and tail of each stage, in the order of the water; fewer for short vessels.

        Examples: six elements are two, two and two; seven are two, three and two.
        """
        return tuple(part for number, stage in enumerate(self.stages, start=1) for part in _cut(number, stage))

    def needs(self, duty: Duty, water: Array, salt: Array, friction: Array) -> Answer:
        """Feed pressure that a duty takes, and the salt in its permeate.

        Parameters
        ----------
        duty : Duty
        water, salt, friction : array
            Ratios to the reference: [part, alternative]. [-]

        Returns
        -------
        Answer
            One value per alternative.
        """
        count = water.shape[1]
        flow, recovery = (np.broadcast_to(v, count) for v in (duty.permeate_flow_m3h, duty.recovery))
        setups = self._setups(duty.temperature_c, water, salt, friction)
        feed_flow, tds = (flow / recovery)[:, None], np.full((count, 1), self.feed_tds_mg_l)
        temperature = self._water(duty.temperature_c)
        pressures = np.geomspace(0.4 * self.feed_pressure_bar, HIGHEST_BAR, PRESSURES)
        made = run_train(setups, Channel(feed_flow, tds, pressures[None, :]), temperature).permeate_flow_m3h
        near = np.array([_crossing(pressures, made[n], flow[n]) for n in range(count)])
        closer = near[:, None] * CLOSER
        run = run_train(setups, Channel(feed_flow, tds, closer), temperature)
        found = np.array([_crossing(closer[n], run.permeate_flow_m3h[n], flow[n]) for n in range(count)])
        salty = np.array([np.interp(found[n], closer[n], run.permeate_tds_mg_l[n]) for n in range(count)])
        return Answer(found, salty)

    def flow_at_reference(self, water: Array) -> Array:
        """The indicator of permeate flow for some states of the membranes: [part, alternative] -> ratio. [-]"""
        count = water.shape[1] + 1
        ratios = np.concatenate([water, np.ones((len(water), 1))], axis=1)
        same = np.ones_like(ratios)
        feed = self.permeate_flow_m3h / self.recovery
        kept = feed - self.permeate_flow_m3h
        run = run_at_concentrate_flow(
            self._setups(self.temperature_c, ratios, same, same),
            np.full((count, 1), kept),
            Channel(
                np.full((count, 1), feed), np.full((count, 1), self.feed_tds_mg_l),
                np.full((count, 1), self.feed_pressure_bar),
            ),
            self._water(self.temperature_c),
        )  # fmt: skip
        made = run.permeate_flow_m3h[:, 0]
        return np.asarray(made[:-1] / made[-1])

    def shares(self) -> tuple[Array, Array]:
        """Shares of the stages in the permeate and in its salt, at the reference. [-]"""
        same = np.ones((len(self.parts), 1))
        feed = Channel(
            np.full((1, 1), self.permeate_flow_m3h / self.recovery), np.full((1, 1), self.feed_tds_mg_l),
            np.full((1, 1), self.feed_pressure_bar),
        )  # fmt: skip
        setups = self._setups(self.temperature_c, same, same, same)
        run = run_train(setups, feed, self._water(self.temperature_c))
        flow, salt = np.zeros(len(self.stages)), np.zeros(len(self.stages))
        for part, passed in zip(self.parts, run.stages, strict=True):
            flow[part.stage - 1] += float(passed.permeate_flow_m3h[0, 0])
            salt[part.stage - 1] += float(passed.permeate_flow_m3h[0, 0] * passed.permeate_tds_mg_l[0, 0])
        return flow / flow.sum(), salt / salt.sum()

    def _water(self, temperature_c: float) -> Water:
        return Water(np.full((1, 1), temperature_c), self.water, self.osmotic_factor)

    def _setups(self, temperature_c: float, water: Array, salt: Array, friction: Array) -> list[StageSetup]:
        stages = [self._at(temperature_c, stage) for stage in self.stages]
        setups: list[StageSetup] = []
        for n, part in enumerate(self.parts):
            stage = stages[part.stage - 1]
            elements = Elements(
                stage.membrane.area_m2,
                part.in_series,
                stage.water_permeability_lmh_bar * water[n][:, None],
                stage.salt_permeability_lmh * salt[n][:, None],
                stage.friction_bar * friction[n][:, None],
                FRICTION_EXPONENT,
                self.film_factor,
                self.film_exponent,
            )
            boost = stage.boost_bar if part.place in ("lead", "all") else 0.0
            setups.append(
                StageSetup(part.vessels, elements, np.full((1, 1), stage.permeate_pressure_bar), boost_bar=boost)
            )
        return setups

    def _at(self, temperature_c: float, stage: StageAsFitted) -> StageAsFitted:
        """A stage as it would be at another temperature than that of the reference."""
        thick = float(viscosity_mpa_s(temperature_c)) / float(viscosity_mpa_s(self.temperature_c))
        water_factor, salt_factor = (
            float(factor(temperature_c, stage.membrane)) / float(factor(self.temperature_c, stage.membrane))
            for factor in (membrane_water_temperature_factor, salt_temperature_factor)
        )
        return replace(
            stage,
            water_permeability_lmh_bar=stage.water_permeability_lmh_bar * water_factor,
            salt_permeability_lmh=stage.salt_permeability_lmh * salt_factor,
            friction_bar=stage.friction_bar * thick ** (2 - FRICTION_EXPONENT),
        )


def _cut(number: int, stage: StageAsFitted) -> list[Part]:
    if stage.in_series < PARTS:
        return [Part(number, stage.vessels, stage.in_series, "all")]
    outer = stage.in_series // PARTS
    return [
        Part(number, stage.vessels, count, place)
        for place, count in (("lead", outer), ("middle", stage.in_series - 2 * outer), ("tail", outer))
    ]


def _crossing(pressures: Array, made: Array, wanted: float) -> float:
    """The pressure at which a rising curve of permeate passes the wanted flow; NaN where it never does."""
    usable = np.isfinite(made)
    if not usable.any() or made[usable].max() < wanted or not np.isfinite(pressures).any():
        return float("nan")
    rising = np.maximum.accumulate(made[usable])
    return float(np.interp(wanted, rising, pressures[usable]))


def total(parts: Sequence[Part]) -> int:
    """Elements in some parts."""
    return sum(part.elements for part in parts)
