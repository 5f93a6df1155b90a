"""What the standard method would make of the model's own train, step by step from the reference to today.

The model's train is run at the reference, then with today's temperature, flows, salinity, error of pressure drops and
membranes, one after the other. What its gauges would show goes through the standard method itself: how far that then
moves, without any change of the membranes, is its drift.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.balance import complete_streams
from analytics.condition.forces import driving_forces
from analytics.condition.membrane_model import ModelDays
from analytics.condition.metered_train import FRICTION_EXPONENT
from analytics.condition.parameter_days import GAUGE
from analytics.condition.stage_parameters import Parameter
from analytics.condition.standard import normalize, ratios, reference_conditions
from analytics.condition.streams import Balance
from analytics.physics.temperature import membrane_water_temperature_factor, salt_temperature_factor
from analytics.physics.train import StageSetup, TrainPassage, feed_pressure_for_permeate, run_train
from analytics.physics.vessel import Channel, Elements, Water
from analytics.physics.water import viscosity_mpa_s
from analytics.plant import Plant

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

STEPS = ("temperature", "flows", "salinity", "gauges", "membranes")
MOVED_BY = {
    "temperature": ("temperature", "viscosity"),
    "flows": ("flow",),
    "salinity": ("salinity",),
    "gauges": (GAUGE,),
}
"""Which disturbances of the parameters belong to which step; those of osmosis and film, the model's train has in it."""


@dataclass(frozen=True)
class Waters:
    """What a train is given: degC, m3/h (into the membranes), mg/L."""

    temperature_c: float
    feed_flow_m3h: float
    permeate_flow_m3h: float
    feed_tds_mg_l: float

    @property
    def recovery(self) -> float:
        return self.permeate_flow_m3h / self.feed_flow_m3h

    @classmethod
    def of(cls, balance: Balance, rows: Flags) -> "Waters | None":
        """Medians of some readings; None where one of the four is not known."""
        train = balance.train
        arrays = (balance.feed_temperature_c, train.feed_flow_m3h, train.permeate_flow_m3h, train.feed_tds_mg_l)
        middle = [np.nanmedian(a[rows]) if a is not None and np.isfinite(a[rows]).any() else np.nan for a in arrays]
        return cls(*map(float, middle)) if np.isfinite(middle).all() else None


@dataclass(frozen=True)
class Drift:
    """By indicator, how far the standard method goes from the reference at each of `STEPS`; none where unknown. [-]"""

    parts: Mapping[str, Mapping[str, float]]


def standard_drift(
    model: ModelDays, plant: Plant, reference: Waters, today: Waters, days: Flags, columns: Sequence[str]
) -> Drift:
    """Run the model's train from the reference to today and normalize what its gauges would show.

    Parameters
    ----------
    model : ModelDays
    plant : Plant
    reference, today : Waters
    days : bool array
        The days of the model that are today's.
    columns : sequence of str
        What is metered; the train of the model has no other gauges.
    """
    setups, run = _run_steps(model, plant, reference, today, days)
    frame = _gauges(run, setups, reference, today, columns)
    first = np.arange(len(frame)) == 0
    exponent = plant.train.method.pressure_drop_exponent
    parts = {}
    for forces in driving_forces(complete_streams(frame, plant), plant):
        conditions = reference_conditions(forces, first)
        found = ratios(normalize(forces, conditions, pressure_drop_exponent=exponent), first)
        for name, values in found.items():
            if np.isfinite(values).all():
                parts[f"{forces.scope}_{name}"] = dict(zip(STEPS, map(float, np.diff(values)), strict=True))
    return Drift(parts)


def _after(reference: float, today: float, step: str) -> Array:
    """A quantity at the reference and after each step: it changes with its own."""
    return np.where(np.arange(len(STEPS) + 1) > STEPS.index(step), today, reference)


def _run_steps(
    model: ModelDays, plant: Plant, reference: Waters, today: Waters, days: Flags
) -> tuple[list[StageSetup], TrainPassage]:
    temperature = _after(reference.temperature_c, today.temperature_c, "temperature")
    feed_flow = _after(reference.feed_flow_m3h, today.feed_flow_m3h, "flows")
    permeate = _after(reference.permeate_flow_m3h, today.permeate_flow_m3h, "flows")
    tds = _after(reference.feed_tds_mg_l, today.feed_tds_mg_l, "salinity")
    setups = _setups(model, plant, temperature, days)
    water = Water(temperature, plant.train.water, model.train.closures.osmotic)
    pressure = feed_pressure_for_permeate(setups, permeate, permeate / feed_flow, tds, water)
    return setups, run_train(setups, Channel(feed_flow, tds, pressure), water)


def _setups(model: ModelDays, plant: Plant, temperature: Array, days: Flags) -> list[StageSetup]:
    setups = []
    for at, found, stage in zip(model.train.stages, model.parameters, plant.train.stages, strict=True):
        water = np.asarray(membrane_water_temperature_factor(temperature, stage.membrane))
        salt = np.asarray(salt_temperature_factor(temperature, stage.membrane))
        thickness = np.asarray(viscosity_mpa_s(temperature)) ** (2 - FRICTION_EXPONENT)
        elements = Elements(
            at.area_m2,
            at.in_series,
            at.water_permeability_lmh_bar * water / water[0] * _factor(found.water, days),
            at.salt_permeability_lmh * salt / salt[0] * _factor(found.salt, days),
            at.friction_bar * thickness / thickness[0] * _factor(found.friction, days),
            FRICTION_EXPONENT,
            model.train.closures.film,
            model.train.closures.film_exponent,
        )
        back = np.full_like(temperature, at.permeate_pressure_bar)
        setups.append(StageSetup(at.vessels, elements, back, boost_bar=at.boost_bar))
    return setups


def _factor(parameter: Parameter | None, days: Flags) -> Array | float:
    """What the log has found of a parameter, after each step over the reference."""
    if parameter is None:
        return 1.0
    parts = [
        sum(_mean(parameter.moved[name][days]) for name in MOVED_BY[step] if name in parameter.moved)
        for step in STEPS[:-1]
    ]
    return np.asarray(np.exp(np.cumsum([0.0, *parts, _mean(parameter.level[days])])))


def _mean(values: Array) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else 0.0


def _gauges(
    run: TrainPassage, setups: Sequence[StageSetup], reference: Waters, today: Waters, columns: Sequence[str]
) -> pd.DataFrame:
    """What the gauges of the train would show; salinities in place of conductivities."""
    shown = {
        "feed_temperature_c": _after(reference.temperature_c, today.temperature_c, "temperature"),
        "feed_pressure_bar": run.feed.pressure_bar,
        "concentrate_pressure_bar": run.concentrate.pressure_bar,
        "permeate_pressure_bar": setups[0].permeate_pressure_bar,
        "feed_flow_m3h": run.feed.flow_m3h,
        "permeate_flow_m3h": run.permeate_flow_m3h,
        "feed_tds_mg_l": run.feed.tds_mg_l,
        "permeate_tds_mg_l": run.permeate_tds_mg_l,
    }
    for number, stage in enumerate(run.stages, start=1):
        scope = f"stage{number}"
        own = {
            f"{scope}_feed_pressure_bar": stage.feed.pressure_bar,
            f"{scope}_concentrate_pressure_bar": stage.concentrate.pressure_bar,
            f"{scope}_permeate_flow_m3h": stage.permeate_flow_m3h,
        }
        shown |= {name: values for name, values in own.items() if name in columns}
        if f"{scope}_permeate_conductivity_us_cm" in columns:
            shown[f"{scope}_permeate_tds_mg_l"] = stage.permeate_tds_mg_l
    return pd.DataFrame(shown)
