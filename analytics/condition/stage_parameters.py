"""The three parameters of every stage by day: gathered, freed of what is not the membrane's, and smoothed.

What is not the membrane's are *disturbances* (`disturbances`); what the log has refined of them is told.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from analytics.condition.closure_courses import FRICTION_EXPONENT, OSMOTIC, PERMEATE_PRESSURE
from analytics.condition.disturbances import (
    EXPONENT_PRIOR,
    OSMOTIC_PRIOR,
    SALT_SLOPE_PRIOR_K,
    WATER_SLOPE_PRIOR_K,
    Beliefs,
    disturbances_of,
    makes_water,
)
from analytics.condition.fit import StageFit
from analytics.condition.gauge_offset import Offset, find_offset
from analytics.condition.metered_train import FRICTION_EXPONENT as USUAL_EXPONENT
from analytics.condition.parameter_days import GAUGE, TEMPERATURE, ParameterDays, course_name, parameter_name
from analytics.condition.smoother import Disturbance, Smoothed, smooth
from analytics.physics.temperature import membrane_water_temperature_factor, salt_temperature_factor
from analytics.plant import Membrane
from analytics.units import kelvin

Array = npt.NDArray[np.float64]

LEAST_DAYS = 20
"""Days with readings before the model is asked; common practice, no source."""
REFINED = 0.7
REFINED_OSMOTIC = 0.5
"""A slope counts as refined when its error has fallen below this share of the prior; the osmotic pressure when more has
been learned of it than stages that are alike tell from the first day. [-]"""
MOST_KEPT = 0.2
"""Of a day's error in the level, at the most, where the meters are less sure than the days look: what levels of usual
stiffness keep. Quiet days make a level supple, and it would carry the whole. Common practice, no source. [-]"""
LEAST_SPAN: Mapping[str, float] = {TEMPERATURE: 3.5e-5, FRICTION_EXPONENT: 0.04}
"""How far a course must go for its slope to be told: 3 degC as 1/K, and 4 % of flow; common practice, no source."""
PARAMETERS = ("water", "salt", "friction")
GAUGE_ERROR = "gauge error in the pressure drop"


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
class TrainParameters:
    """All stages, what was learned on the way, what is held of the closures in the end, and how far that moves the
    logarithms of the parameters of each stage at the reference."""

    stages: tuple[StageParameters, ...]
    learned: tuple[Learned, ...]
    beliefs: Beliefs
    moved: tuple[Mapping[str, float], ...]


@dataclass(frozen=True)
class Source:
    """What the parameters of one stage are worked out from, beside the days.

    `cuts` are days on which its levels may jump, counted from the first; `floors` the least noise of a day by
    parameter, from the accuracies of the meters; `offset_bar` how far the pressure drop may be off on all days alike
    (standard deviation). [d, -, bar]
    """

    fit: StageFit
    membrane: Membrane
    cuts: Sequence[int]
    floors: Mapping[str, float]
    offset_bar: float = 0.0


def train_parameters(
    sources: Sequence[Source], days: ParameterDays, temperature_c: float, *, osmotic_start: float = 1.0
) -> TrainParameters:
    """Smooth the parameters of all stages: water first, which teaches most of the closures, then salt, then friction.

    Parameters
    ----------
    sources : sequence of Source
        By stage.
    days : ParameterDays
    temperature_c : float
        At the reference. [degC]
    osmotic_start : float
        Osmotic pressure over that of the law by which the days were fitted. [-]

    Notes
    -----
    Stages that share a multiplier have the same parameter, and it teaches once.
    """
    metered = course_name(0, "water", PERMEATE_PRESSURE) not in days.daily
    beliefs = _stages_alike(Beliefs.beforehand(permeate_pressure_known=metered), sources, days)
    learned: list[Learned] = []
    made: dict[str, list[Parameter | None]] = {what: [] for what in PARAMETERS}
    for what in PARAMETERS:
        for number, source in enumerate(sources):
            first = _first_sharing(sources, what)
            if first is not None and number > first and getattr(source.fit, f"{what}_shared"):
                made[what].append(made[what][first])
                continue
            disturbances = disturbances_of(what, number, days, beliefs)
            column, floor = parameter_name(number, what), source.floors.get(what, 0.0)
            smoothed = _smoothed(column, disturbances, days, source.cuts, beliefs)
            offset = _offset(number, smoothed, disturbances, days, source, beliefs) if what == "friction" else None
            if offset is not None:
                smoothed = _smoothed(column, disturbances, days, source.cuts, beliefs, offset)
            relative = None if smoothed is None else _relative(smoothed, disturbances, days, floor, beliefs)
            made[what].append(relative if relative is None or offset is None else _with_offset(relative, offset))
            scope = "train" if number == first else source.fit.scope
            before = _sheet_slope(what, source.membrane, temperature_c)
            learned += _learned(scope, what, smoothed if offset is None else offset.beside, disturbances, before)
            learned += _learned_offset(scope, offset, source.offset_bar)
            if smoothed is not None and makes_water(number, days):
                beliefs = beliefs.after(what, smoothed)
    stages = tuple(StageParameters(*found) for found in zip(*(made[what] for what in PARAMETERS), strict=True))
    moved = tuple(
        {what: beliefs.moves(what, teller(sources, number, what), days) for what in PARAMETERS}
        for number in range(len(sources))
    )
    return TrainParameters(stages, (*learned, *_learned_osmotic(beliefs, osmotic_start)), beliefs, moved)


def teller(sources: Sequence[Source], stage: int, what: str) -> int:
    """The stage under which a parameter of a stage stands: the first of those that share it."""
    first = _first_sharing(sources, what)
    return first if first is not None and getattr(sources[stage].fit, f"{what}_shared") else stage


def _first_sharing(sources: Sequence[Source], what: str) -> int | None:
    """The first of the stages that share a multiplier."""
    sharing = [number for number, source in enumerate(sources) if getattr(source.fit, f"{what}_shared")]
    return sharing[0] if len(sharing) > 1 else None


def _stages_alike(beliefs: Beliefs, sources: Sequence[Source], days: ParameterDays) -> Beliefs:
    """What neighbouring stages of one membrane teach, where the water permeability of each is found by itself."""
    for number, (one, other) in enumerate(pairwise(sources)):
        if one.membrane != other.membrane or one.fit.water_shared or other.fit.water_shared:
            continue
        first, second = (days.at_reference.get(parameter_name(n, "water"), np.nan) for n in (number, number + 1))
        slopes = {name: _slopes_of_two(days, number, name) for name in (OSMOTIC, PERMEATE_PRESSURE)}
        beliefs = beliefs.alike(first, second, slopes)
    return beliefs


def _slopes_of_two(days: ParameterDays, stage: int, closure: str) -> tuple[float, float]:
    """How the water permeabilities of a stage and of the next go with a closure at the reference."""
    names = (course_name(n, "water", closure) for n in (stage, stage + 1))
    first, second = (days.at_reference.get(name, np.nan) for name in names)
    return first, second


def _smoothed(
    column: str,
    disturbances: Sequence[Disturbance],
    days: ParameterDays,
    cuts: Sequence[int],
    beliefs: Beliefs,
    offset: Offset | None = None,
) -> Smoothed | None:
    """Smoothed after what is believed of the closures already, and the offset, have been taken out."""
    if column not in days.daily:
        return None
    daily = beliefs.taken_out(days.daily[column], disturbances)
    if offset is not None:
        daily = daily - offset.bar * offset.course
    if np.count_nonzero(np.isfinite(daily)) < LEAST_DAYS:
        return None
    return smooth(days.day_numbers, daily, disturbances, cuts)


def _offset(
    number: int,
    smoothed: Smoothed | None,
    disturbances: Sequence[Disturbance],
    days: ParameterDays,
    source: Source,
    beliefs: Beliefs,
) -> Offset | None:
    """The offset of the pressure drop that friction was found from."""
    if smoothed is None:
        return None
    daily = days.daily[parameter_name(number, "friction")]
    found = daily - (smoothed.corrected - smoothed.level)
    values = beliefs.taken_out(daily, disturbances)
    return find_offset(days, number, found, values, disturbances, source.cuts, source.offset_bar)


def _with_offset(friction: Parameter, offset: Offset) -> Parameter:
    """What is not known of the offset is part of the error, also where it goes with friction alone."""
    error = np.hypot(friction.error, offset.error_bar * offset.course)
    return replace(friction, error=error, moved=dict(friction.moved) | {GAUGE: offset.bar * offset.course})


def _relative(
    smoothed: Smoothed, disturbances: Sequence[Disturbance], days: ParameterDays, floor: float, beliefs: Beliefs
) -> Parameter | None:
    """Relative to the mean level of the reference days; where the days scatter less than meters can, what comes of
    their scatter grows, and not what is not known of the coefficients."""
    within = days.reference_days & np.isfinite(smoothed.level)
    if not within.any():
        return None
    base = float(np.mean(smoothed.level[within]))
    wider = max(1.0, floor / smoothed.noise)
    kept = np.minimum(smoothed.scatter, MOST_KEPT * smoothed.noise)
    square = smoothed.error**2 + (wider**2 - 1) * kept**2
    error = np.sqrt(square + float(np.mean(np.sqrt(square[within]))) ** 2)
    return Parameter(
        corrected=smoothed.corrected - base,
        level=smoothed.level - base,
        error=error,
        moved={d.name: (beliefs.mean(d.name) + smoothed.coefficients[d.name]) * d.course for d in disturbances},
        noise=wider * smoothed.noise,
    )


def _sheet_slope(parameter: str, membrane: Membrane, temperature_c: float) -> float:
    """Slope with temperature that the plant file gives, at the temperature of the reference; the usual exponent of flow
    where the parameter is friction. [K, -]"""
    if parameter == "friction":
        return USUAL_EXPONENT
    form = membrane_water_temperature_factor if parameter == "water" else salt_temperature_factor
    here = temperature_c + np.array([-0.5, 0.5])
    rise, way = np.diff(np.log(np.asarray(form(here, membrane)))), np.diff(-1.0 / np.asarray(kelvin(here)))
    return float(rise[0] / way[0])


def _learned(
    scope: str, parameter: str, smoothed: Smoothed | None, disturbances: Sequence[Disturbance], before: float
) -> list[Learned]:
    """The slopes of one parameter that the log has narrowed, where it went far enough to tell."""
    slopes = {
        "water": ("water temperature slope", TEMPERATURE, WATER_SLOPE_PRIOR_K, "K"),
        "salt": ("salt temperature slope", TEMPERATURE, SALT_SLOPE_PRIOR_K, "K"),
        "friction": ("flow exponent of pressure drop", FRICTION_EXPONENT, EXPONENT_PRIOR, "-"),
    }
    what, name, prior, unit = slopes[parameter]
    error = prior if smoothed is None else smoothed.coefficient_errors.get(name, prior)
    spans = [float(np.nanmax(d.course) - np.nanmin(d.course)) for d in disturbances if d.name == name]
    if smoothed is None or not error < REFINED * prior or max(spans, default=0.0) < LEAST_SPAN[name]:
        return []
    return [Learned(scope, what, unit, before, before + smoothed.coefficients[name], error)]


def _learned_offset(scope: str, offset: Offset | None, prior_bar: float) -> list[Learned]:
    """Told where flow has varied enough to tell it from none."""
    if offset is None or not offset.error_bar < min(REFINED * prior_bar, abs(offset.bar)):
        return []
    return [Learned(scope, GAUGE_ERROR, "bar", 0.0, offset.bar, offset.error_bar)]


def _learned_osmotic(beliefs: Beliefs, start: float) -> list[Learned]:
    held = beliefs.held[OSMOTIC]
    if not held.deviation < REFINED_OSMOTIC * OSMOTIC_PRIOR:
        return []
    factor = start * float(np.exp(held.mean))
    return [
        Learned("train", "osmotic pressure over that of the law chosen", "-", start, factor, factor * held.deviation)
    ]
