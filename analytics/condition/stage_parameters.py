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


class Gather:
    """Days from readings: medians of what is used, and of the reference."""

    def __init__(self, days: pd.DatetimeIndex, used: Flags, reference: Flags) -> None:
        self.used, self.reference = used, reference
        self._keys = days[used]
        self.index = pd.DatetimeIndex(self._keys.unique()).sort_values()
        self.first = self.index[0]
        self.day_numbers = np.asarray((self.index - self.first).days, dtype=np.int64)

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
        """Median over the readings of the reference; NaN where there is none."""
        picked = values[self.reference]
        picked = picked[np.isfinite(picked)]
        return float(np.median(picked)) if picked.size else float("nan")

    def reference_days(self) -> Flags:
        """True for the days that have a reading of the reference."""
        within = pd.Series(self.reference[self.used]).groupby(self._keys).any().reindex(self.index)
        return within.to_numpy(dtype=bool)


def stage_parameters(
    fit: StageFit,
    forces: ScopeForces,
    temperature_c: Array | None,
    membrane: Membrane,
    gather: Gather,
    cuts: Sequence[int],
    floors: Mapping[tuple[str, str], float],
) -> tuple[StageParameters, list[Learned]]:
    """Smooth the parameters of one stage.

    Parameters
    ----------
    fit : StageFit
    forces : ScopeForces
        Of the stage, or of the train where the stage's are not known.
    temperature_c : array or None
        [degC]
    membrane : Membrane
    gather : Gather
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
    for what, values, courses in (
        ("water", fit.water_permeability_lmh_bar, _water_courses(fit, forces, temperature_c)),
        ("salt", fit.salt_permeability_lmh, _salt_courses(forces, temperature_c)),
        ("friction", fit.friction_bar, _friction_courses(forces, temperature_c)),
    ):
        disturbances = _disturbances(courses, gather)
        smoothed = _smoothed(values, disturbances, gather, cuts, mean=what == "friction")
        floor = floors.get((fit.scope, what), 0.0)
        made.append(None if smoothed is None else _relative(smoothed, disturbances, gather, floor))
        learned += _learned(fit.scope, what, smoothed, _sheet_slope(what, membrane, temperature_c, gather))
    return StageParameters(*made), learned


Courses = Mapping[str, tuple[Array | None, float]]


def _water_courses(fit: StageFit, forces: ScopeForces, temperature_c: Array | None) -> Courses:
    return {
        "temperature": (_inverse(temperature_c), WATER_SLOPE_PRIOR_K),
        "osmotic": (_osmotic_share(fit, forces), OSMOTIC_PRIOR),
    }


def _salt_courses(forces: ScopeForces, temperature_c: Array | None) -> Courses:
    return {
        "temperature": (_inverse(temperature_c), SALT_SLOPE_PRIOR_K),
        "salinity": (_log(forces.streams.feed_tds_mg_l), SALINITY_PRIOR),
        "flux": (_log(forces.flux_lmh), FLUX_PRIOR),
        "flow": (_log(forces.streams.drop_flow_m3h), FLOW_PRIOR),
    }


def _friction_courses(forces: ScopeForces, temperature_c: Array | None) -> Courses:
    thickness = None if temperature_c is None else np.log(np.asarray(viscosity_mpa_s(temperature_c)))
    return {
        "flow": (_log(forces.streams.drop_flow_m3h), EXPONENT_PRIOR),
        "viscosity": (thickness, VISCOSITY_PRIOR),
    }


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


def _disturbances(courses: Courses, gather: Gather) -> list[Disturbance]:
    return [
        Disturbance(name, gather.course(course) - gather.at_reference(course), prior)
        for name, (course, prior) in courses.items()
        if course is not None and np.isfinite(gather.at_reference(course))
    ]


def _smoothed(
    values: Array | None, disturbances: Sequence[Disturbance], gather: Gather, cuts: Sequence[int], *, mean: bool
) -> Smoothed | None:
    logarithm = _log(values)
    if logarithm is None:
        return None
    daily = gather.by_day(logarithm, mean=mean)
    if np.count_nonzero(np.isfinite(daily)) < LEAST_DAYS:
        return None
    return smooth(gather.day_numbers, daily, disturbances, cuts)


def _relative(
    smoothed: Smoothed, disturbances: Sequence[Disturbance], gather: Gather, floor: float
) -> Parameter | None:
    """Relative to the mean level of the reference days; errors grow where the days scatter less than meters can."""
    within = gather.reference_days() & np.isfinite(smoothed.level)
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


def _sheet_slope(parameter: str, membrane: Membrane, temperature_c: Array | None, gather: Gather) -> float:
    """Slope with temperature that the plant file gives, at the temperature of the reference; the usual exponent of flow
    where the parameter is friction. [K, -]"""
    if parameter == "friction" or temperature_c is None:
        return FRICTION_EXPONENT
    form = membrane_water_temperature_factor if parameter == "water" else salt_temperature_factor
    here = gather.at_reference(temperature_c) + np.array([-0.5, 0.5])
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
