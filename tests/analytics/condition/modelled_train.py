"""Exact readings of a two-stage train, made by the model itself from membranes that are known day by day."""

from typing import Any

import numpy as np
import pandas as pd

from analytics.condition.metered_train import (
    FRICTION_EXPONENT,
    SALT_PERMEABILITY,
    USUAL_FRICTION_BAR,
    WATER_PERMEABILITY,
)
from analytics.physics.temperature import water_temperature_factor
from analytics.physics.train import StageSetup, feed_pressure_for_permeate, run_train
from analytics.physics.vessel import Channel, Elements, Water
from analytics.physics.water import viscosity_mpa_s
from analytics.plant import Plant
from analytics.plant_file import plant_from_dict

Values = np.ndarray | float
PAIR = (1.0, 1.0)
VESSELS = (4, 2)


def plant(*, reference: tuple[str, str] = ("2026-01-01", "2026-01-14"), **train: Any) -> Plant:
    stage = {"vessels": 4, "elements_per_vessel": 6, "membrane": "bw8"}
    table = {
        "name": "Made",
        "reference": {"start": reference[0], "end": reference[1]},
        "stage": [stage, stage | {"vessels": 2}],
    }
    return plant_from_dict(
        {"site": {"name": "Nowhere"}, "train": table | train, "membrane": {"bw8": {"area_m2": 37.0}}}
    )


def readings(
    days: int,
    *,
    water: tuple[Values, Values] = PAIR,
    salt: tuple[Values, Values] = PAIR,
    friction: tuple[Values, Values] = PAIR,
    temperature_c: Values = 25.0,
    permeate_m3h: Values = 30.0,
    recovery: Values = 0.75,
    feed_tds_mg_l: Values = 2000.0,
    osmotic: float = 1.0,
    friction_exponent: float = FRICTION_EXPONENT,
    permeate_pressure_bar: float = 0.3,
    scatter: float = 0.0,
    without: tuple[str, ...] = (),
) -> pd.DataFrame:
    """One reading a day, in canonical columns; multipliers on the usual membrane of each stage, 1 at 8 m3/h a vessel
    where the exponent of friction is another one. `scatter` is that of every gauge, as
    a share (without any, a steady gauge looks frozen); `without` are the starts of columns that are not metered."""
    temperature = np.broadcast_to(np.asarray(temperature_c, dtype=float), days)
    factor = np.asarray(water_temperature_factor(temperature, correction="two-slope"))
    thickness = (np.asarray(viscosity_mpa_s(temperature)) / viscosity_mpa_s(25.0)) ** (2 - FRICTION_EXPONENT)
    usual = USUAL_FRICTION_BAR * 8.0 ** (FRICTION_EXPONENT - friction_exponent)
    setups = [
        StageSetup(
            vessels,
            Elements(
                37.0,
                6,
                WATER_PERMEABILITY * factor * water[n],
                SALT_PERMEABILITY * factor * salt[n],
                usual * thickness * friction[n],
                friction_exponent,
            ),
            np.full(days, permeate_pressure_bar),
        )
        for n, vessels in enumerate(VESSELS)
    ]
    wanted, tds = np.broadcast_to(permeate_m3h, days), np.broadcast_to(feed_tds_mg_l, days)
    climate = Water(temperature, osmotic_factor=osmotic)
    pressure = feed_pressure_for_permeate(setups, wanted, np.broadcast_to(recovery, days), tds, climate)
    run = run_train(setups, Channel(wanted / recovery, tds, pressure), climate)
    first, second = run.stages
    shown = {
        "feed_temperature_c": temperature,
        "feed_flow_m3h": run.feed.flow_m3h,
        "permeate_flow_m3h": run.permeate_flow_m3h,
        "concentrate_flow_m3h": run.concentrate.flow_m3h,
        "stage1_permeate_flow_m3h": first.permeate_flow_m3h,
        "feed_pressure_bar": pressure,
        "stage1_concentrate_pressure_bar": first.concentrate.pressure_bar,
        "concentrate_pressure_bar": second.concentrate.pressure_bar,
        "permeate_pressure_bar": np.full(days, permeate_pressure_bar),
        "feed_tds_mg_l": tds,
        "permeate_tds_mg_l": run.permeate_tds_mg_l,
        "stage1_permeate_tds_mg_l": first.permeate_tds_mg_l,
        "stage2_permeate_tds_mg_l": second.permeate_tds_mg_l,
    }
    index = pd.date_range("2026-01-01 12:00", periods=days, freq="D", tz="UTC", unit="us", name="taken_at")
    frame = pd.DataFrame(shown, index=index)
    frame = frame * (1 + scatter * np.random.default_rng(1).standard_normal(frame.shape))
    gone = [name for name in frame if name.startswith(without)] if without else []
    return frame.drop(columns=gone)


TRAIN_ONLY = ("stage1_permeate", "stage2_permeate")
"""Columns without which only the permeate of the whole train is metered."""
