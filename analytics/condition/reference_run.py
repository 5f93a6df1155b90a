"""The train as built, run at the reference conditions with membranes that are so and so much changed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from analytics.condition.fit import StageFit
from analytics.condition.forces import ScopeForces
from analytics.condition.metered_train import (
    FRICTION_EXPONENT,
    SALT_PERMEABILITY,
    USUAL,
    USUAL_FRICTION_BAR,
    Closures,
)
from analytics.condition.streams import Streams
from analytics.physics.temperature import membrane_water_temperature_factor, salt_temperature_factor
from analytics.physics.train import StageSetup, TrainPassage, run_at_concentrate_flow
from analytics.physics.vessel import Channel, Elements, Water
from analytics.physics.water import viscosity_mpa_s
from analytics.plant import Plant, Stage

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

STEP = 0.01
"""Change of a parameter by which slopes are taken. [-]"""
PARAMETERS = ("water", "salt", "friction")


@dataclass(frozen=True)
class Ratios:
    """One stage's parameters by day over those of the reference; None where they are not known (held at one). [-]"""

    water: Array | None
    salt: Array | None
    friction: Array | None


@dataclass(frozen=True)
class StageAtReference:
    """A stage at the reference: its membranes at the reference temperature and what it is given.

    L/m2/h/bar, L/m2/h, bar, m3/h (of the whole stage), mg/L; NaN where it cannot be said.
    """

    vessels: int
    in_series: int
    area_m2: float
    water_permeability_lmh_bar: float
    salt_permeability_lmh: float
    friction_bar: float
    feed_pressure_bar: float
    feed_flow_m3h: float
    feed_tds_mg_l: float
    concentrate_flow_m3h: float
    permeate_pressure_bar: float
    boost_bar: float


@dataclass(frozen=True)
class ReferenceTrain:
    """All stages at the reference conditions, the law of the water, and the closures that found its membranes."""

    stages: tuple[StageAtReference, ...]
    temperature_c: float
    water: str
    closures: Closures = USUAL

    @classmethod
    def at_reference(
        cls,
        fits: Sequence[StageFit],
        stages: Sequence[ScopeForces],
        train: ScopeForces,
        temperature_c: Array | None,
        plant: Plant,
        reference: Flags,
    ) -> "ReferenceTrain":
        """Medians over the reference period of everything that the run needs.

        What is not metered between the stages is as the unchanged train itself makes it.
        """
        temperature = 25.0 if temperature_c is None else _median(temperature_c, reference, 25.0)
        built: list[StageAtReference] = []
        outlet = np.nan
        for fit, forces, stage in zip(fits, stages, plant.train.stages, strict=True):
            streams = forces.streams
            source = train.streams if not built and streams.mean_pressure_bar is None else streams
            drop = _median(source.pressure_drop_bar, reference, 0.0)
            inlet = _median(source.mean_pressure_bar, reference, np.nan) + drop / 2
            boost = inlet - outlet if stage.booster else 0.0
            built.append(
                StageAtReference(
                    vessels=stage.vessels,
                    in_series=stage.elements_per_vessel,
                    area_m2=stage.membrane.area_m2,
                    **_membranes(fit, stage, temperature, reference),
                    feed_pressure_bar=inlet,
                    feed_flow_m3h=_median(source.feed_flow_m3h, reference, np.nan),
                    feed_tds_mg_l=_median(streams.feed_tds_mg_l, reference, np.nan if built else 1.0),
                    concentrate_flow_m3h=_concentrate_flow(streams, reference),
                    permeate_pressure_bar=_median(streams.permeate_pressure_bar, reference, 0.0),
                    boost_bar=boost if np.isfinite(boost) else 0.0,
                )
            )
            outlet = inlet - drop
        built[-1] = replace(built[-1], concentrate_flow_m3h=_concentrate_flow(train.streams, reference))
        closures = replace(USUAL, osmotic=plant.train.assumed.osmotic_factor or 1.0)
        return cls(tuple(built), temperature, plant.train.water, closures)._completed()

    def _completed(self) -> "ReferenceTrain":
        """What is not metered between the stages, from a run of the unchanged train."""
        unchanged = [Ratios(None, None, None)] * len(self.stages)
        run = self._run(self.stages, unchanged, 1)
        stages = [
            replace(
                stage,
                feed_pressure_bar=_known(stage.feed_pressure_bar, passed.feed.pressure_bar),
                feed_flow_m3h=_known(stage.feed_flow_m3h, passed.feed.flow_m3h),
                feed_tds_mg_l=_known(stage.feed_tds_mg_l, passed.feed.tds_mg_l),
                concentrate_flow_m3h=_known(stage.concentrate_flow_m3h, passed.concentrate.flow_m3h),
            )
            for stage, passed in zip(self.stages, run.stages, strict=True)
        ]
        return replace(self, stages=tuple(stages))

    def under(self, closures: Closures, moved: Sequence[Mapping[str, float]]) -> "ReferenceTrain":
        """The same train as other closures find it.

        Parameters
        ----------
        closures : Closures
            Osmotic pressure over that by which this train was found; permeate pressure where it is not metered.
        moved : sequence of mapping
            By stage: how far the logarithm of each parameter ("water", "salt", "friction") lies from what the closures
            of this train find. [-]

        Notes
        -----
        What a loss of permeability costs hangs on the pressure left over the osmotic one: with 5 to 11 % too little
        osmotic pressure, a last stage at 2600 mg/L of feed seemed to have lost 5 to 15 % more flow than it had.
        """
        names = {"water": "water_permeability_lmh_bar", "salt": "salt_permeability_lmh", "friction": "friction_bar"}
        stages = [
            replace(
                stage,
                permeate_pressure_bar=stage.permeate_pressure_bar + closures.permeate_pressure_bar,
                **{names[what]: getattr(stage, names[what]) * float(np.exp(by)) for what, by in one.items()},
            )
            for stage, one in zip(self.stages, moved, strict=True)
        ]
        closures = replace(closures, osmotic=closures.osmotic * self.closures.osmotic)
        return replace(self, stages=tuple(stages), closures=closures)

    def indicators(self, ratios: Sequence[Ratios]) -> dict[str, Array]:
        """Permeate flow, salt passage and pressure drop over those of the unchanged membranes. [-]"""
        result = {}
        for number, (stage, ratio) in enumerate(zip(self.stages, ratios, strict=True), start=1):
            if ratio.friction is not None:
                result[f"stage{number}_pressure_drop"] = ratio.friction
            if np.isfinite(stage.feed_pressure_bar) and np.isfinite(stage.concentrate_flow_m3h):
                self._compare(result, f"stage{number}", (stage,), [ratio])
        if len(self.stages) == 1:
            return {name.replace("stage1", "train"): value for name, value in result.items()}
        self._compare(result, "train", self.stages, ratios)
        frictions = [ratio.friction for ratio in ratios if ratio.friction is not None]
        if len(frictions) == len(self.stages):
            result["train_pressure_drop"] = np.average(frictions, axis=0, weights=self.drops_bar())
        return result

    def drops_bar(self) -> list[float]:
        """Pressure drop of each stage of the unchanged train. [bar]"""
        run = self._run(self.stages, [Ratios(None, None, None)] * len(self.stages), 1)
        return [float((one.feed.pressure_bar - one.concentrate.pressure_bar)[0]) for one in run.stages]

    def sensitivities(self) -> dict[str, dict[tuple[int, str], float]]:
        """Change of each indicator's logarithm with each parameter's: {indicator: {(stage, parameter): slope}}."""
        places = [(number, what) for number in range(len(self.stages)) for what in PARAMETERS]
        moved = [
            Ratios(*(np.array([1.0 + STEP * (place == (number, what)) for place in places]) for what in PARAMETERS))
            for number in range(len(self.stages))
        ]
        return {
            name: {place: float(v) for place, v in zip(places, np.log(values) / np.log(1 + STEP), strict=True)}
            for name, values in self.indicators(moved).items()
        }

    def _compare(
        self, result: dict[str, Array], scope: str, stages: Sequence[StageAtReference], ratios: Sequence[Ratios]
    ) -> None:
        known = [r for ratio in ratios for r in (ratio.water, ratio.salt, ratio.friction) if r is not None]
        if not known:
            return
        count = len(known[0])
        run = self._run(stages, [_with_unchanged(ratio, count) for ratio in ratios], count + 1)
        flow, passage = run.permeate_flow_m3h, run.permeate_tds_mg_l
        if all(ratio.water is not None for ratio in ratios):
            result[f"{scope}_permeate_flow"] = flow[:-1] / flow[-1]
        if all(ratio.salt is not None for ratio in ratios):
            result[f"{scope}_salt_passage"] = passage[:-1] / passage[-1]

    def _run(self, stages: Sequence[StageAtReference], ratios: Sequence[Ratios], count: int) -> TrainPassage:
        """The stages, at the reference feed pressure and salinity and with the concentrate flow of the last one."""
        first, kept = stages[0], np.full(count, stages[-1].concentrate_flow_m3h)
        change = np.mean([_or_one(ratio.water, count) for ratio in ratios], axis=0)
        guess = kept + (first.feed_flow_m3h - stages[-1].concentrate_flow_m3h) * np.clip(change, 0.3, 1.5) ** 0.8
        feed = Channel(guess, np.full(count, first.feed_tds_mg_l), np.full(count, first.feed_pressure_bar))
        setups = [_setup(stage, ratio, self.closures, count) for stage, ratio in zip(stages, ratios, strict=True)]
        water = Water(np.full(count, self.temperature_c), self.water, self.closures.osmotic)
        return run_at_concentrate_flow(setups, kept, feed, water)


def _setup(stage: StageAtReference, ratio: Ratios, closures: Closures, count: int) -> StageSetup:
    elements = Elements(
        stage.area_m2,
        stage.in_series,
        stage.water_permeability_lmh_bar * _or_one(ratio.water, count),
        stage.salt_permeability_lmh * _or_one(ratio.salt, count),
        stage.friction_bar * _or_one(ratio.friction, count),
        closures.friction_exponent,
        closures.film,
        closures.film_exponent,
    )
    return StageSetup(stage.vessels, elements, np.full(count, stage.permeate_pressure_bar), boost_bar=stage.boost_bar)


def _membranes(fit: StageFit, stage: Stage, temperature_c: float, reference: Flags) -> dict[str, float]:
    """The parameters of a stage at the reference temperature."""
    relative = float(viscosity_mpa_s(temperature_c)) / float(viscosity_mpa_s(25.0))
    return {
        "water_permeability_lmh_bar": _median(fit.water_permeability_lmh_bar, reference, np.nan)
        * float(membrane_water_temperature_factor(temperature_c, stage.membrane)),
        "salt_permeability_lmh": _median(fit.salt_permeability_lmh, reference, SALT_PERMEABILITY)
        * float(salt_temperature_factor(temperature_c, stage.membrane)),
        "friction_bar": _median(fit.friction_bar, reference, USUAL_FRICTION_BAR) * relative ** (2 - FRICTION_EXPONENT),
    }


def _known(value: float, otherwise: Array) -> float:
    return value if np.isfinite(value) else float(otherwise[0])


def _concentrate_flow(streams: Streams, reference: Flags) -> float:
    if streams.feed_flow_m3h is None or streams.permeate_flow_m3h is None:
        return float("nan")
    return _median(streams.feed_flow_m3h - streams.permeate_flow_m3h, reference, float("nan"))


def _with_unchanged(ratio: Ratios, count: int) -> Ratios:
    """One row more, of unchanged membranes, to compare the others with."""
    return Ratios(*(np.r_[_or_one(values, count), 1.0] for values in (ratio.water, ratio.salt, ratio.friction)))


def _or_one(ratio: Array | None, count: int) -> Array:
    return np.ones(count) if ratio is None else ratio


def _median(values: Array | None, reference: Flags, otherwise: float) -> float:
    if values is None:
        return otherwise
    picked = values[reference]
    picked = picked[np.isfinite(picked)]
    return float(np.median(picked)) if picked.size else otherwise
