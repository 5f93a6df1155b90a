"""The train as built, run at the reference conditions with membranes that are so and so much changed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from analytics.condition.fit import StageFit
from analytics.condition.metered_train import FRICTION_EXPONENT, SALT_PERMEABILITY
from analytics.condition.standard import ScopeForces
from analytics.physics.temperature import membrane_water_temperature_factor, salt_temperature_factor
from analytics.physics.vessel import Channel, Elements, pass_vessel
from analytics.physics.water import viscosity_mpa_s
from analytics.plant import Plant

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

ROUNDS = 4
STEP = 0.01
PARAMETERS = ("water", "salt", "friction")


@dataclass(frozen=True)
class Ratios:
    """One stage's parameters by day over those of the reference; None where they are not known (held at one). [-]"""

    water: Array | None
    salt: Array | None
    friction: Array | None


@dataclass(frozen=True)
class _StageReference:
    """A stage at the reference: its membranes at the reference temperature and what it is given."""

    vessels: int
    in_series: int
    area_m2: float
    water_permeability_lmh_bar: float
    salt_permeability_lmh: float
    friction_bar: float
    feed_pressure_bar: float
    feed_flow_m3h: float
    concentrate_flow_m3h: float
    feed_tds_mg_l: float
    permeate_pressure_bar: float
    boost_bar: float


@dataclass(frozen=True)
class ReferenceTrain:
    """All stages at the reference conditions, and the law of the water."""

    stages: tuple[_StageReference, ...]
    temperature_c: float
    water: str

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
        """Medians over the reference period of everything that the run needs."""
        temperature = 25.0 if temperature_c is None else _median(temperature_c, reference, 25.0)
        thickness = float(viscosity_mpa_s(temperature)) / float(viscosity_mpa_s(25.0))
        built: list[_StageReference] = []
        outlet = np.nan
        for fit, forces, stage in zip(fits, stages, plant.train.stages, strict=True):
            streams = forces.streams
            first = not built
            source = train.streams if first and streams.mean_pressure_bar is None else streams
            inlet = np.nan
            drop = 0.0
            if source.mean_pressure_bar is not None:
                lost = source.pressure_drop_bar
                drop = 0.0 if lost is None else _median(lost, reference, 0.0)
                inlet = _median(source.mean_pressure_bar, reference, np.nan) + drop / 2
            boost = inlet - outlet if stage.booster else 0.0
            flow = streams.feed_flow_m3h if streams.feed_flow_m3h is not None else None
            left = np.nan
            if flow is not None and streams.permeate_flow_m3h is not None:
                left = _median(flow - streams.permeate_flow_m3h, reference, np.nan)
            built.append(
                _StageReference(
                    vessels=stage.vessels,
                    in_series=stage.elements_per_vessel,
                    area_m2=stage.membrane.area_m2,
                    water_permeability_lmh_bar=_median(fit.water_permeability_lmh_bar, reference, np.nan)
                    * float(membrane_water_temperature_factor(temperature, stage.membrane)),
                    salt_permeability_lmh=_median(fit.salt_permeability_lmh, reference, SALT_PERMEABILITY)
                    * float(salt_temperature_factor(temperature, stage.membrane)),
                    friction_bar=_median(fit.friction_bar, reference, 0.0) * thickness ** (2 - FRICTION_EXPONENT),
                    feed_pressure_bar=inlet,
                    feed_flow_m3h=_median(source.feed_flow_m3h, reference, np.nan),
                    concentrate_flow_m3h=left,
                    feed_tds_mg_l=_median(streams.feed_tds_mg_l, reference, 1.0),
                    permeate_pressure_bar=_median(streams.permeate_pressure_bar, reference, 0.0),
                    boost_bar=boost if np.isfinite(boost) else 0.0,
                )
            )
            outlet = inlet - drop
        if not np.isfinite(built[-1].concentrate_flow_m3h):
            feed, made = train.streams.feed_flow_m3h, train.streams.permeate_flow_m3h
            if feed is not None and made is not None:
                left = _median(feed - made, reference, np.nan)
                built[-1] = replace(built[-1], concentrate_flow_m3h=left)
        return cls(tuple(built), temperature, plant.train.water)

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
        return result

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
        self, result: dict[str, Array], scope: str, stages: Sequence[_StageReference], ratios: Sequence[Ratios]
    ) -> None:
        known = [r for ratio in ratios for r in (ratio.water, ratio.salt, ratio.friction) if r is not None]
        if not known:
            return
        count = len(known[0])
        flow, passage = self._run(stages, [_with_unchanged(ratio, count) for ratio in ratios], count + 1)
        if all(ratio.water is not None for ratio in ratios):
            result[f"{scope}_permeate_flow"] = flow[:-1] / flow[-1]
        if all(ratio.salt is not None for ratio in ratios):
            result[f"{scope}_salt_passage"] = passage[:-1] / passage[-1]

    def _run(self, stages: Sequence[_StageReference], ratios: Sequence[Ratios], count: int) -> tuple[Array, Array]:
        """Permeate flow and salt passage at the reference feed pressure and concentrate flow."""
        kept = np.full(count, stages[-1].concentrate_flow_m3h)
        made_before = stages[0].feed_flow_m3h - stages[-1].concentrate_flow_m3h
        change = np.mean([_or_one(ratio.water, count) for ratio in ratios], axis=0)
        feed = kept + made_before * np.clip(change, 0.3, 1.5) ** 0.8
        previous: tuple[Array, Array] | None = None
        made, salt = feed, feed
        for _ in range(ROUNDS):
            made, salt = self._march(stages, ratios, feed)
            miss = feed - made - kept
            slope = np.ones(count)
            if previous is not None:
                with np.errstate(invalid="ignore", divide="ignore"):
                    secant = (miss - previous[1]) / (feed - previous[0])
                slope = np.where(np.isfinite(secant) & (secant > 0.2), secant, 1.0)
            previous = (feed, miss)
            feed = np.maximum(feed - miss / slope, kept * 1.0001)
        return made, salt / (made * stages[0].feed_tds_mg_l)

    def _march(self, stages: Sequence[_StageReference], ratios: Sequence[Ratios], feed: Array) -> tuple[Array, Array]:
        count = len(feed)
        channel = Channel(feed, np.full(count, stages[0].feed_tds_mg_l), np.full(count, stages[0].feed_pressure_bar))
        made, salt = np.zeros(count), np.zeros(count)
        for number, (stage, ratio) in enumerate(zip(stages, ratios, strict=True)):
            boost = stage.boost_bar if number else 0.0
            entering = Channel(channel.flow_m3h / stage.vessels, channel.tds_mg_l, channel.pressure_bar + boost)
            elements = Elements(
                stage.area_m2,
                stage.in_series,
                stage.water_permeability_lmh_bar * _or_one(ratio.water, count),
                stage.salt_permeability_lmh * _or_one(ratio.salt, count),
                stage.friction_bar * _or_one(ratio.friction, count),
                FRICTION_EXPONENT,
            )
            passed = pass_vessel(
                entering,
                elements,
                permeate_pressure_bar=np.full(count, stage.permeate_pressure_bar),
                temperature_c=np.full(count, self.temperature_c),
                water=self.water,
            )
            flow = passed.permeate_flow_m3h * stage.vessels
            made, salt = made + flow, salt + flow * passed.permeate_tds_mg_l
            left = passed.concentrate
            channel = Channel(left.flow_m3h * stage.vessels, left.tds_mg_l, left.pressure_bar)
        return made, salt


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
