"""How the train is run: the permeate that is wanted, the recovery, and what operators change."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from demo_data.simulator.meters import Meter
from demo_data.simulator.seasons import Season
from demo_data.simulator.water import FloatArray


@dataclass(frozen=True)
class SetPoint:
    """From this day on: permeate flow [m3/h] and recovery [-]; None leaves it as it was."""

    day: float
    permeate_flow_m3h: float | None = None
    recovery: float | None = None


@dataclass(frozen=True)
class Operation:
    """Set-points and how well they are held.

    changes : what somebody decided, in order of the days.
    flow_wander, recovery_wander : standard deviation of slow changes of the set-points, as a share of the flow and
        in points of recovery as a fraction; they are true changes of the plant, not noise of a meter. [-]
    """

    permeate_flow_m3h: float
    recovery: float
    permeate_pressure_bar: float = 0.4
    changes: tuple[SetPoint, ...] = ()
    flow_wander: float = 0.015
    recovery_wander: float = 0.006
    permeate_pressure_wander_bar: float = 0.0
    memory_days: float = 12.0


@dataclass(frozen=True)
class Wanted:
    """What the train is asked for at each reading: true flows [m3/h] and the pressure in the permeate header [bar]."""

    feed_flow_m3h: FloatArray
    permeate_flow_m3h: FloatArray
    permeate_pressure_bar: FloatArray


def wanted(
    operation: Operation, start: date, days: FloatArray, meters: dict[str, Meter], rng: np.random.Generator
) -> Wanted:
    """True flows and back pressure that result when operators hold what their flow meters show.

    A permeate meter that reads low is answered with more pressure, so that it is the true flow that rises. The
    concentrate valve is set by the concentrate meter; the feed is what both make together.
    """
    permeate = np.full(len(days), operation.permeate_flow_m3h)
    recovery = np.full(len(days), operation.recovery)
    for change in operation.changes:
        later = days >= change.day
        if change.permeate_flow_m3h is not None:
            permeate[later] = change.permeate_flow_m3h
        if change.recovery is not None:
            recovery[later] = change.recovery
    slow = Season(0.0, wander=1.0, memory_days=operation.memory_days)
    permeate *= 1 + operation.flow_wander * slow.values(start, days, rng)
    recovery += operation.recovery_wander * slow.values(start, days, rng)
    concentrate = permeate * (1 - recovery) / recovery
    true_permeate = permeate / _gain(meters, "permeate_flow_m3h", days)
    true_concentrate = concentrate / _gain(meters, "concentrate_flow_m3h", days)
    back_pressure = slow.values(start, days, rng) * operation.permeate_pressure_wander_bar
    return Wanted(true_permeate + true_concentrate, true_permeate, operation.permeate_pressure_bar + back_pressure)


def _gain(meters: dict[str, Meter], column: str, days: FloatArray) -> FloatArray:
    return meters[column].gain(days) if column in meters else np.ones(len(days))
