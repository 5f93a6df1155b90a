"""From a run of the train to the quantities of the glossary, free of any error of measurement."""

import numpy as np
import pandas as pd

from demo_data.simulator.design import Design
from demo_data.simulator.train import Inlet, TrainRun
from demo_data.simulator.water import FloatArray

FIRST_MINUTES = 20.0
"""Within this time after a start the plant is far from steady. [min]"""


def exact_quantities(design: Design, inlet: Inlet, run: TrainRun, index: pd.DatetimeIndex) -> pd.DataFrame:
    """Every quantity that a meter could show, in canonical units and named as in the glossary."""
    conductivity = design.salt.conductivity_us_cm
    last = run.stages[-1]
    columns: dict[str, FloatArray] = {
        "feed_temperature_c": inlet.temperature_c,
        "feed_flow_m3h": inlet.feed_flow_m3h,
        "permeate_flow_m3h": run.permeate_flow_m3h,
        "concentrate_flow_m3h": last.concentrate_flow_m3h,
        "feed_pressure_bar": run.feed_pressure_bar,
        "concentrate_pressure_bar": last.concentrate_pressure_bar,
        "permeate_pressure_bar": inlet.permeate_pressure_bar,
        "feed_conductivity_us_cm": conductivity(inlet.feed_tds_mg_l),
        "permeate_conductivity_us_cm": conductivity(run.permeate_tds_mg_l),
        "concentrate_conductivity_us_cm": conductivity(last.concentrate_tds_mg_l),
    }
    for number, stage in enumerate(run.stages, start=1):
        scope = f"stage{number}"
        if number > 1:
            columns[f"{scope}_feed_pressure_bar"] = stage.feed_pressure_bar
        columns[f"{scope}_permeate_flow_m3h"] = stage.permeate_flow_m3h
        columns[f"{scope}_permeate_pressure_bar"] = stage.permeate_pressure_bar
        columns[f"{scope}_concentrate_pressure_bar"] = stage.concentrate_pressure_bar
        columns[f"{scope}_permeate_conductivity_us_cm"] = conductivity(stage.permeate_tds_mg_l)
        columns[f"{scope}_concentrate_conductivity_us_cm"] = conductivity(stage.concentrate_tds_mg_l)
    return pd.DataFrame(columns, index=index)


def unsteady(exact: pd.DataFrame, state: FloatArray, rng: np.random.Generator) -> pd.DataFrame:
    """Bend the readings of a plant that is starting, and empty those of a plant that stands.

    Starting: pressure and flows still rising, permeate salty from the water that stood on the membranes. Standing:
    no flow, no pressure, and conductivities that nobody takes.
    """
    result = exact.copy()
    minutes = rng.uniform(2.0, FIRST_MINUTES, len(exact))
    unfinished = np.where(state == "starting", np.exp(-minutes / 8.0), 0.0)
    stopped = state == "stopped"
    for column in result.columns:
        values = result[column].to_numpy(copy=True)
        if "conductivity" in column and "permeate" in column:
            values = np.where(stopped, np.nan, values * (1 + 4.0 * unfinished))
        elif "concentrate_conductivity" in column:
            values = np.where(stopped, np.nan, values * (1 - 0.45 * unfinished))
        elif column.endswith("_m3h"):
            values = np.where(stopped, 0.0, values * (1 - (0.6 if "permeate" in column else 0.25) * unfinished))
        elif column.endswith("_bar"):
            values = np.where(stopped, 0.0, values * (1 - 0.5 * unfinished))
        result[column] = values
    return result
