"""The truth of a simulated train, to be compared with what a method finds."""

import numpy as np
import pandas as pd

from demo_data.simulator.design import Design
from demo_data.simulator.train import Age, TrainRun
from demo_data.simulator.water import FloatArray


def truth_frame(
    design: Design, ages: tuple[Age, ...], run: TrainRun, reference: np.ndarray, index: pd.DatetimeIndex
) -> pd.DataFrame:
    """Permeabilities, friction and true indicators at each reading.

    Parameters
    ----------
    reference : array of bool
        Readings of the reference period, against which the ratios are taken.

    Returns
    -------
    DataFrame
        Per stage: `stageN_water_permeability_lmh_bar` and `stageN_salt_permeability_lmh` at 25 degC and
        `stageN_friction` (factor on new elements), each the plain mean over its elements; and the ratios
        `<scope>_permeate_flow`, `<scope>_salt_passage`, `<scope>_pressure_drop` for every stage and the train.

    Notes
    -----
    A ratio is the mean over the elements of the factor now over the factor in the reference period, weighted by
    what each element made in the reference period: permeate for water, salt for salt, pressure drop for friction.
    It is what a method should find at unchanged conditions, to first order, and knows no temperature or salinity.
    """
    columns: dict[str, FloatArray] = {}
    ratios: dict[str, list[FloatArray]] = {"permeate_flow": [], "salt_passage": [], "pressure_drop": []}
    weights: dict[str, list[FloatArray]] = {what: [] for what in ratios}
    for number, (stage, age, stage_run) in enumerate(zip(design.stages, ages, run.stages, strict=True), start=1):
        scope = f"stage{number}"
        columns[f"{scope}_water_permeability_lmh_bar"] = age.water.mean(0) * stage.element.water_permeability_lmh_bar
        columns[f"{scope}_salt_permeability_lmh"] = age.salt.mean(0) * stage.element.salt_permeability_lmh
        columns[f"{scope}_friction"] = age.friction.mean(0)
        parts = {
            "permeate_flow": (age.water, stage_run.element_permeate_flow_m3h, stage.vessels),
            "salt_passage": (age.salt, stage_run.element_salt_flow_g_h, stage.vessels),
            "pressure_drop": (age.friction, stage_run.element_pressure_drop_bar, 1),
        }
        for what, (factor, made, vessels) in parts.items():
            ratio = factor / factor[:, reference].mean(axis=1, keepdims=True)
            weight = made[:, reference].mean(axis=1) * vessels
            columns[f"{scope}_{what}"] = np.average(ratio, axis=0, weights=weight)
            ratios[what].append(ratio)
            weights[what].append(weight)
    for what in ratios:
        columns[f"train_{what}"] = np.average(
            np.concatenate(ratios[what]), axis=0, weights=np.concatenate(weights[what])
        )
    return pd.DataFrame(columns, index=index)
