"""Readings of a train as metered, and the membrane model run through them with multipliers on data sheet values."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from analytics.condition.daily import medians_of_runs
from analytics.condition.multipliers import Multiplier, positive, share_out, what_is_left
from analytics.condition.streams import Array, Balance, Streams
from analytics.physics.hydraulics import element_pressure_drop_bar
from analytics.physics.temperature import membrane_water_temperature_factor, salt_temperature_factor
from analytics.physics.train import StageSetup, TrainPassage, mixed_tds, run_train
from analytics.physics.vessel import FILM_EXPONENT, Channel, Elements, Water
from analytics.physics.water import viscosity_mpa_s
from analytics.plant import Plant, Stage

FRICTION_EXPONENT = 1.65
"""Of flow in the pressure drop of a spacer channel, between the 1.5 of manuals and the 1.7 of correlations; the log
refines it. [-]"""
WATER_PERMEABILITY = 3.2
SALT_PERMEABILITY = 0.19
"""Of a usual brackish-water element at 25 degC, computed from makers' usual test conditions; first guesses, and what is
held where nothing is metered. [L/m2/h/bar, L/m2/h]"""
USUAL_FRICTION_BAR = float(element_pressure_drop_bar(8.0)) / 8.0**FRICTION_EXPONENT
"""Of a clean 8-inch element, at a mean flow of 1 m3/h: that of the makers' correlation at 8 m3/h a vessel. [bar]"""


@dataclass(frozen=True)
class Closures:
    """What the model takes for granted of the water and the train, and no meter shows at once. [-]

    Attributes
    ----------
    osmotic : float
        Osmotic pressure of this water over that of the law chosen.
    film : float
        Film coefficient over the usual one.
    film_exponent, friction_exponent : float
        Of flow.
    water : tuple of float
        Water permeability of each stage over that of its data sheet; empty where all are as there.
    permeate_pressure_bar : float
        Where it is not metered. [bar]
    """

    osmotic: float = 1.0
    film: float = 1.0
    film_exponent: float = FILM_EXPONENT
    friction_exponent: float = FRICTION_EXPONENT
    water: tuple[float, ...] = ()
    permeate_pressure_bar: float = 0.0


USUAL = Closures()


@dataclass(frozen=True)
class MeteredReadings:
    """Some readings of all stages: their streams, and factors of temperature that are 1 at 25 degC."""

    train: Streams
    stages: tuple[Streams, ...]
    temperature_c: Array
    water_factors: tuple[Array, ...]
    salt_factors: tuple[Array, ...]
    thickness: Array
    permeate_pressure_known: bool = True


def metered_readings(balance: Balance, plant: Plant, rows: npt.NDArray[np.int64]) -> MeteredReadings:
    """The given rows; water of 25 degC where temperature is not known."""
    temperature = np.full(len(rows), 25.0) if balance.feed_temperature_c is None else balance.feed_temperature_c[rows]
    membranes = [stage.membrane for stage in plant.train.stages]
    relative = np.asarray(viscosity_mpa_s(temperature)) / float(viscosity_mpa_s(25.0))
    return MeteredReadings(
        each_array(lambda values: values[rows], balance.train),
        tuple(each_array(lambda values: values[rows], streams) for streams in balance.stages or (balance.train,)),
        temperature,
        tuple(np.asarray(membrane_water_temperature_factor(temperature, m)) for m in membranes),
        tuple(np.asarray(salt_temperature_factor(temperature, m)) for m in membranes),
        np.asarray(relative ** (2.0 - FRICTION_EXPONENT)),
        balance.permeate_pressure_known,
    )


def middles(metered: MeteredReadings, *, neighbours: int, copies: int) -> MeteredReadings:
    """Medians of every so many readings, as readings of their own, and all of them so many times over."""
    count = len(metered.temperature_c)
    firsts = np.arange(0, count, neighbours)
    result: MeteredReadings = each_array(lambda values: np.tile(_medians(values, firsts), copies), metered)
    return result


def metered_days(metered: MeteredReadings, day: npt.NDArray[np.int64]) -> MeteredReadings:
    """Medians of the readings of each day, as readings of their own.

    Parameters
    ----------
    metered : MeteredReadings
    day : int array
        Of each reading, ascending.
    """
    firsts = np.flatnonzero(np.diff(day, prepend=day[:1] - 1))
    result: MeteredReadings = each_array(lambda values: _medians(values, firsts), metered)
    return result


def _medians(values: Array, firsts: npt.NDArray[np.int64]) -> Array:
    """Median of each run of values, over what is not NaN; each begins at its place in `firsts`."""
    return medians_of_runs({"": values}, firsts, len(values))[""]


def part_of(metered: MeteredReadings, rows: npt.NDArray[np.int64] | slice) -> MeteredReadings:
    """Some of the readings."""
    result: MeteredReadings = each_array(lambda values: values[rows], metered)
    return result


def each_array(change: Callable[..., Array], *records: Any) -> Any:
    """A record with every array in it changed, also those of records inside it; of several records alike, one made of
    the arrays that stand at the same place in each."""

    def changed(*values: object) -> object:
        if isinstance(values[0], np.ndarray):
            return change(*values)
        if isinstance(values[0], tuple):
            return tuple(changed(*ones) for ones in zip(*values, strict=True))
        return each_array(change, *values) if is_dataclass(values[0]) else values[0]

    return replace(
        records[0], **{f.name: changed(*(getattr(record, f.name) for record in records)) for f in fields(records[0])}
    )


@dataclass(frozen=True)
class DataSheet:
    """Water permeability, salt permeability and friction of a new element at 25 degC; usual ones where it has none.

    [L/m2/h/bar, L/m2/h, bar at a mean flow of 1 m3/h]
    """

    water: float
    salt: float
    friction: float


def data_sheet(stage: Stage) -> DataSheet:
    membrane = stage.membrane
    return DataSheet(
        membrane.water_permeability_lmh_bar or WATER_PERMEABILITY,
        membrane.salt_permeability_lmh or SALT_PERMEABILITY,
        USUAL_FRICTION_BAR,
    )


def multipliers_of(metered: MeteredReadings) -> list[Multiplier]:
    """Every multiplier of the train, and what decides it."""
    water = [streams.permeate_flow_m3h for streams in metered.stages]
    drops = [positive(streams.pressure_drop_bar) for streams in metered.stages]
    return [
        *share_out("water", water, what_is_left(metered.train.permeate_flow_m3h, water)),
        *_salt(metered),
        *share_out("friction", drops, what_is_left(positive(metered.train.pressure_drop_bar), drops)),
    ]


def _salt(metered: MeteredReadings) -> list[Multiplier]:
    """Stages that are not analysed share what is left of the train's salt; where the flows of those that are analysed
    are not metered, the whole train's permeate is what the sharers are fitted to."""
    own = [positive(streams.permeate_tds_mg_l) for streams in metered.stages]
    whole, flow = positive(metered.train.permeate_tds_mg_l), metered.train.permeate_flow_m3h
    known = [(s.permeate_flow_m3h, s.permeate_tds_mg_l) for s in metered.stages if s.permeate_tds_mg_l is not None]
    rest = whole
    separable = bool(known) and all(made is not None for made, _ in known)
    if whole is not None and flow is not None and separable:
        left = what_is_left(flow, [made for made, _ in known])
        salt = what_is_left(flow * whole, [made * solids for made, solids in known if made is not None])
        rest = None if left is None or salt is None else salt / left
    every = tuple(range(len(own)))
    return [
        replace(one, counted=every) if known and not separable and own[one.stages[0]] is None else one
        for one in share_out("salt", own, rest)
    ]


class TrainModel:
    """The forward model of some readings as a function of the multipliers that the meters decide.

    `multipliers` are all of them, `sought` those that something metered decides.
    """

    def __init__(self, metered: MeteredReadings, plant: Plant, closures: Closures = USUAL) -> None:
        self.metered, self.plant, self.closures = metered, plant, closures
        self.multipliers = multipliers_of(metered)
        self.sought = [one for one in self.multipliers if one.measured is not None]
        law = plant.train.assumed.osmotic_factor or 1.0
        self.climate = Water(metered.temperature_c, plant.train.water, closures.osmotic * law)
        with np.errstate(invalid="ignore", divide="ignore"):
            self.measured = [np.log(one.measured) for one in self.sought if one.measured is not None]

    def of(self, metered: MeteredReadings, closures: Closures | None = None) -> "TrainModel":
        """The same of other readings, or with other closures."""
        return TrainModel(metered, self.plant, self.closures if closures is None else closures)

    def misses(self, logarithms: Array) -> Array:
        """Logarithms of model over meter, NaN where one of them is not there."""
        values = dict(zip(((m.what, m.stages) for m in self.sought), np.exp(logarithms), strict=True))
        by_stage = [self._of_stage(n, values) for n in range(len(self.metered.stages))]
        setups = _setups(self.metered, self.plant, by_stage, self.closures)
        run = run_train(setups, _train_feed(self.metered), self.climate)
        with np.errstate(invalid="ignore", divide="ignore"):
            modelled = [np.log(_shown(one, run)) for one in self.sought]
        return np.array([model - meter for model, meter in zip(modelled, self.measured, strict=True)])

    def _of_stage(
        self, number: int, values: Mapping[tuple[str, tuple[int, ...]], Array]
    ) -> Mapping[str, Array | float]:
        return {m.what: values.get((m.what, m.stages), 1.0) for m in self.multipliers if number in m.stages}


def _shown(one: Multiplier, run: TrainPassage) -> Array:
    """What the meter of a multiplier would show of a run."""
    stages = [run.stages[n] for n in one.counted]
    if one.what == "salt":
        return mixed_tds(stages)
    if one.what == "water":
        return np.asarray(np.sum([s.permeate_flow_m3h for s in stages], axis=0))
    return np.asarray(np.sum([s.feed.pressure_bar - s.concentrate.pressure_bar for s in stages], axis=0))


def _setups(
    metered: MeteredReadings, plant: Plant, values: Sequence[Mapping[str, Array | float]], closures: Closures
) -> list[StageSetup]:
    """The stages with the multipliers reached so far, fed with what is metered between them."""
    setups = []
    analysed, ones = True, [1.0] * len(values)
    for number, (streams, stage, multiplied) in enumerate(zip(metered.stages, plant.train.stages, values, strict=True)):
        inner, sheet = number > 0, data_sheet(stage)
        elements = Elements(
            stage.membrane.area_m2,
            stage.elements_per_vessel,
            sheet.water * multiplied["water"] * metered.water_factors[number] * (*closures.water, *ones)[number],
            sheet.salt * multiplied["salt"] * metered.salt_factors[number],
            sheet.friction * multiplied["friction"] * metered.thickness,
            closures.friction_exponent,
            closures.film,
            closures.film_exponent,
        )
        back = streams.permeate_pressure_bar
        unknown = 0.0 if metered.permeate_pressure_known else closures.permeate_pressure_bar
        setups.append(
            StageSetup(
                stage.vessels,
                elements,
                np.full_like(metered.temperature_c, unknown) if back is None else back + unknown,
                feed_flow_m3h=streams.feed_flow_m3h if inner else None,
                feed_tds_mg_l=streams.feed_tds_mg_l if inner and analysed else None,
                feed_pressure_bar=_feed_pressure(streams) if inner and streams.pressure_drop_bar is not None else None,
            )
        )
        analysed = analysed and streams.permeate_tds_mg_l is not None
    return setups


def _train_feed(metered: MeteredReadings) -> Channel:
    """Feed of the first stage; nearly pure water where its salinity is not known."""
    train = metered.train
    assert train.feed_flow_m3h is not None
    source = metered.stages[0] if metered.stages[0].mean_pressure_bar is not None else train
    tds = np.ones(len(metered.temperature_c)) if train.feed_tds_mg_l is None else train.feed_tds_mg_l
    return Channel(train.feed_flow_m3h, tds, _feed_pressure(source))


def _feed_pressure(streams: Streams) -> Array:
    assert streams.mean_pressure_bar is not None
    drop = streams.pressure_drop_bar
    return streams.mean_pressure_bar if drop is None else streams.mean_pressure_bar + drop / 2
