"""The osmotic law to begin with, where the one chosen would leave the last elements no pressure to make water by.

Solids follow conductivity only roughly, and osmotic pressure follows solids by the mix of ions: a law may be a third
too high for a water. Elements that make water tell that it is.
"""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.fit import can_be_fitted, fit_multipliers
from analytics.condition.metered_train import USUAL, MeteredReadings, metered_days, metered_readings
from analytics.condition.normalized import NormalizedLog
from analytics.condition.streams import Balance
from analytics.plant import Plant

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

FACTORS = (1.0, 0.93, 0.86, 0.80, 0.74, 0.69, 0.64)
"""Shares of the law that are tried, most first: mixes of ions and factors of conductivity differ by so much (0.5 to 0.7
mg/L per uS/cm; facts of the trade). [-]"""
HEADROOM = 1.15
"""The model must still have an answer with so much more osmotic pressure: salinity and recovery will rise. Judgement,
no source. [-]"""
LEAST_ANSWERED, LEAST_AT_ALL = 0.9, 0.8
"""Share of the days of the reference that must have an answer with the headroom; and without it, where no share of the
law leaves one. Judgement, no source. [-]"""


def osmotic_start_of(log: NormalizedLog) -> float:
    """The same of a log; one where its plant file states it, and where the model is not asked. [-]"""
    if log.plant.train.assumed.osmotic_factor or log.balance.feed_temperature_c is None or log.reference is None:
        return 1.0
    return osmotic_start(log.balance, log.plant, log.used & log.reference.within, log.days)


def osmotic_start(balance: Balance, plant: Plant, within: Flags, days: pd.DatetimeIndex) -> float:
    """Share of the law's osmotic pressure to begin with; one where the law leaves pressure enough, and where none does.

    Parameters
    ----------
    balance : Balance
    plant : Plant
    within : bool array
        Usable readings of the reference period.
    days : DatetimeIndex
        Local day of each reading.

    Returns
    -------
    float
        Of the shares that leave the model an answer on the days of the reference, that by which the first and the last
        stage are most alike, where both are metered and have the same membrane; otherwise the one below the largest.
    """
    rows = np.flatnonzero(within)
    if not len(rows) or not can_be_fitted(balance):
        return 1.0
    day = np.unique(days[within].to_numpy(), return_inverse=True)[1]
    metered = metered_days(metered_readings(balance, plant, rows), day)
    if _answered(_fitted(metered, plant, HEADROOM)):
        return 1.0
    left = [factor for factor in FACTORS if _answered(_fitted(metered, plant, HEADROOM * factor))]
    left = left or [factor for factor in FACTORS if _answered(_fitted(metered, plant, factor), LEAST_AT_ALL)]
    if not left:
        return 1.0
    apart = [_stages_apart(_fitted(metered, plant, factor), plant) for factor in left]
    if np.isfinite(apart).all():
        return left[int(np.argmin(apart))]
    return left[min(1, len(left) - 1)]


def _fitted(metered: MeteredReadings, plant: Plant, factor: float) -> dict[tuple[str, int], Array]:
    return fit_multipliers(metered, plant, replace(USUAL, osmotic=factor))


def _answered(found: dict[tuple[str, int], Array], least: float = LEAST_ANSWERED) -> bool:
    """Whether water and salt have an answer; a pressure drop that is lost in its gauges is no matter of osmosis."""
    shares = [np.mean(np.isfinite(values)) for (what, _), values in found.items() if what != "friction"]
    return bool(min(shares, default=1.0) >= least)


def _stages_apart(found: dict[tuple[str, int], Array], plant: Plant) -> float:
    """Distance of the logarithms of the water permeabilities of the first and last stage; NaN where they are not
    metered apart, or not of one membrane."""
    last = len(plant.train.stages) - 1
    ends = [found.get(("water", number)) for number in (0, last)]
    alike = plant.train.stages[0].membrane == plant.train.stages[last].membrane
    if last == 0 or not alike or ends[0] is None or ends[1] is None or np.array_equal(ends[0], ends[1], equal_nan=True):
        return float("nan")
    return abs(float(np.nanmedian(np.log(ends[1])) - np.nanmedian(np.log(ends[0]))))


def with_osmotic_start(plant: Plant, factor: float) -> Plant:
    """The plant with that share of the law for the membrane model."""
    assumed = replace(plant.train.assumed, osmotic_factor=factor)
    return replace(plant, train=replace(plant.train, assumed=assumed))


def osmotic_start_note(factor: float) -> str:
    """What was done, in a sentence; empty where nothing was."""
    if factor == 1.0:
        return ""
    return (
        f"The membrane model takes the osmotic pressure as {factor:.2f} of the law's for this water: by the law alone"
        " hardly any pressure would be left to push water through the last elements, and they do make water."
    )
