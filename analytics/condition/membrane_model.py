"""The membrane model's answer by day: what this membrane would do at the reference conditions.

Readings are fitted one by one (`fit`), gathered by day, freed of what temperature, salinity and flow still do to them
(`smoother`; the log itself refines those slopes), and run again through the train as built at the reference conditions:
feed pressure, concentrate flow, temperature and salinity of the reference period. Indicators are ratios to the
reference; the pressure drop is that of the channel at the reference flow.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.fit import StageFit
from analytics.condition.metered_train import FRICTION_EXPONENT
from analytics.condition.reference_run import Ratios, ReferenceTrain
from analytics.condition.smoother import Disturbance, Smoothed, smooth
from analytics.condition.standard import ScopeForces
from analytics.plant import Plant
from analytics.units import kelvin

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

LEAST_DAYS = 20
"""Days with readings before the model is asked; common practice, no source."""

WATER_SLOPE_PRIOR_K = 450.0
SALT_SLOPE_PRIOR_K = 1500.0
"""How far the temperature slopes of water and salt may lie from the data sheet's (standard deviation). Published slopes
of water spread from 2640 to about 3400 K; for salt no table was found, and handbooks say as fast or faster. [K]"""
OSMOTIC_PRIOR = 0.12
"""Spread of the osmotic pressure of natural waters about the law chosen, as a share: the handbook form lies 13 % below
sodium chloride. [-]"""
SALINITY_PRIOR = 0.12
FLUX_PRIOR = 0.06
FLOW_PRIOR = 0.06
"""How salt permeability may move with salinity and with flux (polarization), as exponents. No source. [-]"""
EXPONENT_PRIOR = 0.15
VISCOSITY_PRIOR = 0.20
"""Spread of the flow exponent (1.4 to 2 are published) and of the power of viscosity that goes with it. [-]"""
COURSE_DAYS = 9
"""Days over which temperature, salinity and flow are smoothed before dependence on them is looked for."""
REFINED = 0.7
"""A slope counts as refined when its error has fallen below this share of the prior. [-]"""


@dataclass(frozen=True)
class Learned:
    """A slope that the log has refined: as the data sheet (or the usual value) has it, and after."""

    scope: str
    what: str
    unit: str
    before: float
    after: float
    error: float


@dataclass(frozen=True)
class ModelDays:
    """The model by day.

    Attributes
    ----------
    daily : DataFrame
        `<scope>_<indicator>` ratios by local day, freed of disturbances, not smoothed. [-]
    level, error : DataFrame
        The same smoothed, and its standard error. [-]
    learned : tuple of Learned
    shared : tuple of str
        What could not be told apart per stage, in words.
    """

    daily: pd.DataFrame
    level: pd.DataFrame
    error: pd.DataFrame
    learned: tuple[Learned, ...]
    shared: tuple[str, ...]


@dataclass(frozen=True)
class _Parameter:
    """The logarithm of one parameter of one stage by day, smoothed, relative to the reference."""

    corrected: Array
    level: Array
    error: Array


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

    Returns
    -------
    ModelDays or None
        None where there is nothing to fit or too few days.
    """
    if not fits or len(days[used].unique()) < LEAST_DAYS:
        return None
    gather = _Gather(days, used, reference)
    stage_forces = forces[1:] or forces[:1]
    learned: list[Learned] = []
    parameters: list[dict[str, _Parameter | None]] = []
    for fit, force in zip(fits, stage_forces, strict=True):
        shared = fit.water_shared or fit.salt_shared
        cuts = [int((cut - gather.first).days) for cut in breaks.get("train" if shared else fit.scope, ())]
        base = force if force.flux_lmh is not None and force.feed_side_osmotic_bar is not None else forces[0]
        parameters.append(_stage_parameters(fit, base, temperature_c, plant, gather, cuts, learned))
    train = ReferenceTrain.at_reference(fits, stage_forces, forces[0], temperature_c, plant, reference)
    corrected = _run(train, parameters, "corrected")
    level = _run(train, parameters, "level")
    error = _errors(train, parameters, fits)
    keep = _identified(fits, plant)
    if fits[0].friction_shared and len(fits) > 1 and forces[0].streams.pressure_drop_bar is not None:
        for found in (corrected, level, error):
            if "stage1_pressure_drop" in found:
                found["train_pressure_drop"] = found["stage1_pressure_drop"]
        keep.append("train_pressure_drop")
    index = gather.index
    return ModelDays(
        pd.DataFrame({n: corrected[n] for n in keep if n in corrected}, index=index),
        pd.DataFrame({n: level[n] for n in keep if n in level}, index=index),
        pd.DataFrame({n: error[n] for n in keep if n in level}, index=index),
        tuple(learned),
        _shared(fits),
    )


class _Gather:
    """Days from readings: medians of what is used, and of the reference."""

    def __init__(self, days: pd.DatetimeIndex, used: Flags, reference: Flags) -> None:
        self.used, self.reference = used, reference
        numbers = days[used]
        self.index = pd.DatetimeIndex(numbers.unique()).sort_values()
        self.first = self.index[0]
        self.day_numbers = np.asarray((self.index - self.first).days, dtype=np.int64)
        self._keys = numbers

    def by_day(self, values: Array, *, mean: bool = False) -> Array:
        """Median of each day; the mean for figures in the steps of a coarse gauge, to which a median would stick."""
        grouped = pd.Series(values[self.used]).groupby(self._keys)
        daily = grouped.mean() if mean else grouped.median()
        return np.asarray(daily.reindex(self.index), dtype=np.float64)

    def course(self, values: Array) -> Array:
        """Slow course of a disturbance over the days.

        Smoothed, because what is fitted was worked out from the very same readings: the scatter of a flow meter would
        otherwise be taken for a dependence on flow.
        """
        window = pd.Series(self.by_day(values), index=self.index).rolling(COURSE_DAYS, center=True, min_periods=1)
        return np.asarray(window.mean(), dtype=np.float64)

    def at_reference(self, values: Array) -> float:
        picked = values[self.reference]
        picked = picked[np.isfinite(picked)]
        return float(np.median(picked)) if picked.size else float("nan")

    def reference_days(self) -> Flags:
        within = pd.Series(self.reference[self.used]).groupby(self._keys).any().reindex(self.index)
        return within.to_numpy(dtype=bool)


def _stage_parameters(
    fit: StageFit,
    forces: ScopeForces,
    temperature_c: Array | None,
    plant: Plant,
    gather: _Gather,
    cuts: Sequence[int],
    learned: list[Learned],
) -> dict[str, _Parameter | None]:
    inverse = None if temperature_c is None else -1.0 / kelvin(temperature_c)
    osmotic_share = _osmotic_share(fit, forces)
    water = _smoothed(
        fit.water_permeability_lmh_bar,
        {"temperature": (inverse, WATER_SLOPE_PRIOR_K), "osmotic": (osmotic_share, OSMOTIC_PRIOR)},
        gather,
        cuts,
    )
    salt = _smoothed(
        fit.salt_permeability_lmh,
        {
            "temperature": (inverse, SALT_SLOPE_PRIOR_K),
            "salinity": (_log(forces.streams.feed_tds_mg_l), SALINITY_PRIOR),
            "flux": (_log(forces.flux_lmh), FLUX_PRIOR),
            "flow": (_log(forces.streams.drop_flow_m3h), FLOW_PRIOR),
        },
        gather,
        cuts,
    )
    thickness = None if temperature_c is None else -0.0234 * (temperature_c - 25.0)
    friction = _smoothed(
        fit.friction_bar,
        {"flow": (_log(forces.streams.drop_flow_m3h), EXPONENT_PRIOR), "viscosity": (thickness, VISCOSITY_PRIOR)},
        gather,
        cuts,
        mean=True,
    )
    stage = plant.train.stages[int(fit.scope.removeprefix("stage")) - 1]
    _learn(learned, fit.scope, "water temperature slope", water, "temperature", WATER_SLOPE_PRIOR_K,
           stage.membrane.slope_k or 2900.0, "K")  # fmt: skip
    _learn(learned, fit.scope, "salt temperature slope", salt, "temperature", SALT_SLOPE_PRIOR_K,
           stage.membrane.salt_slope_k or stage.membrane.slope_k or 2900.0, "K")  # fmt: skip
    _learn(learned, fit.scope, "flow exponent of pressure drop", friction, "flow", EXPONENT_PRIOR,
           FRICTION_EXPONENT, "-")  # fmt: skip
    return {
        "water": _relative(water, gather),
        "salt": _relative(salt, gather),
        "friction": _relative(friction, gather),
    }


def _osmotic_share(fit: StageFit, forces: ScopeForces) -> Array | None:
    """Osmotic pressure over what is left to push water: how much the permeability found would err with it. [-]"""
    osmotic, flux, factor = forces.feed_side_osmotic_bar, forces.flux_lmh, forces.water_temperature_factor
    if osmotic is None or flux is None or factor is None or fit.water_permeability_lmh_bar is None:
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(osmotic * fit.water_permeability_lmh_bar * factor / flux)


def _log(values: Array | None) -> Array | None:
    if values is None:
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.log(values)


def _smoothed(
    values: Array | None,
    courses: Mapping[str, tuple[Array | None, float]],
    gather: _Gather,
    cuts: Sequence[int],
    *,
    mean: bool = False,
) -> Smoothed | None:
    logarithm = _log(values)
    if logarithm is None:
        return None
    daily = gather.by_day(np.where(np.isfinite(logarithm), logarithm, np.nan), mean=mean)
    disturbances = [
        Disturbance(name, gather.course(course) - gather.at_reference(course), prior)
        for name, (course, prior) in courses.items()
        if course is not None and np.isfinite(gather.at_reference(course))
    ]
    if np.count_nonzero(np.isfinite(daily)) < LEAST_DAYS:
        return None
    return smooth(gather.day_numbers, daily, disturbances, cuts)


def _relative(smoothed: Smoothed | None, gather: _Gather) -> _Parameter | None:
    """Relative to the mean level of the reference days."""
    if smoothed is None:
        return None
    within = gather.reference_days() & np.isfinite(smoothed.level)
    if not within.any():
        return None
    base = float(np.mean(smoothed.level[within]))
    base_error = float(np.mean(smoothed.error[within]))
    return _Parameter(smoothed.corrected - base, smoothed.level - base, np.hypot(smoothed.error, base_error))


def _learn(
    learned: list[Learned],
    scope: str,
    what: str,
    smoothed: Smoothed | None,
    name: str,
    prior: float,
    before: float,
    unit: str,
) -> None:
    """Note a slope that the log has narrowed."""
    if smoothed is None or name not in smoothed.coefficients:
        return
    error = smoothed.coefficient_errors[name]
    if error < REFINED * prior:
        learned.append(Learned(scope, what, unit, before, before + smoothed.coefficients[name], error))


def _run(train: ReferenceTrain, parameters: Sequence[Mapping[str, _Parameter | None]], which: str) -> dict[str, Array]:
    return train.indicators([_ratios(stage, which) for stage in parameters])


def _ratios(stage: Mapping[str, _Parameter | None], which: str) -> Ratios:
    def ratio(name: str) -> Array | None:
        parameter = stage[name]
        return None if parameter is None else np.exp(getattr(parameter, which))

    return Ratios(ratio("water"), ratio("salt"), ratio("friction"))


def _errors(
    train: ReferenceTrain, parameters: Sequence[Mapping[str, _Parameter | None]], fits: Sequence[StageFit]
) -> dict[str, Array]:
    """Errors of the parameters carried through to the indicators by their sensitivities at the reference.

    Stages that share one multiplier are off together; others independently.
    """
    sensitivities = train.sensitivities()
    result: dict[str, Array] = {}
    for name, by_parameter in sensitivities.items():
        squares: Array | float = 0.0
        together: dict[str, Array | float] = {}
        for (number, what), slope in by_parameter.items():
            parameter = parameters[number][what]
            if parameter is None:
                continue
            if getattr(fits[number], f"{what}_shared"):
                together[what] = together.get(what, 0.0) + slope * parameter.error
            else:
                squares = squares + (slope * parameter.error) ** 2
        for value in together.values():
            squares = squares + np.asarray(value) ** 2
        result[name] = np.sqrt(squares)
    return result


def _identified(fits: Sequence[StageFit], plant: Plant) -> list[str]:
    """Indicators that the meters carry; what stages share is given for the train alone."""
    names = ["train_permeate_flow", "train_salt_passage"]
    single = len(plant.train.stages) == 1
    for fit in fits:
        if single:
            names.append("train_pressure_drop")
            break
        if not fit.water_shared:
            names.append(f"{fit.scope}_permeate_flow")
        if not fit.salt_shared and not fit.water_shared:
            names.append(f"{fit.scope}_salt_passage")
        if not fit.friction_shared:
            names.append(f"{fit.scope}_pressure_drop")
    return names


def _shared(fits: Sequence[StageFit]) -> tuple[str, ...]:
    if len(fits) < 2:
        return ()
    notes = []
    if fits[0].water_shared:
        notes.append("The stages' permeate is not metered: the model holds the ratio of their permeabilities.")
    if fits[0].salt_shared:
        notes.append(
            "The stages' permeate is not analysed apart: the model holds the ratio of their salt permeabilities."
        )
    if fits[0].friction_shared:
        notes.append("Pressure between the stages is not metered: the model takes their channels as alike.")
    return tuple(notes)
