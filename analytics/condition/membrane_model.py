"""The membrane model's answer by day: what this membrane would do at the reference conditions.

Readings are fitted one by one (`fit`), gathered by day (`day_table`), freed of what temperature, salinity and flow
still do to them (`stage_parameters`; the log itself refines those slopes), and run again through the train as built at
the reference conditions: feed pressure, concentrate flow, temperature and salinity of the reference period. Indicators
are ratios to the reference; the pressure drop is that of the channel at the reference flow.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.closure_courses import PERMEATE_PRESSURE
from analytics.condition.disturbances import Beliefs
from analytics.condition.fit import StageFit
from analytics.condition.gauge_offset import OF_ACCURACY
from analytics.condition.model_errors import PERMEATE_PRESSURE_DRIFT_BAR, indicator_errors
from analytics.condition.parameter_days import ParameterDays, course_name
from analytics.condition.reference_run import Ratios, ReferenceTrain
from analytics.condition.split import with_split
from analytics.condition.stage_parameters import (
    GAUGE_ERROR,
    LEAST_DAYS,
    PARAMETERS,
    Learned,
    Source,
    StageParameters,
    teller,
    train_parameters,
)
from analytics.plant import Plant

Array = npt.NDArray[np.float64]

LEAST_ANSWERED = 0.6
"""Share of the days that the model must have an answer for; common practice, no source. [-]"""
FITTED = ("_log_water", "_log_salt")
SURE = 1.645
"""Standard errors that an offset must have to be told: nine times in ten it is there. [-]"""


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
    notes : tuple of str
        What could not be told apart per stage, and what was taken in place of a meter, in words.
    parameters : tuple of StageParameters
        What the indicators are made from, by stage.
    train : ReferenceTrain
        The train at the reference conditions, by the closures that were learned.
    """

    daily: pd.DataFrame
    level: pd.DataFrame
    error: pd.DataFrame
    learned: tuple[Learned, ...]
    notes: tuple[str, ...]
    parameters: tuple[StageParameters, ...]
    train: ReferenceTrain


def model_days(
    days: ParameterDays,
    fits: Sequence[StageFit],
    train: ReferenceTrain,
    plant: Plant,
    *,
    breaks: Mapping[str, Sequence[pd.Timestamp]],
    floors: Mapping[tuple[str, str], float] | None = None,
) -> ModelDays | None:
    """Indicators of the membrane model by day.

    Parameters
    ----------
    days : ParameterDays
        What was fitted, by day.
    fits : sequence of StageFit
        From `fit_membranes`, of any part of the log: which stages share a multiplier is asked of them.
    train : ReferenceTrain
        At the reference conditions, by the usual closures.
    plant : Plant
    breaks : mapping
        Scope -> days on which its level may jump; that of the train serves stages that share a multiplier.
    floors : mapping, optional
        From `meter_noise`. [-]

    Returns
    -------
    ModelDays or None
        None where there is nothing to fit, too few days, or too many that the model has no answer for.
    """
    if not fits or len(days.index) < LEAST_DAYS or not _answers(days):
        return None
    sources = []
    for fit, stage in zip(fits, plant.train.stages, strict=True):
        shared = fit.water_shared or fit.salt_shared
        cuts = [int((cut - days.first).days) for cut in breaks.get("train" if shared else fit.scope, ())]
        own = {what: floor for (scope, what), floor in (floors or {}).items() if scope == fit.scope}
        sources.append(Source(fit, stage.membrane, cuts, own, OF_ACCURACY * plant.train.meters.pressure_accuracy_bar))
    found = train_parameters(sources, days, train.temperature_c, osmotic_start=train.closures.osmotic)
    shared_out = with_split(found.stages, fits, days)
    parameters = shared_out.parameters
    train = train.under(found.beliefs.closures(), found.moved)
    corrected, level = (train.indicators([_ratios(p, which) for p in parameters]) for which in ("corrected", "level"))
    error = indicator_errors(train, shared_out, fits, level, _unmetered(sources, days))
    names = [name for name in _identified(fits, plant) if name in level and _mostly_known(level[name], error[name])]
    daily, levels, errors = (
        pd.DataFrame({n: values[n] for n in names}, index=days.index) for values in (corrected, level, error)
    )
    notes = (*_shared(fits), *_permeate_pressure(found.beliefs, days), *_gauges(found.learned, len(fits)))
    return ModelDays(daily, levels, errors, found.learned, notes, parameters, train)


def _unmetered(sources: Sequence[Source], days: ParameterDays) -> dict[tuple[int, str], float]:
    """How far a permeate pressure that is not metered moves each parameter; empty where it is metered."""
    moves = {
        (number, what): days.at_reference.get(
            course_name(teller(sources, number, what), what, PERMEATE_PRESSURE), np.nan
        )
        for number in range(len(sources))
        for what in PARAMETERS
    }
    return {place: PERMEATE_PRESSURE_DRIFT_BAR * slope for place, slope in moves.items() if np.isfinite(slope)}


def _permeate_pressure(beliefs: Beliefs, days: ParameterDays) -> tuple[str, ...]:
    """What is taken in place of its meter, and what that may do; nothing where it has one."""
    if PERMEATE_PRESSURE not in beliefs.held:
        return ()
    held = beliefs.held[PERMEATE_PRESSURE]
    share = 10 * days.at_reference.get(course_name(0, "water", PERMEATE_PRESSURE), np.nan)
    return (
        f"The membrane model takes the permeate pressure, which is not metered, as {held.mean:.1f} bar, give or take"
        f" {held.deviation:.1f} bar. Should it change by 0.1 bar, permeate flow would seem to change by about"
        f" {share:.1f} %.",
    )


def _gauges(learned: Sequence[Learned], stages: int) -> tuple[str, ...]:
    """Pressure drops whose gauges are off against each other, as far as flow tells it nine times in ten."""
    return tuple(
        f"As it goes with flow, the pressure drop of {'the train' if stages == 1 else _place(one.scope)} is shown"
        f" {abs(one.after):.2f} bar too {'large' if one.after > 0 else 'small'}, give or take {one.error:.2f} bar. The"
        " membrane model takes that out; compare the two gauges while the train stands still."
        for one in learned
        if one.what == GAUGE_ERROR and abs(one.after) > SURE * one.error
    )


def _place(scope: str) -> str:
    return "the train" if scope == "train" else f"stage {scope.removeprefix('stage')}"


def _answers(days: ParameterDays) -> bool:
    """Whether the model has an answer for most days, and for most of the reference. It has none where by its closures
    the pressure is below the osmotic one: then nothing that it says of the other days is to be trusted either."""
    fitted = [values for name, values in days.daily.items() if name.endswith(FITTED)]
    shares = [np.mean(np.isfinite(values[rows])) for values in fitted for rows in (slice(None), days.reference_days)]
    return bool(min(shares, default=0.0) >= LEAST_ANSWERED)


def _mostly_known(level: Array, error: Array) -> bool:
    """Whether one indicator has an answer for most days, and for most of the latest: that of long ago is none of
    today."""
    known = np.isfinite(level) & np.isfinite(error)
    return bool(min(np.mean(known), np.mean(known[-LEAST_DAYS:])) >= LEAST_ANSWERED)


def _ratios(stage: StageParameters, which: str) -> Ratios:
    def ratio(name: str) -> Array | None:
        parameter = getattr(stage, name)
        return None if parameter is None else np.exp(getattr(parameter, which))

    return Ratios(ratio("water"), ratio("salt"), ratio("friction"))


def _identified(fits: Sequence[StageFit], plant: Plant) -> list[str]:
    """Indicators that the meters carry; what stages share is given for the train alone."""
    names = ["train_permeate_flow", "train_salt_passage", "train_pressure_drop"]
    if len(plant.train.stages) == 1:
        return names
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


def model_notes(model: ModelDays | None, fits: Sequence[StageFit], *, days: int) -> tuple[str, ...]:
    """What the model holds for want of meters; or that it has no answer, where there are days enough for one.

    Parameters
    ----------
    model : ModelDays or None
    fits : sequence of StageFit
    days : int
        With used readings.
    """
    if model is not None:
        return model.notes
    if not fits or days < LEAST_DAYS:
        return ()
    return (
        "The membrane model has no answer for most days: by the salinity and pressures metered, hardly any pressure is"
        " left to push water through the last elements.",
    )
