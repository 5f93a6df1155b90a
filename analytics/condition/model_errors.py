"""What the membrane model's indicators may be off by: the scatter of days, and what the meters cannot tell.

Two things count beside the errors of the smoothed parameters. A change may sit in the first or in the last elements of
a vessel; the model spreads it evenly. And stages that are metered together may have changed apart.
"""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from analytics.condition.fit import StageFit
from analytics.condition.reference_run import ReferenceTrain
from analytics.condition.split import SharedOut
from analytics.condition.stage_parameters import Parameter, StageParameters

Array = npt.NDArray[np.float64]

CLOSURE_ERROR = 0.004
"""Left of a parameter's logarithm by closures that are not those of the plant, after all that the log can refine: 0.1
to 0.4 % on noise-free logs of simulated plants with other closures (docs, decision 10). [-]"""
UNEVEN_SHARE = 0.10
METERED_SHARE = 0.05
"""Standard error of a change as a share of it, because its place along the vessel is not known: membranes changed in
one half of their vessel alone are misread by about this (`tests/analytics/condition/test_model_errors.py`). A change of
water permeability disturbs the pressure drop of its stage by as much. What is made is metered, and goes with the place
half as much, where the pressure between the stages is known; a channel whose own drop is metered is read alike wherever
in it friction has changed. [-]"""
PERMEATE_PRESSURE_DRIFT_BAR = 0.05
"""By which a permeate pressure that is not metered may have changed since the reference, by the level of a tank or
whatever else stands behind it. Common practice, no source. [bar]"""


def indicator_errors(
    train: ReferenceTrain,
    shared: SharedOut,
    fits: Sequence[StageFit],
    levels: Mapping[str, Array],
    unmetered: Mapping[tuple[int, str], float] | None = None,
) -> dict[str, Array]:
    """Standard errors of the logarithms of the indicators, by day.

    Parameters
    ----------
    train : ReferenceTrain
    shared : SharedOut
        Parameters of all stages, and what the split between those that share may move.
    fits : sequence of StageFit
        Of the same stages.
    levels : mapping
        Indicator -> smoothed level. [-]
    unmetered : mapping, optional
        By stage and parameter: how far its logarithm moves with what is not metered, all of them together. [-]
    """
    sensitivities, parameters = train.sensitivities(), shared.parameters
    result = {}
    for name, level in levels.items():
        slopes = sensitivities[name]
        squares = _of_parameters(slopes, parameters, fits) + _of_split(slopes, shared)
        squares = squares + (_place_share(name, fits) * np.log(level)) ** 2
        squares = squares + sum(slopes[place] * move for place, move in (unmetered or {}).items()) ** 2
        if name.endswith("_pressure_drop"):
            squares = squares + _of_water(slopes, parameters)
        result[name] = np.sqrt(squares)
    return result


def _place_share(name: str, fits: Sequence[StageFit]) -> float:
    """Error of an indicator as a share of its change."""
    if any(fit.friction_shared for fit in fits) or name.endswith("_salt_passage"):
        return UNEVEN_SHARE
    return 0.0 if name.endswith("_pressure_drop") else METERED_SHARE


def _of_water(slopes: Mapping[tuple[int, str], float], parameters: Sequence[StageParameters]) -> Array | float:
    """Variance of a pressure drop for the flow in its channels, which goes with the place of a change of water
    permeability."""
    squares: Array | float = 0.0
    for (number, what), slope in slopes.items():
        water = parameters[number].water
        if what == "friction" and water is not None:
            squares = squares + (slope * UNEVEN_SHARE * water.level) ** 2
    return squares


def _of_split(slopes: Mapping[tuple[int, str], float], shared: SharedOut) -> Array | float:
    """Variance of an indicator for not knowing the split: what moves its parameters together, so that the whole train,
    whose permeate is metered, hardly feels it."""
    if shared.split is None:
        return 0.0
    way = np.sum([slopes[place] * way for place, way in shared.ways.items() if place in slopes], axis=0)
    return np.asarray(np.einsum("di,dij,dj->d", way, shared.split.covariance, way))


def _of_parameters(
    slopes: Mapping[tuple[int, str], float], parameters: Sequence[StageParameters], fits: Sequence[StageFit]
) -> Array | float:
    """Errors of the parameters carried through by their sensitivities; those that are shared are off together."""
    squares: Array | float = 0.0
    together: dict[str, Array | float] = {}
    for (number, what), slope in slopes.items():
        parameter: Parameter | None = getattr(parameters[number], what)
        if parameter is None or slope == 0.0:  # what moves nothing may be unknown
            continue
        if getattr(fits[number], f"{what}_shared"):
            together[what] = together.get(what, 0.0) + slope * np.hypot(parameter.error, CLOSURE_ERROR)
        else:
            squares = squares + slope**2 * (parameter.error**2 + CLOSURE_ERROR**2)
    for value in together.values():
        squares = squares + np.asarray(value) ** 2
    return squares
