"""How far each parameter found is moved, day by day, where something the model takes for granted is otherwise.

The days' medians are fitted as usual, and once more with each closure a little changed. Where the outcome moves evenly,
a wrong closure cancels in ratios to the reference; where it moves with temperature, salinity or flow, the log tells the
closure itself (`stage_parameters`).
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from analytics.condition.fit import fit_multipliers
from analytics.condition.metered_train import USUAL, Closures, TrainModel, metered_days, metered_readings
from analytics.condition.streams import Array, Balance
from analytics.plant import Plant

OSMOTIC, FILM, FILM_EXPONENT, FRICTION_EXPONENT = "osmotic", "film", "film exponent", "flow"
LOGARITHM_STEP = 0.1
EXPONENT_STEP = 0.1
"""Change of a closure's logarithm, or of an exponent, by which slopes are taken. [-]"""
DAY_ROUNDS = 5
"""Runs of the model over the medians of days: enough that a day comes out alike whatever days stand beside it. [-]"""
CHANGED: Mapping[str, Closures] = {
    OSMOTIC: replace(USUAL, osmotic=float(np.exp(LOGARITHM_STEP))),
    FILM: replace(USUAL, film=float(np.exp(LOGARITHM_STEP))),
    FILM_EXPONENT: replace(USUAL, film_exponent=USUAL.film_exponent + EXPONENT_STEP),
    FRICTION_EXPONENT: replace(USUAL, friction_exponent=USUAL.friction_exponent + EXPONENT_STEP),
}
"""Each closure with its change; all steps are alike. [-]"""

Courses = Mapping[tuple[str, int], Mapping[str, Array]]
"""(parameter, number of its stage) -> name of a closure -> slope by day of the logarithm that is found. [-]"""


def closure_slopes(balance: Balance, plant: Plant, rows: npt.NDArray[np.int64], day: npt.NDArray[np.int64]) -> Courses:
    """Slopes of the logarithms of all parameters, as the usual closures find them, with each closure of the plant.

    Parameters
    ----------
    balance : Balance
    plant : Plant
    rows : int array
        Readings in use.
    day : int array
        Of each of those readings, ascending.

    Returns
    -------
    mapping
        Arrays over the distinct days; a day that nothing can be fitted to is NaN. Stages that share a multiplier stand
        under the first of them.
    """
    metered = metered_days(metered_readings(balance, plant, rows), day)
    usual = fit_multipliers(metered, plant, rounds=DAY_ROUNDS)
    first = [(one.what, one.stages[0]) for one in TrainModel(metered, plant).sought]
    slopes: dict[tuple[str, int], dict[str, Array]] = {key: {} for key in first}
    for name, closures in (*CHANGED.items(), *_splits(usual, plant)):
        moved = fit_multipliers(metered, plant, closures, rounds=DAY_ROUNDS)
        for key in first:
            slopes[key][name] = np.log(usual[key] / moved[key]) / LOGARITHM_STEP
    return slopes


def split_name(stage: int) -> str:
    """Name of the closure that lifts the water permeability of one stage over that of the others."""
    return f"split {stage}"


def _splits(usual: Mapping[tuple[str, int], Array], plant: Plant) -> list[tuple[str, Closures]]:
    """Every stage but the first with more permeable membranes than its data sheet has."""
    count = len(plant.train.stages)
    lifted = float(np.exp(LOGARITHM_STEP))
    return [
        (split_name(number), replace(USUAL, water=tuple(lifted if n == number else 1.0 for n in range(count))))
        for number in range(1, count)
        if ("water", number) in usual
    ]
