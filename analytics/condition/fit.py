"""Fit of the membrane model: water and salt permeability and friction of each stage, reading by reading.

What is metered decides what is fitted. A stage whose own permeate flow, permeate salinity or pressure drop is metered
has its own water permeability, salt permeability or friction. Stages that are metered only together share one
multiplier on the values of their data sheets; the result says so. What nothing tells is held, and not given.
"""

from collections.abc import Callable, Mapping
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
    multipliers_of,
    part_of,
)
from analytics.condition.multipliers import Found, Local, newton, newton_at_places
from analytics.condition.streams import Array, Balance
from analytics.plant import Plant, Stage

ROUNDS = 5
MIDDLE_ROUNDS = 6
"""Runs of the model, at the most, over all readings, and over the medians of neighbours. [-]"""
NEIGHBOURS = 64
"""Readings whose medians are solved first, for their slopes. [-]"""
NEAR = 2e-4
"""A reading missed by no more than this takes one more step, which leaves some twentieth of it. [-]"""
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
    """
    if not can_be_fitted(balance):
        return ()
    count = len(balance.train.permeate_flow_m3h)  # type: ignore[arg-type]
    rows = np.arange(count) if used is None else np.flatnonzero(used)
    return fit_rows(metered_readings(balance, plant, rows), plant, rows, count)


def can_be_fitted(balance: Balance) -> bool:
    """Whether the train's permeate flow, feed flow and driving pressure are known."""
    train = balance.train
    return not (train.permeate_flow_m3h is None or train.feed_flow_m3h is None or train.mean_pressure_bar is None)


def fit_rows(
    metered: MeteredReadings,
    plant: Plant,
    rows: npt.NDArray[np.int64],
    count: int,
    of_row: npt.NDArray[np.int64] | None = None,
) -> tuple[StageFit, ...]:
    """Fit every stage at some rows of a log.

    Parameters
    ----------
    metered : MeteredReadings
        Of those rows, or of stretches of them.
    plant : Plant
    rows : int array
    count : int
        Of all rows of the log.
    of_row : int array, optional
        Which of `metered` each row is fitted by; each has its own where it is not given.

    Notes
    -----
    Newton's method in the logarithms of the multipliers, on many readings at once. Each reading starts from the
    solution of the medians of its neighbours, with their slopes: two or three steps leave less than 1e-4 of it.
    """
    values = {}
    for key, found in fit_multipliers(metered, plant).items():
        values[key] = np.full(count, np.nan)
        values[key][rows] = found if of_row is None else found[of_row]
    shared = {(one.what, number): one.shared for one in multipliers_of(metered) for number in one.stages}
    return tuple(_stage_fit(number, stage, values, shared) for number, stage in enumerate(plant.train.stages))


def fit_multipliers(metered: MeteredReadings, plant: Plant, closures: Closures = USUAL) -> dict[tuple[str, int], Array]:
    """Multipliers on data sheet values, by what they are of and the number of their stage.

    Parameters
    ----------
    metered : MeteredReadings
    plant : Plant
    closures : Closures, optional

    Returns
    -------
    dict
        NaN where a reading has no answer. [-]
    """
    model = TrainModel(metered, plant, closures)
    found = search(model, near=NEAR)
    values = np.where(np.abs(found.misses) < SETTLED, np.exp(found.logarithms), np.nan)
    return {(one.what, number): values[row] for row, one in enumerate(model.sought) for number in one.stages}


def search(model: TrainModel, *, near: float) -> Found:
    """Search the multipliers of all readings of a model: from those of the medians of neighbours, with their slopes.

    Parameters
    ----------
    model : TrainModel
    near : float
        A reading missed by no more than this takes one more step and no other. [-]
    """
    count, readings = len(model.sought), len(model.metered.temperature_c)
    copies = model.of(middles(model.metered, neighbours=NEIGHBOURS, copies=count + 1))
    local = newton_at_places(copies.misses, count, -(-readings // NEIGHBOURS), rounds=MIDDLE_ROUNDS)
    places = np.arange(readings) // NEIGHBOURS
    chunks = [slice(start, start + CHUNK) for start in range(0, max(readings, 1), CHUNK)]
    parts = [search_from(model.of(part_of(model.metered, c)), local.at(places[c]), near=near) for c in chunks]
    return Found(
        np.concatenate([part.logarithms for part in parts], axis=1),
        np.concatenate([part.inverse for part in parts]),
        np.concatenate([part.misses for part in parts], axis=1),
    )


def search_from(model: TrainModel, start: Local, *, near: float) -> Found:
    """The same from a given start for each reading, which may be what another model has found."""
    readings = len(model.metered.temperature_c)

    def misses_of(rows: npt.NDArray[np.int64]) -> Callable[[Array], Array]:
        return (model if len(rows) == readings else model.of(part_of(model.metered, rows))).misses

    return newton(misses_of, start, rounds=ROUNDS, near=near)


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
