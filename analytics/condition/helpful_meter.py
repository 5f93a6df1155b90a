"""Which one meter more would let most be judged: tried out, meter by meter, on the balances of the train."""

from collections.abc import Collection
from dataclasses import dataclass

import pandas as pd

from analytics.condition.balance import complete_streams
from analytics.condition.streams import Balance, Streams
from analytics.plant import Plant
from analytics.quantities import COLUMNS

Judged = tuple[str, str]
"""Scope and indicator."""
WHOLE = (
    "feed_temperature_c", "feed_pressure_bar", "concentrate_pressure_bar", "permeate_flow_m3h", "concentrate_flow_m3h",
    "feed_flow_m3h", "feed_conductivity_us_cm", "permeate_conductivity_us_cm",
)  # fmt: skip
OF_A_STAGE = ("permeate_flow_m3h", "permeate_conductivity_us_cm", "feed_pressure_bar", "concentrate_pressure_bar")


@dataclass(frozen=True)
class HelpfulMeter:
    """The one meter more that would let most be judged.

    Attributes
    ----------
    column : str
    gains : tuple of (scope, indicator)
        What could be judged with it and cannot be without.
    next_best : int
        How many indicators the next best meter would add.
    """

    column: str
    gains: tuple[Judged, ...]
    next_best: int

    @property
    def sentence(self) -> str:
        label = COLUMNS[self.column].label
        count = len(self.gains)
        named = ", ".join(f"{name.replace('_', ' ')} of {_words(scope)}" for scope, name in self.gains)
        others = f"the next best would add {self.next_best}" if self.next_best else "no other would add any"
        which = f"{label[0].lower()}{label[1:]}"
        return f"One meter more would help most: {which}. It adds {count} to judge ({named}); {others}."


def _words(scope: str) -> str:
    return "the train" if scope == "train" else f"stage {scope.removeprefix('stage')}"


def most_helpful_meter(plant: Plant, metered: Collection[str], judged: Collection[Judged] = ()) -> HelpfulMeter | None:
    """Try every meter that the train could have and has not.

    Parameters
    ----------
    plant : Plant
    metered : collection of str
        Columns that have values.
    judged : collection of (scope, indicator)
        What is judged already, be it by another method.

    Returns
    -------
    HelpfulMeter or None
        None where no single meter would add an indicator. Of equals, the first on the way of the water.

    Notes
    -----
    The balances of the train are completed once without and once with each meter, as for a log; an indicator counts
    when every stream that its normalization needs is known. It says what can be judged, not how precisely.
    """
    known = _judged(plant, metered) | set(judged)
    gains = {name: _judged(plant, {*metered, name}) - known for name in _way(plant) if name not in metered}
    best, *others = [*sorted(gains, key=lambda name: -len(gains[name])), ""]
    if not gains.get(best):
        return None
    return HelpfulMeter(best, tuple(sorted(gains[best])), len(gains.get(others[0], ())))


def _way(plant: Plant) -> list[str]:
    count = len(plant.train.stages)
    stages = [f"stage{n}_{name}" for n in range(1, count + 1) for name in OF_A_STAGE] if count > 1 else []
    ends = {"stage1_feed_pressure_bar", f"stage{count}_concentrate_pressure_bar"}  # these are those of the train
    return [*WHOLE, *(name for name in stages if name not in ends)]


def _judged(plant: Plant, metered: Collection[str]) -> set[Judged]:
    nothing = pd.DataFrame({name: pd.Series(dtype="float64") for name in metered})
    balance = complete_streams(nothing, plant, metered)
    alone = not balance.stages
    found = {("train", name) for name in _of(balance, balance.train) if alone or name != "pressure_drop"}
    return found | {(stage.scope, name) for stage in balance.stages for name in _of(balance, stage)}


def _of(balance: Balance, streams: Streams) -> list[str]:
    warm = balance.feed_temperature_c is not None
    made, salty = streams.permeate_flow_m3h is not None, streams.feed_tds_mg_l is not None
    needs = {
        "permeate_flow": warm and made and streams.mean_pressure_bar is not None,
        "salt_passage": warm and made and salty and streams.permeate_tds_mg_l is not None,
        "pressure_drop": streams.pressure_drop_bar is not None and streams.drop_flow_m3h is not None,
    }
    return [name for name, met in needs.items() if met]
