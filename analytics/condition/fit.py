"""Fit of the membrane model: water and salt permeability and friction of each stage, reading by reading.

What is metered decides what is fitted. Where the stages' permeate is metered each stage has its own permeability;
where only the train's is, the stages keep the ratio of their data sheets and share one multiplier, and the result says
so.
"""

from dataclasses import dataclass, replace

import numpy as np

from analytics.condition.streams import Array, Balance, Streams
from analytics.physics.hydraulics import element_pressure_drop_bar
from analytics.physics.temperature import membrane_water_temperature_factor, salt_temperature_factor
from analytics.physics.vessel import Channel, Elements, Passage, flow_power_sum, pass_vessel
from analytics.physics.water import viscosity_mpa_s
from analytics.plant import Plant, Stage

FRICTION_EXPONENT = 1.65
"""Of flow in the pressure drop of a spacer channel, between the 1.5 of manuals and the 1.7 of correlations; the log
refines it. [-]"""
ROUNDS = 4
WATER_PERMEABILITY = 3.2
SALT_PERMEABILITY = 0.19
"""Of a usual brackish-water element at 25 degC, computed from makers' usual test conditions; first guesses, and what is
held where nothing is metered. [L/m2/h/bar, L/m2/h]"""
CHUNK = 8192


@dataclass(frozen=True)
class StageFit:
    """One stage at each reading, at 25 degC; None where nothing can be said.

    Attributes
    ----------
    water_permeability_lmh_bar, salt_permeability_lmh : array
    friction_bar : array
        Pressure drop of one element at a mean flow of 1 m3/h a vessel and the viscosity of 25 degC. [bar]
    water_shared, salt_shared : bool
        True where the stage has the multiplier of the whole train, for want of a meter.
    """

    scope: str
    water_permeability_lmh_bar: Array | None
    salt_permeability_lmh: Array | None
    friction_bar: Array | None
    water_shared: bool
    salt_shared: bool
    friction_shared: bool


@dataclass(frozen=True)
class _Inlet:
    """What a stage is given, as arrays over readings; flows of one vessel."""

    feed: Channel
    permeate_pressure_bar: Array
    friction_at_temperature_bar: Array


@dataclass(frozen=True)
class _Climate:
    """Temperature and what it does. degC, and factors that are 1 at 25 degC."""

    temperature_c: Array
    water: tuple[Array, ...]
    salt: tuple[Array, ...]
    friction: Array


def fit_membranes(balance: Balance, plant: Plant, *, exponent: float = FRICTION_EXPONENT) -> tuple[StageFit, ...]:
    """Fit every stage at every reading.

    Parameters
    ----------
    balance : Balance
        From `complete_streams`.
    plant : Plant
    exponent : float
        Of flow in the pressure drop. [-]

    Returns
    -------
    tuple of StageFit
        Empty where the train's permeate flow or driving pressure is not known.
    """
    train = balance.train
    if train.permeate_flow_m3h is None or train.feed_flow_m3h is None or train.mean_pressure_bar is None:
        return ()
    stages = balance.stages or (train,)
    climate = _climate(balance, plant, len(train.permeate_flow_m3h))
    frictions, friction_shared = _frictions(stages, train, plant, climate, exponent)
    stages = _with_pressures(stages, train, plant, climate, frictions, exponent)
    if all(_is_metered(streams) for streams in stages):
        return _fit_each(stages, train, plant, climate, frictions, friction_shared, exponent)
    return _fit_together(stages, train, plant, climate, frictions, friction_shared, exponent)


def _climate(balance: Balance, plant: Plant, count: int) -> _Climate:
    temperature = balance.feed_temperature_c
    if temperature is None:
        temperature = np.full(count, 25.0)
    thickness = np.asarray(viscosity_mpa_s(temperature)) / float(viscosity_mpa_s(25.0))
    return _Climate(
        temperature,
        tuple(np.asarray(membrane_water_temperature_factor(temperature, s.membrane)) for s in plant.train.stages),
        tuple(np.asarray(salt_temperature_factor(temperature, s.membrane)) for s in plant.train.stages),
        np.asarray(thickness ** (2.0 - FRICTION_EXPONENT)),
    )


def _frictions(
    stages: tuple[Streams, ...], train: Streams, plant: Plant, climate: _Climate, exponent: float
) -> tuple[list[Array], bool]:
    """Friction of each stage at 25 degC: its own where its pressure drop is metered, else one for all."""
    sums = []
    for streams, stage in zip(stages, plant.train.stages, strict=True):
        inlet, outlet = _vessel_flows(streams, stage)
        sums.append(flow_power_sum(inlet, outlet, in_series=stage.elements_per_vessel, exponent=exponent))
    if all(s.pressure_drop_bar is not None for s in stages):
        own = [
            np.where(s.pressure_drop_bar > 0, s.pressure_drop_bar, np.nan) / total / climate.friction
            for s, total in zip(stages, sums, strict=True)
            if s.pressure_drop_bar is not None
        ]
        return own, False
    if train.pressure_drop_bar is not None:
        drop = np.where(train.pressure_drop_bar > 0, train.pressure_drop_bar, np.nan)
        return [drop / np.sum(sums, axis=0) / climate.friction] * len(stages), True
    usual = float(element_pressure_drop_bar(8.0)) / 8.0**exponent
    return [np.full(len(sums[0]), usual)] * len(stages), True


def _is_metered(streams: Streams) -> bool:
    """Whether a stage can be fitted by itself."""
    needed = (streams.permeate_flow_m3h, streams.feed_flow_m3h, streams.mean_pressure_bar)
    return all(array is not None for array in needed)


def _with_pressures(
    stages: tuple[Streams, ...],
    train: Streams,
    plant: Plant,
    climate: _Climate,
    frictions: list[Array],
    exponent: float,
) -> tuple[Streams, ...]:
    """Pressures between the stages from the shared friction, where they are not metered and no booster stands there."""
    if all(s.mean_pressure_bar is not None for s in stages) or any(s.booster for s in plant.train.stages):
        return stages
    if train.mean_pressure_bar is None:
        return stages
    drop = 0.0 if train.pressure_drop_bar is None else train.pressure_drop_bar
    pressure = train.mean_pressure_bar + drop / 2
    completed = []
    for streams, stage, friction in zip(stages, plant.train.stages, frictions, strict=True):
        inlet, outlet = _vessel_flows(streams, stage)
        powers = flow_power_sum(inlet, outlet, in_series=stage.elements_per_vessel, exponent=exponent)
        lost = friction * climate.friction * powers
        completed.append(replace(streams, mean_pressure_bar=pressure - lost / 2, pressure_drop_bar=lost))
        pressure = pressure - lost
    return tuple(completed)


def _vessel_flows(streams: Streams, stage: Stage) -> tuple[Array, Array]:
    """Flow into and out of one vessel; where the split is not metered, permeate is shared by area."""
    assert streams.drop_flow_m3h is not None
    assert streams.drop_permeate_m3h is not None
    half = streams.drop_permeate_m3h / 2
    return (streams.drop_flow_m3h + half) / stage.vessels, (streams.drop_flow_m3h - half) / stage.vessels


def _inlet(streams: Streams, stage: Stage, friction: Array) -> _Inlet:
    assert streams.feed_flow_m3h is not None
    assert streams.mean_pressure_bar is not None
    drop = 0.0 if streams.pressure_drop_bar is None else streams.pressure_drop_bar
    tds = streams.feed_tds_mg_l
    count = len(streams.feed_flow_m3h)
    channel = Channel(
        streams.feed_flow_m3h / stage.vessels,
        np.full(count, 1.0) if tds is None else tds,
        streams.mean_pressure_bar + drop / 2,
    )
    back = streams.permeate_pressure_bar
    return _Inlet(channel, np.zeros(count) if back is None else back, friction)


def _pass(inlet: _Inlet, stage: Stage, plant: Plant, climate: _Climate, number: int, a: Array, b: Array,
          exponent: float) -> Passage:  # fmt: skip
    elements = Elements(
        stage.membrane.area_m2,
        stage.elements_per_vessel,
        a * climate.water[number],
        b * climate.salt[number],
        inlet.friction_at_temperature_bar,
        exponent,
    )
    return pass_vessel(
        inlet.feed,
        elements,
        permeate_pressure_bar=inlet.permeate_pressure_bar,
        temperature_c=climate.temperature_c,
        water=plant.train.water,
    )


def _first_guesses(plant: Plant) -> list[tuple[float, float]]:
    return [
        (
            stage.membrane.water_permeability_lmh_bar or WATER_PERMEABILITY,
            stage.membrane.salt_permeability_lmh or SALT_PERMEABILITY,
        )
        for stage in plant.train.stages
    ]


@dataclass
class _Search:
    """Root of log(model / measured) in the log of a multiplier, by the secant method on all readings at once."""

    multiplier: Array
    slope: Array
    last_step: Array | None = None
    last_miss: Array | None = None

    def improve(self, modelled: Array, measured: Array) -> None:
        with np.errstate(invalid="ignore", divide="ignore"):
            miss = np.log(modelled / measured)
            if self.last_miss is not None and self.last_step is not None:
                slope = (miss - self.last_miss) / self.last_step
                good = np.isfinite(slope) & (slope > 0.2) & (slope < 2.0)
                self.slope = np.where(good, slope, self.slope)
            step = np.clip(-miss / self.slope, -1.5, 1.5)
        self.last_step, self.last_miss = step, miss
        self.multiplier = self.multiplier * np.exp(step)


def _fit_each(
    stages: tuple[Streams, ...],
    train: Streams,
    plant: Plant,
    climate: _Climate,
    frictions: list[Array],
    friction_shared: bool,
    exponent: float,
) -> tuple[StageFit, ...]:
    """Each stage from its own streams; salt together where only the train's permeate is analysed."""
    shared_salt = any(s.permeate_tds_mg_l is None for s in stages)
    inlets = [
        _inlet(s, stage, f * climate.friction)
        for s, stage, f in zip(stages, plant.train.stages, frictions, strict=True)
    ]
    count = len(train.permeate_flow_m3h) if train.permeate_flow_m3h is not None else 0
    guesses = _first_guesses(plant)
    water = [_Search(np.full(count, a), np.full(count, 0.8)) for a, _ in guesses]
    salt = [_Search(np.full(count, b), np.full(count, 0.95)) for _, b in guesses]
    for _ in range(ROUNDS):
        passed = [
            _pass(inlet, stage, plant, climate, n, water[n].multiplier, salt[n].multiplier, exponent)
            for n, (inlet, stage) in enumerate(zip(inlets, plant.train.stages, strict=True))
        ]
        for n, (streams, stage) in enumerate(zip(stages, plant.train.stages, strict=True)):
            assert streams.permeate_flow_m3h is not None
            water[n].improve(passed[n].permeate_flow_m3h * stage.vessels, streams.permeate_flow_m3h)
            if not shared_salt and streams.permeate_tds_mg_l is not None:
                salt[n].improve(passed[n].permeate_tds_mg_l, streams.permeate_tds_mg_l)
        if shared_salt and train.permeate_tds_mg_l is not None:
            mixed = _mixed(passed, plant)
            for search in salt:
                search.improve(mixed, train.permeate_tds_mg_l)
    knows_salt = not shared_salt or train.permeate_tds_mg_l is not None
    return tuple(
        StageFit(
            scope=f"stage{n + 1}",
            water_permeability_lmh_bar=water[n].multiplier,
            salt_permeability_lmh=salt[n].multiplier if knows_salt else None,
            friction_bar=frictions[n],
            water_shared=False,
            salt_shared=shared_salt,
            friction_shared=friction_shared,
        )
        for n in range(len(stages))
    )


def _mixed(passed: list[Passage], plant: Plant) -> Array:
    flows = [p.permeate_flow_m3h * stage.vessels for p, stage in zip(passed, plant.train.stages, strict=True)]
    salts = [flow * p.permeate_tds_mg_l for flow, p in zip(flows, passed, strict=True)]
    return np.asarray(np.sum(salts, axis=0) / np.sum(flows, axis=0))


def _fit_together(
    stages: tuple[Streams, ...],
    train: Streams,
    plant: Plant,
    climate: _Climate,
    frictions: list[Array],
    friction_shared: bool,
    exponent: float,
) -> tuple[StageFit, ...]:
    """One multiplier for all stages: only the train's permeate is metered, so their ratio is held."""
    assert train.permeate_flow_m3h is not None
    count = len(train.permeate_flow_m3h)
    guesses = _first_guesses(plant)
    water = _Search(np.ones(count), np.full(count, 0.8))
    salt = _Search(np.ones(count), np.full(count, 0.95))
    for turn in range(ROUNDS):
        passed = _pass_train(
            stages, train, plant, climate, frictions, guesses, water.multiplier, salt.multiplier, exponent
        )
        made = np.sum(
            [p.permeate_flow_m3h * s.vessels for p, s in zip(passed, plant.train.stages, strict=True)], axis=0
        )
        water.improve(made, train.permeate_flow_m3h)
        if train.permeate_tds_mg_l is not None:
            salt.improve(_mixed(passed, plant), train.permeate_tds_mg_l)
        if turn and not friction_shared:
            frictions = _frictions_of_model(stages, passed, plant, climate, exponent, frictions)
    return tuple(
        StageFit(
            scope=f"stage{n + 1}",
            water_permeability_lmh_bar=water.multiplier * guesses[n][0],
            salt_permeability_lmh=None if train.permeate_tds_mg_l is None else salt.multiplier * guesses[n][1],
            friction_bar=frictions[n],
            water_shared=len(stages) > 1,
            salt_shared=len(stages) > 1,
            friction_shared=friction_shared,
        )
        for n in range(len(stages))
    )


def _frictions_of_model(
    stages: tuple[Streams, ...],
    passed: list[Passage],
    plant: Plant,
    climate: _Climate,
    exponent: float,
    before: list[Array],
) -> list[Array]:
    """Friction of each stage from the flows that the model gives it, where they are not metered."""
    frictions = []
    for streams, passage, stage, friction in zip(stages, passed, plant.train.stages, before, strict=True):
        outlet = passage.concentrate.flow_m3h
        inlet = outlet + passage.permeate_flow_m3h
        powers = flow_power_sum(inlet, outlet, in_series=stage.elements_per_vessel, exponent=exponent)
        drop = streams.pressure_drop_bar
        frictions.append(friction if drop is None else np.where(drop > 0, drop, np.nan) / powers / climate.friction)
    return frictions


def _pass_train(
    stages: tuple[Streams, ...],
    train: Streams,
    plant: Plant,
    climate: _Climate,
    frictions: list[Array],
    guesses: list[tuple[float, float]],
    water: Array,
    salt: Array,
    exponent: float,
) -> list[Passage]:
    """The whole train: each stage is fed by the one before it, at its metered pressure where there is one."""
    passed: list[Passage] = []
    for n, (streams, stage) in enumerate(zip(stages, plant.train.stages, strict=True)):
        if n == 0:
            inlet = _inlet(_first_stage(streams, train), stage, frictions[n] * climate.friction)
        else:
            before, vessels = passed[-1].concentrate, plant.train.stages[n - 1].vessels
            pressure = before.pressure_bar
            if streams.mean_pressure_bar is not None and streams.pressure_drop_bar is not None:
                pressure = streams.mean_pressure_bar + streams.pressure_drop_bar / 2
            feed = Channel(before.flow_m3h * vessels / stage.vessels, before.tds_mg_l, pressure)
            back = streams.permeate_pressure_bar
            inlet = _Inlet(feed, np.zeros(len(water)) if back is None else back, frictions[n] * climate.friction)
        a, b = guesses[n]
        passed.append(_pass(inlet, stage, plant, climate, n, water * a, salt * b, exponent))
    return passed


def _first_stage(streams: Streams, train: Streams) -> Streams:
    """The first stage with the train's feed pressure where its own concentrate pressure is not metered."""
    if streams.mean_pressure_bar is not None:
        return streams
    return train
