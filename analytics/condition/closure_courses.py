"""How far each parameter found is moved, day by day, where something the model takes for granted is otherwise.

The days' medians are fitted as usual, and once more with each closure a little changed. Where the outcome moves evenly,
a wrong closure cancels in ratios to the reference; where it moves with temperature, salinity or flow, the log tells the
closure itself (`stage_parameters`).
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from analytics.condition.fit import SETTLED, search, search_from
from analytics.condition.metered_train import USUAL, Closures, MeteredReadings, TrainModel
from analytics.condition.streams import Array
from analytics.plant import Plant

OSMOTIC, FILM, FILM_EXPONENT, FRICTION_EXPONENT = "osmotic", "film", "film exponent", "flow"
PERMEATE_PRESSURE = "permeate pressure"
STEP = 0.1
"""Change of a closure's logarithm, of an exponent, or of a pressure by which slopes are taken. [-, bar]"""
NEAR = 2e-5
"""A day missed by no more than this takes one more step: it comes out alike whatever days stand beside it. [-]"""
CHANGED: Mapping[str, Closures] = {
    OSMOTIC: replace(USUAL, osmotic=float(np.exp(STEP))),
    FILM: replace(USUAL, film=float(np.exp(STEP))),
    FILM_EXPONENT: replace(USUAL, film_exponent=USUAL.film_exponent + STEP),
    FRICTION_EXPONENT: replace(USUAL, friction_exponent=USUAL.friction_exponent + STEP),
}
"""Each closure with its change. [-]"""
NOT_METERED: Mapping[str, Closures] = {PERMEATE_PRESSURE: replace(USUAL, permeate_pressure_bar=STEP)}
"""The same of what only takes the place of a meter."""

Courses = Mapping[tuple[str, int], Mapping[str, Array]]
"""(parameter, number of its stage) -> name of a closure -> slope by day of the logarithm that is found. [-]"""


def closure_slopes(metered: MeteredReadings, plant: Plant) -> Courses:
    """Slopes of the logarithms of all parameters, as the usual closures find them, with each closure of the plant.

    Parameters
    ----------
    metered : MeteredReadings
        Medians of days.
    plant : Plant

    Returns
    -------
    mapping
        Arrays over the days; a day that nothing can be fitted to is NaN. Stages that share a multiplier stand under the
        first of them.

    Notes
    -----
    What a changed closure finds is searched from what the usual ones find, with the same slopes.
    """
    model = TrainModel(metered, plant)
    usual = search(model, near=NEAR)
    slopes: dict[tuple[str, int], dict[str, Array]] = {(m.what, m.stages[0]): {} for m in model.sought}
    unknown = {} if metered.permeate_pressure_known else NOT_METERED
    for name, closures in (*CHANGED.items(), *unknown.items(), *_splits(model)):
        moved = search_from(model.of(metered, closures), usual, near=NEAR)
        missed = np.maximum(np.abs(usual.misses), np.abs(moved.misses))
        slope = np.where(missed < SETTLED, usual.logarithms - moved.logarithms, np.nan) / STEP
        for row, of_closure in zip(slope, slopes.values(), strict=True):
            of_closure[name] = row
    return slopes


def split_name(stage: int) -> str:
    """Name of the closure that lifts the water permeability of one stage over that of the others."""
    return f"split {stage}"


def _splits(model: TrainModel) -> list[tuple[str, Closures]]:
    """Every stage but the first with more permeable membranes than its data sheet has."""
    fitted = {number for one in model.sought if one.what == "water" for number in one.stages}
    stages = range(len(model.plant.train.stages))
    lifted = float(np.exp(STEP))
    return [
        (split_name(number), replace(USUAL, water=tuple(lifted if n == number else 1.0 for n in stages)))
        for number in stages[1:]
        if number in fitted
    ]
