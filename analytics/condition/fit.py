"""Fit of the membrane model: water and salt permeability and friction of each stage, reading by reading.

What is metered decides what is fitted. A stage whose own permeate flow, permeate salinity or pressure drop is metered
has its own water permeability, salt permeability or friction. Stages that are metered only together share one
multiplier on the values of their data sheets; the result says so. What nothing tells is held, and not given.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analytics.condition.metered_train import (
    USUAL,
    Closures,
    MeteredReadings,
    TrainModel,
    data_sheet,
    metered_readings,
    middles,
)
from analytics.condition.multipliers import newton, newton_at_places
from analytics.condition.streams import Array, Balance
from analytics.plant import Plant, Stage

ROUNDS = 3
MIDDLE_ROUNDS = 6
"""Runs of the model over all readings, and over the medians of stretches of them. [-]"""
STRETCH = 64
"""Readings whose medians are solved first, for their slopes. [-]"""
SETTLED = 0.01
"""A reading that is still missed by more than this before the last step has no answer. [-]"""
CHUNK = 8192
"""Readings fitted at a time, so that all that belongs to them stays near the processor. [-]"""


@dataclass(frozen=True)
class StageFit:
    """One stage at each reading, at 25 degC; None where nothing can be said, NaN at readings not used.

    Attributes
    ----------
    water_permeability_lmh_bar, salt_permeability_lmh : array
    friction_bar : array
        Pressure drop of one element at a mean flow of 1 m3/h a vessel and the viscosity of 25 degC. [bar]
    water_shared, salt_shared, friction_shared : bool
        True where the stage shares its multiplier with others, for want of a meter.
    """

    scope: str
    water_permeability_lmh_bar: Array | None
    salt_permeability_lmh: Array | None
    friction_bar: Array | None
    water_shared: bool
    salt_shared: bool
    friction_shared: bool


def fit_membranes(balance: Balance, plant: Plant, *, used: npt.NDArray[np.bool_] | None = None) -> tuple[StageFit, ...]:
    """Fit every stage at every reading that is used.

    Parameters
    ----------
    balance : Balance
        From `complete_streams`.
    plant : Plant
    used : bool array, optional
        Readings in use; all of them where it is not given.

    Returns
    -------
    tuple of StageFit
        Empty where the train's permeate flow, feed flow or driving pressure is not known.

    Notes
    -----
    Newton's method in the logarithms of the multipliers, on all readings at once. Each reading starts from the solution
    of the medians of its stretch, with their slopes: three steps leave less than 1e-5 of most readings.
    """
    train = balance.train
    if train.permeate_flow_m3h is None or train.feed_flow_m3h is None or train.mean_pressure_bar is None:
        return ()
    count = len(train.permeate_flow_m3h)
    rows = np.arange(count) if used is None else np.flatnonzero(used)
    chunks = [rows[start : start + CHUNK] for start in range(0, len(rows), CHUNK)]
    parts = [fit_multipliers(metered_readings(balance, plant, chunk), plant) for chunk in chunks]
    sought = TrainModel(metered_readings(balance, plant, rows[:0]), plant)
    values = {key: _spread([part[key] for part in parts], rows, count) for key in _keys(sought)}
    shared = {(one.what, number): one.shared for one in sought.multipliers for number in one.stages}
    return tuple(_stage_fit(number, stage, values, shared) for number, stage in enumerate(plant.train.stages))


def _keys(model: TrainModel) -> list[tuple[str, int]]:
    """What is fitted of which stage."""
    return [(one.what, number) for one in model.sought for number in one.stages]


def fit_multipliers(
    metered: MeteredReadings, plant: Plant, closures: Closures = USUAL, *, rounds: int = ROUNDS
) -> dict[tuple[str, int], Array]:
    """Multipliers on data sheet values, by what they are of and the number of their stage.

    Parameters
    ----------
    metered : MeteredReadings
    plant : Plant
    closures : Closures, optional
    rounds : int
        Runs of the model over all readings. [-]

    Returns
    -------
    dict
        NaN where a reading has no answer. [-]
    """
    model = TrainModel(metered, plant, closures)
    count, readings = len(model.sought), len(metered.temperature_c)
    places = -(-readings // STRETCH)
    local = newton_at_places(
        TrainModel(middles(metered, stretch=STRETCH, copies=count + 1), plant, closures).misses,
        count,
        places,
        rounds=MIDDLE_ROUNDS,
    )
    found = newton(model.misses, local, np.arange(readings) // STRETCH, rounds=rounds)
    values = np.where(np.abs(found.misses) < SETTLED, np.exp(found.logarithms), np.nan)
    return {(one.what, number): values[row] for row, one in enumerate(model.sought) for number in one.stages}


def _spread(pieces: Sequence[Array], rows: npt.NDArray[np.int64], count: int) -> Array:
    """The pieces put back to the rows that they came from."""
    result = np.full(count, np.nan)
    result[rows] = np.concatenate(pieces) if pieces else np.nan
    return result


def _stage_fit(
    number: int, stage: Stage, values: Mapping[tuple[str, int], Array], shared: Mapping[tuple[str, int], bool]
) -> StageFit:
    sheet = data_sheet(stage)

    def of_stage(what: str, usual: float) -> Array | None:
        return values[what, number] * usual if (what, number) in values else None

    return StageFit(
        scope=f"stage{number + 1}",
        water_permeability_lmh_bar=of_stage("water", sheet.water),
        salt_permeability_lmh=of_stage("salt", sheet.salt),
        friction_bar=of_stage("friction", sheet.friction),
        water_shared=shared["water", number],
        salt_shared=shared["salt", number],
        friction_shared=shared["friction", number],
    )
