"""The osmotic law to begin with: as conductivity tells it, and no more than leaves the last elements pressure.

Solids follow conductivity only roughly, and osmotic pressure follows solids by the mix of ions: what both curves of
natural water give together is up to a third too high for a water. Elements that make water tell that it is.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.fit import can_be_fitted, fit_multipliers
from analytics.condition.metered_train import USUAL, MeteredReadings, metered_days, metered_readings
from analytics.condition.normalized import NormalizedLog
from analytics.condition.streams import Balance
from analytics.physics.water import osmotic_pressure_bar, tds_from_conductivity
from analytics.plant import Plant

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

FACTORS = (1.0, 0.93, 0.86, 0.80, 0.74, 0.69, 0.64)
"""Shares of the law that are tried, most first: mixes of ions and factors of conductivity differ by so much (0.5 to 0.7
mg/L per uS/cm; facts of the trade). [-]"""
HEADROOM = 1.15
"""The model must still have an answer with so much more osmotic pressure: salinity and recovery will rise. Judgement,
no source. [-]"""
NATURAL, LIKEST = "natural-brackish", "sodium-chloride"
"""Waters of one conductivity have nearly one osmotic pressure, whatever their ions: five mixes of 0.6 to 13 g/L, by
PHREEQC, have 0.76 to 1.12 of what the curves of natural water give for their conductivity, and sodium chloride,
with 0.82 to 0.98, lies in the middle (`tests/published/test_osmotic_per_conductivity.py`). Bicarbonate waters have as
much as the curves: the model begins halfway. [-]"""
LEAST_ANSWERED, LEAST_AT_ALL = 0.9, 0.8
"""Share of the days of the reference that must have an answer with the headroom; and without it, where no share of the
law leaves one. Judgement, no source. [-]"""


@dataclass(frozen=True)
class OsmoticStart:
    """Share of the law's osmotic pressure to begin with, and whether it is less than conductivity tells, for otherwise
    no pressure would be left. [-]"""

    share: float = 1.0
    taken_down: bool = False


def osmotic_start_of(log: NormalizedLog) -> OsmoticStart:
    """The same of a log; one where its plant file states it, and where the model is not asked."""
    if log.plant.train.assumed.osmotic_factor or log.balance.feed_temperature_c is None or log.reference is None:
        return OsmoticStart()
    within = log.used & log.reference.within
    return osmotic_start(log.balance, log.plant, within, log.days, usual=share_by_conductivity(log, within))


def share_by_conductivity(log: NormalizedLog, within: Flags) -> float:
    """Share of the law of natural water halfway, as a logarithm, to what sodium chloride of the same conductivity has.

    At a conductivity in the middle of feed and concentrate; one where dissolved solids are measured, or come from a
    factor that the plant file states. [-]
    """
    train, streams = log.plant.train, log.balance.train
    conductivity = log.readings.get("feed_conductivity_us_cm")
    measured = log.readings.get("feed_tds_mg_l")
    stated = train.assumed.tds_per_conductivity is not None or (
        measured is not None and bool(measured[within].notna().any())
    )
    if train.water != NATURAL or stated or conductivity is None:
        return 1.0
    made, fed = streams.permeate_flow_m3h, streams.feed_flow_m3h
    if made is None or fed is None:
        return 1.0
    with np.errstate(invalid="ignore", divide="ignore"):
        middle = conductivity.to_numpy(dtype=np.float64) * (1.0 + fed / (fed - made)) / 2.0
    found = middle[within & np.isfinite(middle) & (middle > 0)]
    if not found.size:
        return 1.0
    at = float(np.median(found))
    natural, likest = (
        float(osmotic_pressure_bar(tds_from_conductivity(at, water=law), 25.0, water=law)) for law in (NATURAL, LIKEST)
    )
    return min(1.0, float(np.sqrt(likest / natural)))


def osmotic_start(
    balance: Balance, plant: Plant, within: Flags, days: pd.DatetimeIndex, *, usual: float = 1.0
) -> OsmoticStart:
    """Share of the law's osmotic pressure to begin with; the usual one where that leaves pressure enough, or none does.

    Parameters
    ----------
    balance : Balance
    plant : Plant
    within : bool array
        Usable readings of the reference period.
    days : DatetimeIndex
        Local day of each reading.
    usual : float
        Share to begin with where it leaves pressure enough. [-]

    Returns
    -------
    OsmoticStart
        Of the shares that leave the model an answer on the days of the reference, that by which the first and the last
        stage are most alike, where both are metered and have the same membrane; otherwise the one below the largest.
    """
    rows = np.flatnonzero(within)
    if not len(rows) or not can_be_fitted(balance):
        return OsmoticStart(usual)
    day = np.unique(days[within].to_numpy(), return_inverse=True)[1]
    metered = metered_days(metered_readings(balance, plant, rows), day)
    if _answered(_fitted(metered, plant, HEADROOM * usual)):
        return OsmoticStart(usual)
    factors = (usual, *(factor for factor in FACTORS if factor < usual))
    left = [factor for factor in factors if _answered(_fitted(metered, plant, HEADROOM * factor))]
    left = left or [factor for factor in factors if _answered(_fitted(metered, plant, factor), LEAST_AT_ALL)]
    if not left:
        return OsmoticStart(usual)
    apart = [_stages_apart(_fitted(metered, plant, factor), plant) for factor in left]
    chosen = left[int(np.argmin(apart)) if np.isfinite(apart).all() else min(1, len(left) - 1)]
    return OsmoticStart(chosen, taken_down=chosen < usual)


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


def osmotic_start_note(start: OsmoticStart) -> str:
    """What was done for want of pressure, in a sentence; empty where nothing was."""
    if not start.taken_down:
        return ""
    return (
        f"The membrane model takes the osmotic pressure as {start.share:.2f} of the law's for this water: by the law"
        " alone hardly any pressure would be left to push water through the last elements, and they do make water."
    )
