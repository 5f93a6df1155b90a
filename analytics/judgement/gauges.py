"""What a pressure gauge that has drifted looks like: it moves the pressure drops beside it, and the permeability.

No balance holds a pressure, so a gauge is told from fouling by the pattern alone: how far friction moves for how little
permeability follows from the pressures of the plant, and the other side of the gauge moves against it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.condition.day_table import RAW
from analytics.condition.normalized import NormalizedLog
from analytics.judgement.meters import RECENT_DAYS
from analytics.judgement.signatures import METER_COURSES, Effect, Signature

LOOKS = (0.2, 0.7)
"""Sizes of the largest effect at which a gauge's pattern is worked out, because it bends with size. [-]"""
SPREAD = 0.15
PRIOR = 0.02
"""A gauge that drifts without breaking a balance is met less often than fouling; common practice, no source. [-]"""
SOURCE = "follows from the pressures of the reference: pressure drop and net driving pressure with a gauge off"


@dataclass(frozen=True)
class Gauge:
    """A pressure gauge that reads high or low, as a signature.

    `bar_per_change` is what it is off over the share by which it changes the pressure drop most, `recent_bar` what it
    has read lately.
    """

    quantity: str
    signature: Signature
    bar_per_change: float
    recent_bar: float


@dataclass(frozen=True)
class _Stage:
    drop_bar: float
    driving_bar: float


def pressure_gauges(log: NormalizedLog, days: pd.DataFrame) -> tuple[Gauge, ...]:
    """The gauges of a log whose drift would look like something else.

    Parameters
    ----------
    log : NormalizedLog
    days : DataFrame
        Of `day_table`.
    """
    if log.reference is None or not log.conditions:
        return ()
    scopes = log.conditions[1:] or log.conditions[:1]
    stages = [_Stage(scope["pressure_drop_bar"], scope["net_driving_pressure_bar"]) for scope in scopes]
    train = _Stage(log.conditions[0]["pressure_drop_bar"], log.conditions[0]["net_driving_pressure_bar"])
    stages = [
        _Stage(
            one.drop_bar if np.isfinite(one.drop_bar) else train.drop_bar / len(stages),
            one.driving_bar if np.isfinite(one.driving_bar) else train.driving_bar,
        )
        for one in stages
    ]
    names = ["feed_pressure", *(f"stage{n}_concentrate_pressure" for n in range(1, len(stages)))]
    found = []
    for place, name in enumerate([*names, "concentrate_pressure"]):
        usual = _recent(days, f"{RAW}{name}_bar")
        if usual > 0:
            ways = [(sign, look) for sign in (1, -1) for look in LOOKS]
            found += [_gauge(name, place, stages, usual, sign=sign, look=look) for sign, look in ways]
    return tuple(gauge for gauge in found if gauge is not None)


def _recent(days: pd.DataFrame, column: str) -> float:
    """What a gauge has read lately; zero where it is not there. [bar]"""
    if column not in days.columns or not len(days):
        return 0.0
    known = days[column][days.index > days.index[-1] - pd.Timedelta(days=RECENT_DAYS)].dropna()
    return float(known.median()) if len(known) else 0.0


def _gauge(name: str, place: int, stages: Sequence[_Stage], usual: float, *, sign: int, look: float) -> Gauge | None:
    """The gauge before stage `place` + 1: it ends the stage before and begins the one after."""
    drops = [one.drop_bar for one in stages[max(place - 1, 0) : place + 1]]
    if not drops or not np.isfinite(drops).all() or min(drops) <= 0:
        return None
    off = sign * float(np.expm1(look)) * min(drops)
    effects = [_effect(number, place, one, off) for number, one in enumerate(stages)]
    largest = max(abs(effect.friction) for effect in effects)
    scaled = [Effect(e.water / largest, 0.0, e.friction / largest) for e in effects]
    signature = Signature(
        "meter",
        scaled[0],
        scaled[-1],
        METER_COURSES,
        PRIOR / len(LOOKS),
        f"compare the gauge of {name.replace('_', ' ')} with another one at the same place, at rest and running",
        10,
        "calibrate or replace the gauge, then look at the membranes again",
        SOURCE,
        spread=SPREAD,
    )
    return Gauge(name, signature, off / float(np.expm1(largest)), usual)


def _effect(number: int, place: int, stage: _Stage, off: float) -> Effect:
    """What a gauge that is off by some bar makes of friction and water permeability of one stage."""
    if number == place:
        moved = off
    elif number == place - 1:
        moved = -off
    else:
        return Effect(0.0, 0.0, 0.0)
    least = 0.05 * stage.drop_bar
    water = -np.log1p(off / 2 / stage.driving_bar) if stage.driving_bar > abs(off) else 0.0
    return Effect(float(water), 0.0, float(np.log(max(stage.drop_bar + moved, least) / stage.drop_bar)))
