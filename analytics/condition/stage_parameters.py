"""The three parameters of a stage by day: gathered from readings, freed of what is not the membrane's, and smoothed.

What is not the membrane's are *disturbances*: temperature, salinity, flux and flow still move what was fitted, because
no data sheet's slope and no closure of the model is quite that of the plant. The log itself refines their coefficients
(`smoother`), within priors.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.fit import StageFit
from analytics.condition.metered_train import FRICTION_EXPONENT
from analytics.condition.smoother import Disturbance, Smoothed, smooth
from analytics.condition.standard import ScopeForces
from analytics.physics.temperature import membrane_water_temperature_factor, salt_temperature_factor
from analytics.physics.water import viscosity_mpa_s
from analytics.plant import Membrane
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
"""How salt permeability may go with salinity, as an exponent: dissolved solids per conductivity rise by a half over the
salinities of natural waters (0.50 to 0.75), and no plant's own curve is known. [-]"""
FLUX_PRIOR = 0.06
FLOW_PRIOR = 0.06
"""How it may go with flux and with flow in the channel, as exponents: the logarithm of polarization is 0.1 to 0.2, and
the film's coefficient and its exponent of flow are known to about a half. [-]"""
EXPONENT_PRIOR = 0.15
VISCOSITY_PRIOR = 0.20
"""Spread of the flow exponent (1.4 to 2 are published) and of the power of viscosity that goes with it. [-]"""
PRIORS: Mapping[str, Mapping[str, float]] = {
    "water": {"temperature": WATER_SLOPE_PRIOR_K, "osmotic": OSMOTIC_PRIOR},
    "salt": {
        "temperature": SALT_SLOPE_PRIOR_K,
        "salinity": SALINITY_PRIOR,
        "flux": FLUX_PRIOR,
        "flow": FLOW_PRIOR,
    },
    "friction": {"flow": EXPONENT_PRIOR, "viscosity": VISCOSITY_PRIOR},
}
"""What disturbs each parameter, and how far its coefficient may lie from zero."""
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
class Parameter:
    """The logarithm of one parameter of one stage by day, relative to the reference.

    Attributes
    ----------
    corrected : array
        Freed of disturbances, not smoothed.
    level, error : array
        Smoothed, and its standard error.
    moved : dict
        What each disturbance adds to it, by name.
    noise : float
        Standard deviation of a day about the level.
    """

    corrected: Array
    level: Array
    error: Array
    moved: Mapping[str, Array]
    noise: float


@dataclass(frozen=True)
class StageParameters:
    """Water permeability, salt permeability and friction of one stage; None where nothing can be said."""

    water: Parameter | None
    salt: Parameter | None
    friction: Parameter | None


@dataclass(frozen=True)
class ParameterDays:
    """What was fitted, and what disturbs it, by day and at the reference.

    Attributes
    ----------
    daily : mapping
        `parameter_columns` by day: medians of what is used, means of friction.
    at_reference : mapping
        Medians over the readings of the reference; NaN where there is none.
    reference_days : bool array
        True for the days that have a reading of the reference.
    """

    index: pd.DatetimeIndex
    daily: Mapping[str, Array]
    at_reference: Mapping[str, float]
    reference_days: Flags

    @property
    def first(self) -> pd.Timestamp:
        return self.index[0]

    @property
    def day_numbers(self) -> npt.NDArray[np.int64]:
        return np.asarray((self.index - self.first).days, dtype=np.int64)

    def course(self, name: str) -> Array:
        """Slow course of a disturbance over the days, less that of the reference.

        Smoothed, because what is fitted was worked out from the very same readings: the scatter of a flow meter would
        otherwise be taken for a dependence on flow.
        """
        window = pd.Series(self.daily[name], index=self.index).rolling(COURSE_DAYS, center=True, min_periods=1)
        return np.asarray(window.mean(), dtype=np.float64) - self.at_reference[name]


def parameter_columns(
    fits: Sequence[StageFit], forces: Sequence[ScopeForces], temperature_c: Array | None
) -> dict[str, Array]:
    """Logarithms of what was fitted, `<stage>_log_<what>`, and what disturbs each, `<stage>_log_<what>_by_<name>`.

    Parameters
    ----------
    fits : sequence of StageFit
    forces : sequence of ScopeForces
        The train first. Where a stage's own are not known, those of the train are taken.
    temperature_c : array or None
        [degC]
    """
    columns: dict[str, Array | None] = {}
    if not fits:
        return {}
    for fit, own in zip(fits, forces[1:] or forces[:1], strict=True):
        base = own if own.flux_lmh is not None and own.feed_side_osmotic_bar is not None else forces[0]
        for what, values, courses in (
            ("water", fit.water_permeability_lmh_bar, _water_courses(fit, base, temperature_c)),
            ("salt", fit.salt_permeability_lmh, _salt_courses(base, temperature_c)),
            ("friction", fit.friction_bar, _friction_courses(base, temperature_c)),
        ):
            name = f"{fit.scope}_log_{what}"
            columns[name] = _log(values)
            columns |= {f"{name}_by_{course}": array for course, array in courses.items()}
    return {name: values for name, values in columns.items() if values is not None}


def by_mean(name: str) -> bool:
    """Friction is in the steps of a coarse gauge, to which a median would stick: its days are means, not medians."""
    return name.endswith("_log_friction")


def stage_parameters(
    scope: str,
    days: ParameterDays,
    membrane: Membrane,
    temperature_c: float,
    cuts: Sequence[int],
    floors: Mapping[tuple[str, str], float],
) -> tuple[StageParameters, list[Learned]]:
    """Smooth the parameters of one stage.

    Parameters
    ----------
    scope : str
    days : ParameterDays
    membrane : Membrane
    temperature_c : float
        At the reference. [degC]
    cuts : sequence of int
        Days on which the levels may jump, counted from the first.
    floors : mapping
        (scope, parameter) -> least noise of a day, from the accuracies of the meters. [-]

    Returns
    -------
    StageParameters, list of Learned
    """
    learned: list[Learned] = []
    made = []
    for what, priors in PRIORS.items():
        name = f"{scope}_log_{what}"
        disturbances = [
            Disturbance(course, days.course(f"{name}_by_{course}"), prior)
            for course, prior in priors.items()
            if np.isfinite(days.at_reference.get(f"{name}_by_{course}", np.nan))
        ]
        smoothed = _smoothed(days.daily.get(name), disturbances, days, cuts)
        floor = floors.get((scope, what), 0.0)
        made.append(None if smoothed is None else _relative(smoothed, disturbances, days, floor))
        learned += _learned(scope, what, smoothed, _sheet_slope(what, membrane, temperature_c))
    return StageParameters(*made), learned


Courses = Mapping[str, Array | None]


def _water_courses(fit: StageFit, forces: ScopeForces, temperature_c: Array | None) -> Courses:
    return {"temperature": _inverse(temperature_c), "osmotic": _osmotic_share(fit, forces)}


def _salt_courses(forces: ScopeForces, temperature_c: Array | None) -> Courses:
    return {
        "temperature": _inverse(temperature_c),
        "salinity": _log(forces.streams.feed_tds_mg_l),
        "flux": _log(forces.flux_lmh),
        "flow": _log(forces.streams.drop_flow_m3h),
    }


def _friction_courses(forces: ScopeForces, temperature_c: Array | None) -> Courses:
    thickness = None if temperature_c is None else np.log(np.asarray(viscosity_mpa_s(temperature_c)))
    return {"flow": _log(forces.streams.drop_flow_m3h), "viscosity": thickness}


def _inverse(temperature_c: Array | None) -> Array | None:
    return None if temperature_c is None else np.asarray(-1.0 / kelvin(temperature_c))


def _osmotic_share(fit: StageFit, forces: ScopeForces) -> Array | None:
    """Osmotic pressure over what is left to push water: how much the permeability found would err with it. [-]"""
    osmotic, flux, factor = forces.feed_side_osmotic_bar, forces.flux_lmh, forces.water_temperature_factor
    if osmotic is None or flux is None or factor is None or fit.water_permeability_lmh_bar is None:
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(osmotic * fit.water_permeability_lmh_bar * factor / flux)


def _log(values: Array | None) -> Array | None:
    """Logarithm, NaN where there is none."""
    if values is None:
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        result = np.log(values)
    return np.where(np.isfinite(result), result, np.nan)


def _smoothed(
    daily: Array | None, disturbances: Sequence[Disturbance], days: ParameterDays, cuts: Sequence[int]
) -> Smoothed | None:
    if daily is None or np.count_nonzero(np.isfinite(daily)) < LEAST_DAYS:
        return None
    return smooth(days.day_numbers, daily, disturbances, cuts)


def _relative(
    smoothed: Smoothed, disturbances: Sequence[Disturbance], days: ParameterDays, floor: float
) -> Parameter | None:
    """Relative to the mean level of the reference days; errors grow where the days scatter less than meters can."""
    within = days.reference_days & np.isfinite(smoothed.level)
    if not within.any():
        return None
    base = float(np.mean(smoothed.level[within]))
    wider = max(1.0, floor / smoothed.noise)
    error = np.hypot(smoothed.error, float(np.mean(smoothed.error[within])))
    return Parameter(
        corrected=smoothed.corrected - base,
        level=smoothed.level - base,
        error=wider * error,
        moved={one.name: smoothed.coefficients[one.name] * one.course for one in disturbances},
        noise=wider * smoothed.noise,
    )


def _sheet_slope(parameter: str, membrane: Membrane, temperature_c: float) -> float:
    """Slope with temperature that the plant file gives, at the temperature of the reference; the usual exponent of flow
    where the parameter is friction. [K, -]"""
    if parameter == "friction":
        return FRICTION_EXPONENT
    form = membrane_water_temperature_factor if parameter == "water" else salt_temperature_factor
    here = temperature_c + np.array([-0.5, 0.5])
    rise, way = np.diff(np.log(np.asarray(form(here, membrane)))), np.diff(-1.0 / np.asarray(kelvin(here)))
    return float(rise[0] / way[0])


def _learned(scope: str, parameter: str, smoothed: Smoothed | None, before: float) -> list[Learned]:
    """The slopes of one parameter that the log has narrowed."""
    slopes = {
        "water": ("water temperature slope", "temperature", WATER_SLOPE_PRIOR_K, "K"),
        "salt": ("salt temperature slope", "temperature", SALT_SLOPE_PRIOR_K, "K"),
        "friction": ("flow exponent of pressure drop", "flow", EXPONENT_PRIOR, "-"),
    }
    what, name, prior, unit = slopes[parameter]
    error = prior if smoothed is None else smoothed.coefficient_errors.get(name, prior)
    if smoothed is None or not error < REFINED * prior:
        return []
    return [Learned(scope, what, unit, before, before + smoothed.coefficients[name], error)]
