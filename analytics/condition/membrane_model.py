"""The membrane model's answer by day: what this membrane would do at the reference conditions.

Readings are fitted one by one (`fit`), gathered by day, freed of what temperature, salinity and flow still do to them
(`stage_parameters`; the log itself refines those slopes), and run again through the train as built at the reference
conditions: feed pressure, concentrate flow, temperature and salinity of the reference period. Indicators are ratios to
the reference; the pressure drop is that of the channel at the reference flow.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.fit import StageFit
from analytics.condition.model_errors import indicator_errors
from analytics.condition.reference_run import Ratios, ReferenceTrain
from analytics.condition.stage_parameters import LEAST_DAYS, Gather, Learned, StageParameters, stage_parameters
from analytics.condition.standard import ScopeForces
from analytics.plant import Plant

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class ModelDays:
    """The model by day.

    Attributes
    ----------
    daily : DataFrame
        `<scope>_<indicator>` ratios by local day, freed of disturbances, not smoothed. [-]
    level, error : DataFrame
        The same smoothed, and the standard error of its logarithm. [-]
    learned : tuple of Learned
    shared : tuple of str
        What could not be told apart per stage, in words.
    parameters : tuple of StageParameters
        What the indicators are made from, by stage.
    train : ReferenceTrain
        The train at the reference conditions.
    """

    daily: pd.DataFrame
    level: pd.DataFrame
    error: pd.DataFrame
    learned: tuple[Learned, ...]
    shared: tuple[str, ...]
    parameters: tuple[StageParameters, ...]
    train: ReferenceTrain


def model_days(
    fits: Sequence[StageFit],
    forces: Sequence[ScopeForces],
    temperature_c: Array | None,
    plant: Plant,
    *,
    days: pd.DatetimeIndex,
    used: Flags,
    reference: Flags,
    breaks: Mapping[str, Sequence[pd.Timestamp]],
    floors: Mapping[tuple[str, str], float] | None = None,
) -> ModelDays | None:
    """Indicators of the membrane model by day.

    Parameters
    ----------
    fits : sequence of StageFit
        From `fit_membranes`.
    forces : sequence of ScopeForces
        From `driving_forces`: the train first.
    temperature_c : array or None
        None where feed temperature is not known: then temperature is not corrected. [degC]
    plant : Plant
    days : DatetimeIndex
        Local day of each reading.
    used, reference : bool arrays
        Readings in use, and those of the reference period.
    breaks : mapping
        Scope -> days on which its level may jump; that of the train serves stages that share a multiplier.
    floors : mapping, optional
        From `meter_noise`. [-]

    Returns
    -------
    ModelDays or None
        None where there is nothing to fit or too few days.
    """
    if not fits or len(days[used].unique()) < LEAST_DAYS:
        return None
    gather = Gather(days, used, reference)
    stage_forces = forces[1:] or forces[:1]
    learned: list[Learned] = []
    parameters: list[StageParameters] = []
    for fit, force, stage in zip(fits, stage_forces, plant.train.stages, strict=True):
        shared = fit.water_shared or fit.salt_shared
        cuts = [int((cut - gather.first).days) for cut in breaks.get("train" if shared else fit.scope, ())]
        base = force if force.flux_lmh is not None and force.feed_side_osmotic_bar is not None else forces[0]
        found, slopes = stage_parameters(fit, base, temperature_c, stage.membrane, gather, cuts, floors or {})
        parameters.append(found)
        learned += slopes
    train = ReferenceTrain.at_reference(fits, stage_forces, forces[0], temperature_c, plant, reference)
    corrected, level = (train.indicators([_ratios(p, which) for p in parameters]) for which in ("corrected", "level"))
    error = indicator_errors(train, parameters, fits, level)
    names = [name for name in _identified(fits, plant) if name in level]
    daily, levels, errors = (
        pd.DataFrame({n: values[n] for n in names}, index=gather.index) for values in (corrected, level, error)
    )
    return ModelDays(daily, levels, errors, tuple(learned), _shared(fits), tuple(parameters), train)


def _ratios(stage: StageParameters, which: str) -> Ratios:
    def ratio(name: str) -> Array | None:
        parameter = getattr(stage, name)
        return None if parameter is None else np.exp(getattr(parameter, which))

    return Ratios(ratio("water"), ratio("salt"), ratio("friction"))


def _identified(fits: Sequence[StageFit], plant: Plant) -> list[str]:
    """Indicators that the meters carry; what stages share is given for the train alone."""
    names = ["train_permeate_flow", "train_salt_passage"]
    if len(plant.train.stages) == 1:
        return [*names, "train_pressure_drop"]
    for fit in fits:
        if not fit.water_shared:
            names.append(f"{fit.scope}_permeate_flow")
        if not fit.salt_shared and not fit.water_shared:
            names.append(f"{fit.scope}_salt_passage")
        if not fit.friction_shared:
            names.append(f"{fit.scope}_pressure_drop")
    return names


def _shared(fits: Sequence[StageFit]) -> tuple[str, ...]:
    """What is held, in words, and which stages it concerns."""
    words = (
        ("water", "The permeate of {} is not metered apart: the model holds the ratio of their water permeabilities."),
        ("salt", "The permeate of {} is not analysed apart: the model holds the ratio of their salt permeabilities."),
        ("friction", "Pressure between {} is not metered: the model takes their channels as alike."),
    )
    notes = []
    for what, sentence in words:
        sharing = [fit.scope.removeprefix("stage") for fit in fits if getattr(fit, f"{what}_shared")]
        if sharing:
            notes.append(sentence.format(f"stages {', '.join(sharing[:-1])} and {sharing[-1]}"))
    return tuple(notes)
