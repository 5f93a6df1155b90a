"""A constant error of a pressure drop: the two gauges around a stage are off against each other.

Each may be right within its accuracy, and the difference of the two still be off by a good part of a small drop. In a
ratio to the reference that cancels while the drop stays what it was; once flow, viscosity or friction have changed it
does not. Flow that varies tells it: the drop of a channel goes with a power of flow, and an offset does not.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analytics.condition.parameter_days import GAUGE, ParameterDays, course_name
from analytics.condition.smoother import STIFFNESSES, Disturbance, Smoothed, smooth

Array = npt.NDArray[np.float64]

OF_ACCURACY = float(np.sqrt(1.0 / 3.0))
"""Standard deviation of the offset over the accuracy of a gauge. The drop is taken to be as exact as one gauge, for the
two are of one kind and set against each other (judgement, no source), and its error to lie anywhere within that with
the same chance (JCGM 100:2008, 4.3.7). [-]"""
MOST_OF_DROP = 0.7
"""Of the smallest drop of the log, which an offset cannot have made alone: water flows. Judgement, no source. [-]"""
ROUNDS = 3
"""In which the offset settles: its course bends with it. [-]"""
NO_OFFSET_BAR = 1e-6
SUPPLE = STIFFNESSES[-1:]
"""Of the level beside which the offset is learned: one that may bend as it likes. A stiffer one would lay upon the
offset what friction that grows ever faster has bent, and 1 / d goes with friction as much as with flow. [1/d^1.5]"""


@dataclass(frozen=True)
class Offset:
    """What the drop shows too much, and what a bar of it adds to the logarithm of friction by day.

    `beside` is what was learned with it: offset and exponent of flow explain much the same, and each is as sure as both
    together leave it. [bar, bar, 1/bar]
    """

    bar: float
    error_bar: float
    course: Array
    beside: Smoothed


def find_offset(
    days: ParameterDays,
    stage: int,
    found: Array,
    values: Array,
    disturbances: Sequence[Disturbance],
    cuts: Sequence[int],
    deviation_bar: float,
) -> Offset | None:
    """Learn the offset of a stage's pressure drop.

    Parameters
    ----------
    days : ParameterDays
    stage : int
        Counted from zero.
    found : array
        Logarithm of the friction found by day, freed of scatter. [-]
    values : array
        The same by day as it is, less what is believed of the disturbances. [-]
    disturbances : sequence of Disturbance
        Of friction.
    cuts : sequence of int
        Days on which it may jump. [d]
    deviation_bar : float
        How far the offset may lie from zero (standard deviation). [bar]

    Returns
    -------
    Offset or None
        None where the drop is not known.

    Notes
    -----
    With d the drop shown and o the offset, ln d - ln(d - o) is what the offset adds; its course is that over o, 1 / d
    where o is small.
    """
    column = course_name(stage, "friction", GAUGE)
    if column not in days.daily or deviation_bar <= 0:
        return None
    drop = np.exp(found) / days.smoothed(column)
    if not np.isfinite(drop[days.reference_days]).any():
        return None
    bar = 0.0
    for _ in range(ROUNDS):
        by_gauge = Disturbance(GAUGE, _course(drop, bar, days), deviation_bar)
        beside = smooth(days.day_numbers, values, [*disturbances, by_gauge], cuts, SUPPLE)
        bar = beside.coefficients[GAUGE]
    return Offset(bar, beside.coefficient_errors[GAUGE], _course(drop, bar, days), beside)


def _course(drop: Array, bar: float, days: ParameterDays) -> Array:
    """Zero at the reference."""
    offset = min(bar, MOST_OF_DROP * float(np.nanmin(drop)))
    course = 1.0 / drop if abs(offset) < NO_OFFSET_BAR else -np.log1p(-offset / drop) / offset
    return np.asarray(course - np.nanmean(course[days.reference_days]))
