"""A whole train: elements in series, vessels in parallel, stages in series; and the pressure that it needs."""

from dataclasses import dataclass

import numpy as np

from demo_data.simulator.design import Design, Stage
from demo_data.simulator.element import Channel, Passed, local_element, pass_element
from demo_data.simulator.water import FloatArray, Salt, arrhenius


class NoSolution(ValueError):
    """No feed pressure gives the permeate that is wanted."""


@dataclass(frozen=True)
class Age:
    """Factors on the new elements of one stage, each of shape (elements of a vessel, readings). [-]"""

    water: FloatArray
    salt: FloatArray
    friction: FloatArray


@dataclass(frozen=True)
class Inlet:
    """What the train is given at each reading: m3/h, mg/L, degC, and bar in the permeate header."""

    feed_flow_m3h: FloatArray
    feed_tds_mg_l: FloatArray
    temperature_c: FloatArray
    permeate_pressure_bar: FloatArray


@dataclass(frozen=True)
class StageRun:
    """One stage at each reading; flows of the whole stage. Element arrays have shape (elements, readings)."""

    feed_flow_m3h: FloatArray
    feed_pressure_bar: FloatArray
    feed_tds_mg_l: FloatArray
    permeate_flow_m3h: FloatArray
    permeate_tds_mg_l: FloatArray
    permeate_pressure_bar: FloatArray
    concentrate_flow_m3h: FloatArray
    concentrate_pressure_bar: FloatArray
    concentrate_tds_mg_l: FloatArray
    element_permeate_flow_m3h: FloatArray
    element_salt_flow_g_h: FloatArray
    element_pressure_drop_bar: FloatArray


@dataclass(frozen=True)
class TrainRun:
    """A train at each reading."""

    feed_pressure_bar: FloatArray
    stages: tuple[StageRun, ...]

    @property
    def permeate_flow_m3h(self) -> FloatArray:
        return np.asarray(np.sum([stage.permeate_flow_m3h for stage in self.stages], axis=0))

    @property
    def permeate_tds_mg_l(self) -> FloatArray:
        salt = np.sum([stage.permeate_flow_m3h * stage.permeate_tds_mg_l for stage in self.stages], axis=0)
        return np.asarray(salt / self.permeate_flow_m3h)


def new_membranes(design: Design, readings: int) -> tuple[Age, ...]:
    """Elements as they came: every factor 1."""
    return tuple(Age(*(np.ones((stage.elements_per_vessel, readings)) for _ in range(3))) for stage in design.stages)


def run_at_pressure(design: Design, ages: tuple[Age, ...], inlet: Inlet, feed_pressure_bar: FloatArray) -> TrainRun:
    """Let the water through at a given feed pressure. [bar]"""
    flow, tds = inlet.feed_flow_m3h, inlet.feed_tds_mg_l
    pressure = feed_pressure_bar
    stages: list[StageRun] = []
    for stage, age in zip(design.stages, ages, strict=True):
        run = _run_stage(stage, design.salt, age, inlet, Channel(flow, tds, pressure + stage.booster_bar))
        flow, tds, pressure = run.concentrate_flow_m3h, run.concentrate_tds_mg_l, run.concentrate_pressure_bar
        stages.append(run)
    return TrainRun(feed_pressure_bar, tuple(stages))


def run_at_permeate_flow(
    design: Design, ages: tuple[Age, ...], inlet: Inlet, permeate_flow_m3h: FloatArray, *, tolerance: float = 1e-9
) -> TrainRun:
    """Find the feed pressure that makes the wanted permeate flow, for all readings at once.

    Parameters
    ----------
    permeate_flow_m3h : array
        Wanted; the feed flow is in `inlet`, so that recovery is set too. [m3/h]
    tolerance : float
        Relative error left in the permeate flow. [-]

    Raises
    ------
    NoSolution
        When the pressures of 0.01 to 200 bar do not hold the answer.
    """
    shape = inlet.feed_flow_m3h.shape
    low, high = np.full(shape, 0.01), np.full(shape, 200.0)
    pressure = _first_guess(design, inlet, permeate_flow_m3h)
    element = design.stages[0].element
    slope = arrhenius(element.water_slope_k, inlet.temperature_c)
    slope = slope * (design.area_m2 * element.water_permeability_lmh_bar / 1000)
    run = run_at_pressure(design, ages, inlet, pressure)
    error = run.permeate_flow_m3h - permeate_flow_m3h
    for _ in range(60):
        if np.all(np.abs(error) <= tolerance * permeate_flow_m3h):
            return run
        low, high = np.where(error < 0, pressure, low), np.where(error > 0, pressure, high)
        wanted = pressure - error / slope
        outside = (wanted <= low) | (wanted >= high)
        new_pressure = np.where(outside, (low + high) / 2, wanted)
        run = run_at_pressure(design, ages, inlet, new_pressure)
        new_error = run.permeate_flow_m3h - permeate_flow_m3h
        moved = new_pressure - pressure
        clear = np.abs(moved) > 1e-12
        slope = np.where(clear, (new_error - error) / np.where(clear, moved, 1.0), slope)
        slope = np.where(slope > 0, slope, 1e-3)
        pressure, error = new_pressure, new_error
    raise NoSolution("no feed pressure between 0.01 and 200 bar makes the permeate flow that is wanted")


def _first_guess(design: Design, inlet: Inlet, permeate_flow_m3h: FloatArray) -> FloatArray:
    element = design.stages[0].element
    flux = permeate_flow_m3h * 1000 / design.area_m2
    driving = flux / (element.water_permeability_lmh_bar * arrhenius(element.water_slope_k, inlet.temperature_c))
    osmotic = 2 * design.salt.osmotic_pressure_bar(inlet.feed_tds_mg_l, inlet.temperature_c)
    return driving + osmotic + inlet.permeate_pressure_bar + 1.0


def _run_stage(stage: Stage, salt: Salt, age: Age, inlet: Inlet, feed: Channel) -> StageRun:
    """March along one vessel; all vessels of a stage are alike."""
    permeate_pressure = inlet.permeate_pressure_bar + stage.permeate_throttle_bar
    channel = Channel(feed.flow_m3h / stage.vessels, feed.tds_mg_l, feed.pressure_bar)
    passed: list[Passed] = []
    for water, salt_passage, friction in zip(age.water, age.salt, age.friction, strict=True):
        local = local_element(
            stage.element, salt, inlet.temperature_c, permeate_pressure, water, salt_passage, friction
        )
        if passed:
            guess = passed[-1].flux_lmh
        else:
            osmotic = salt.osmotic_pressure_bar(feed.tds_mg_l, inlet.temperature_c)
            guess = 0.85 * local.water_permeability_lmh_bar * (channel.pressure_bar - permeate_pressure - osmotic)
        passed.append(pass_element(channel, local, guess))
        channel = passed[-1].concentrate
    flows = np.stack([one.permeate_flow_m3h for one in passed])
    salts = flows * np.stack([one.permeate_tds_mg_l for one in passed])
    return StageRun(
        feed_flow_m3h=feed.flow_m3h,
        feed_pressure_bar=feed.pressure_bar,
        feed_tds_mg_l=feed.tds_mg_l,
        permeate_flow_m3h=flows.sum(axis=0) * stage.vessels,
        permeate_tds_mg_l=salts.sum(axis=0) / flows.sum(axis=0),
        permeate_pressure_bar=permeate_pressure,
        concentrate_flow_m3h=channel.flow_m3h * stage.vessels,
        concentrate_pressure_bar=channel.pressure_bar,
        concentrate_tds_mg_l=channel.tds_mg_l,
        element_permeate_flow_m3h=flows,
        element_salt_flow_g_h=salts,
        element_pressure_drop_bar=np.stack([one.pressure_drop_bar for one in passed]),
    )
