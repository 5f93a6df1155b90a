"""Slips of the pen: a few values typed wrong, with a list of where they are."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.quantities import COLUMNS
from analytics.units import from_canonical, to_canonical
from demo_data.simulator.meters import Meter, decimals

KINDS = ("digits swapped", "decimal point lost", "zero too many", "wrong unit")
OTHER_UNIT = {
    "bar": "psi", "psi": "bar", "kPa": "bar", "m3/h": "gpm", "gpm": "m3/h", "degC": "degF", "degF": "degC",
    "uS/cm": "mS/cm", "mS/cm": "uS/cm",
}  # fmt: skip


@dataclass(frozen=True)
class Mistake:
    """One value typed wrong, in the unit of its gauge."""

    taken_at: pd.Timestamp
    column: str
    kind: str
    shown: float
    typed: float


def type_wrong(
    frame: pd.DataFrame, meters: Mapping[str, Meter], share: float, rng: np.random.Generator
) -> tuple[Mistake, ...]:
    """Choose values to be typed wrong; `frame` is in the units of the gauges and is left as it is.

    Only cells above zero are candidates; a slip that would leave the value as it is is no mistake and is left out.
    """
    columns = [name for name in frame.columns if name in meters]
    hit = rng.random((len(frame), len(columns))) < share
    kind_draws = rng.random((len(frame), len(columns)))
    mistakes: list[Mistake] = []
    for row, column in np.argwhere(hit):
        name = columns[column]
        value = float(frame[name].iloc[row])
        if not value > 0:
            continue
        kind = _possible_kind(kind_draws[row, column], meters[name])
        typed = _typed(value, kind, meters[name], COLUMNS[name].unit)
        if abs(typed - value) > meters[name].step / 2:
            mistakes.append(Mistake(frame.index[row], name, kind, value, typed))
    return tuple(mistakes)


def _possible_kind(draw: float, meter: Meter) -> str:
    """A kind of slip that this gauge allows, by a draw from 0 to 1."""
    kinds = ["digits swapped", "decimal point lost" if decimals(meter.step) else "zero too many"]
    if meter.unit in OTHER_UNIT:
        kinds.append("wrong unit")
    return kinds[int(draw * len(kinds))]


def _typed(value: float, kind: str, meter: Meter, canonical: str) -> float:
    digits = decimals(meter.step)
    if kind == "digits swapped":
        return _swapped(value, digits)
    if kind == "wrong unit":
        other = OTHER_UNIT[meter.unit]
        return round(float(from_canonical(to_canonical(value, meter.unit, canonical), canonical, other)), 3)
    return float(np.round(value * 10.0 ** max(digits, 1)))


def _swapped(value: float, digits: int) -> float:
    """Swap the two leading digits: 14.2 becomes 41.2."""
    text = f"{value:.{digits}f}"
    places = [place for place, sign in enumerate(text) if sign.isdigit()]
    first, second = places[0], places[min(1, len(places) - 1)]
    signs = list(text)
    signs[first], signs[second] = signs[second], signs[first]
    return float("".join(signs))
