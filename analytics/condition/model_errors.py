"""What the membrane model's indicators may be off by: the scatter of days, and what the meters cannot tell.

Two things count beside the errors of the smoothed parameters. A change may sit in the first or in the last elements of
a vessel; the model spreads it evenly. And stages that are metered together may have changed apart.
"""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from analytics.condition.fit import StageFit
from analytics.condition.metered_train import FRICTION_EXPONENT
from analytics.condition.reference_run import ReferenceTrain
from analytics.condition.stage_parameters import Parameter, StageParameters

Array = npt.NDArray[np.float64]

CLOSURE_ERROR = 0.004
"""Left of a parameter's logarithm by closures that are not those of the plant, after all that the log can refine: 0.1
to 0.4 % on noise-free logs of simulated plants with other closures (docs, decision 10). [-]"""
UNEVEN_SHARE = 0.10
"""Standard error of a change as a share of it, because its place along the vessel is not known: membranes changed in
one half of their vessel alone are misread by about this (`tests/analytics/condition/test_model_errors.py`). A change of
water permeability disturbs the pressure drop of its stage by as much. [-]"""
SPLIT_SHARE = 0.58
"""How far stages that are metered together may have changed apart, over what it would be if the whole change sat in one
of them: all that lies between that and an even change is as likely (the root of a third). [-]"""


def indicator_errors(
    train: ReferenceTrain,
    parameters: Sequence[StageParameters],
    fits: Sequence[StageFit],
    levels: Mapping[str, Array],
) -> dict[str, Array]:
    """Standard errors of the logarithms of the indicators, by day.

    Parameters
    ----------
    train : ReferenceTrain
    parameters : sequence of StageParameters
    fits : sequence of StageFit
        Of the same stages.
    levels : mapping
        Indicator -> smoothed level. [-]
    """
    sensitivities = train.sensitivities()
    split = _split_slopes(train, sensitivities, fits)
    result = {}
    for name, level in levels.items():
        squares = _of_parameters(sensitivities[name], parameters, fits) + (UNEVEN_SHARE * np.log(level)) ** 2
        if name.endswith("_pressure_drop"):
            number = 0 if name.startswith("train") else int(name.removeprefix("stage").split("_")[0]) - 1
            water = parameters[number].water
            if water is not None:
                squares = squares + (UNEVEN_SHARE**2 + (SPLIT_SHARE * split[number]) ** 2) * water.level**2
        result[name] = np.sqrt(squares)
    return result


def _of_parameters(
    slopes: Mapping[tuple[int, str], float], parameters: Sequence[StageParameters], fits: Sequence[StageFit]
) -> Array | float:
    """Errors of the parameters carried through by their sensitivities; those that are shared are off together."""
    squares: Array | float = 0.0
    together: dict[str, Array | float] = {}
    for (number, what), slope in slopes.items():
        parameter: Parameter | None = getattr(parameters[number], what)
        if parameter is None:
            continue
        if getattr(fits[number], f"{what}_shared"):
            together[what] = together.get(what, 0.0) + slope * np.hypot(parameter.error, CLOSURE_ERROR)
        else:
            squares = squares + slope**2 * (parameter.error**2 + CLOSURE_ERROR**2)
    for value in together.values():
        squares = squares + np.asarray(value) ** 2
    return squares


def _split_slopes(
    train: ReferenceTrain, sensitivities: Mapping[str, Mapping[tuple[int, str], float]], fits: Sequence[StageFit]
) -> list[float]:
    """How far the friction of each stage would be misread, for a shared change of one in the logarithm of water
    permeability, if the whole of it sat in one of the stages that share it; root of the mean over those. [-]

    The permeate of all is metered, so the other stages make up for what one makes less; the flow between them changes,
    and with it the pressure drop that the same friction makes.
    """
    sharing = [number for number, fit in enumerate(fits) if fit.water_shared]
    squares = np.zeros(len(fits))
    if len(sharing) < 2:
        return list(squares)
    whole = sensitivities["train_permeate_flow"]
    total = sum(whole[number, "water"] for number in sharing)
    even = np.array([1.0 if number in sharing else 0.0 for number in range(len(fits))])
    slopes, flows = train.stage_flow_slopes(), train.stage_flows()
    for place in sharing:
        alone = np.zeros(len(fits))
        alone[place] = total / whole[place, "water"]
        moved = flows.permeate * (slopes @ (alone - even))
        before = np.cumsum(moved) - moved
        squares += (FRICTION_EXPONENT * (before + moved / 2) / flows.mean_feed_side) ** 2 / len(sharing)
    return [float(value) for value in np.sqrt(squares)]
