r"""Which stage has changed, where the permeate of several is metered only together.

The fit gives such stages one multiplier of water permeability. Had one of them changed more than another, the flow
between them would be another one, and so would every friction found. A change of the membranes mostly comes with its
cause in the channel: of all ways to share out the change, that one is likeliest in which permeability falls where
friction rises, and in which friction has moved least. It is only likelier, and the errors say so.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from analytics.condition.closure_courses import split_name
from analytics.condition.fit import StageFit
from analytics.condition.parameter_days import ParameterDays, course_name
from analytics.condition.stage_parameters import PARAMETERS, Parameter, StageParameters

Array = npt.NDArray[np.float64]

FALL_PER_FRICTION = 0.4
"""Fall of the logarithm of water permeability with a rise of one in that of friction: 0.4 to 1.6 in published stories
of fouling, none where crystals or compaction close the membrane alone. Common practice, no source. [-]"""
APART = 0.5
COMMON = 0.5
FRICTION = 0.5
CLEARED = 3.0
"""Spreads about that, as shares of all that has changed: of a stage by itself, of all stages alike, and of friction.
Channels of a reference with clean membranes clog and hardly clear: a fall of friction has a spread so many times less.
[-]"""
MOST_CLEARED = 0.15
"""A larger fall of friction is no channel that clears but a pressure gauge that is off, and must not be laid upon the
other stages; common practice, no source. [-]"""
ROUNDS = 4
"""Rounds in which it settles of which stages friction falls. [-]"""
LEAST_CHANGE = 0.005
"""Change that is never excluded. [-]"""


@dataclass(frozen=True)
class Split:
    """By sharing stage after the first: logarithm of its water permeability over the first's, and covariance, by day.

    Arrays of shape (days, stages less one) and (days, stages less one, stages less one).
    """

    sharing: tuple[int, ...]
    logarithms: Array
    covariance: Array


def sharing_stages(fits: Sequence[StageFit]) -> tuple[int, ...]:
    return tuple(number for number, fit in enumerate(fits) if fit.water_shared)


@dataclass(frozen=True)
class SharedOut:
    """The parameters of all stages with the change shared out, and how far each would move with another split.

    `ways` are by stage and parameter, of shape (days, sharing stages less one): the move of its logarithm with that of
    each logarithm of the split. Empty, and without a split, where no stages share. The errors of the parameters are
    without that of the split: it moves all of them together.
    """

    parameters: tuple[StageParameters, ...]
    split: Split | None
    ways: Mapping[tuple[int, str], Array]


def with_split(parameters: Sequence[StageParameters], fits: Sequence[StageFit], days: ParameterDays) -> SharedOut:
    """Share out the change of stages that are metered together.

    Parameters
    ----------
    parameters : sequence of StageParameters
        With one water parameter for all that share it.
    fits : sequence of StageFit
    days : ParameterDays
        With the slopes of `split_name`.
    """
    sharing = sharing_stages(fits)
    if len(sharing) < 2 or parameters[sharing[0]].water is None:
        return SharedOut(tuple(parameters), None, {})
    split = likeliest_split(parameters, fits, days, sharing)
    ways: dict[tuple[int, str], Array] = {}
    for number in sharing:
        own = np.array([float(number == other) for other in sharing[1:]])
        ways |= {(number, what): -_slopes(days, what, number, sharing) for what in PARAMETERS}
        ways[number, "water"] = own + ways[number, "water"]
    shared = tuple(
        StageParameters(*(_shifted(getattr(stage, what), ways.get((number, what)), split) for what in PARAMETERS))
        for number, stage in enumerate(parameters)
    )
    return SharedOut(shared, split, ways)


def likeliest_split(
    parameters: Sequence[StageParameters],
    fits: Sequence[StageFit],
    days: ParameterDays,
    sharing: tuple[int, ...],
) -> Split:
    r"""The likeliest way to share out the change.

    Notes
    -----
    With a and k the changes of the logarithms of water permeability and friction of each stage, g one of all alike and
    c = `FALL_PER_FRICTION`, the split makes least

    .. math:: \sum (a + c k - g)^2 / \sigma_a^2 + g^2 / \sigma_g^2 + \sum k^2 / \sigma_k^2

    where all three spreads are shares of what has changed at all, and that of k is less below zero.
    """
    water = parameters[sharing[0]].water
    assert water is not None
    count, unknown = len(water.level), len(sharing)
    rows: list[Array] = []
    values: list[Array] = []
    size = np.square(water.level)
    for number in sharing:
        friction, metered = parameters[number].friction, not fits[number].friction_shared
        known = friction is not None and metered
        level = friction.level if friction is not None and metered else np.zeros(count)
        drop = -_slopes(days, "friction", number, sharing) if known else np.zeros((count, unknown - 1))
        own = np.array([float(number == other) for other in sharing[1:]])
        lift = own - _slopes(days, "water", number, sharing)
        rows.append(np.column_stack([lift + FALL_PER_FRICTION * drop, -np.ones(count)]) / APART)
        values.append((water.level + FALL_PER_FRICTION * level) / APART)
        rows.append(np.column_stack([drop, np.zeros(count)]) / FRICTION)
        values.append(level / FRICTION)
        size = size + np.square(FALL_PER_FRICTION * level)
    rows.append(np.column_stack([np.zeros((count, unknown - 1)), np.ones(count)]) / COMMON)
    values.append(np.zeros(count))
    design, target = np.nan_to_num(np.stack(rows, axis=1)), np.nan_to_num(np.stack(values, axis=1))
    found, inverse = _least(design, target, frictions=np.arange(target.shape[1]) % 2 == 1)
    scale = np.nan_to_num(size) + LEAST_CHANGE**2
    return Split(sharing, found[:, :-1], inverse[:, :-1, :-1] * scale[:, None, None])


def _least(design: Array, target: Array, *, frictions: npt.NDArray[np.bool_]) -> tuple[Array, Array]:
    """Least squares of `design` x + `target` by day, with more weight on frictions while they are a little below zero;
    and the inverse of the normal matrix without that."""
    weights = np.ones(target.shape)
    can_clear = frictions & np.ones(target.shape, dtype=bool)
    inverses = []
    for _ in range(ROUNDS):
        weighted = design * weights[:, :, None]
        normal = np.einsum("dri,drj->dij", weighted, design) + 1e-9 * np.eye(design.shape[2])
        inverses.append(np.linalg.inv(normal))
        found = -np.einsum("dij,drj,dr->di", inverses[-1], weighted, target)
        left = np.einsum("dri,di->dr", design, found) + target
        if len(inverses) == 1:
            can_clear &= left > -MOST_CLEARED / FRICTION
        weights = np.where(can_clear & (left < 0), CLEARED**2, 1.0)
    return found, inverses[0]


def _slopes(days: ParameterDays, what: str, stage: int, sharing: tuple[int, ...]) -> Array:
    """How a parameter goes with each split, of shape (days, sharing stages less one); zero where nothing is known."""
    none = np.zeros(len(days.index))
    columns = []
    for split in map(split_name, sharing[1:]):
        # What the stages share stands under the first of them.
        names = [course_name(number, what, split) for number in (stage, sharing[0])]
        known = next((name for name in names if name in days.daily), None)
        columns.append(none if known is None else np.nan_to_num(days.smoothed(known)))
    return np.column_stack(columns)


def _shifted(parameter: Parameter | None, way: Array | None, split: Split) -> Parameter | None:
    """Moved by the split; `way` is by day and stage, how far each of the logarithms moves it."""
    if parameter is None or way is None:
        return parameter
    shift = np.sum(way * split.logarithms, axis=1)
    return replace(parameter, corrected=parameter.corrected + shift, level=parameter.level + shift)
