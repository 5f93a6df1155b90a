"""What else is known of causes: chlorine, SDI, turbidity, antiscalant, salinity of the feed, rounds of vessels."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.normalized import NormalizedLog
from analytics.events import Event
from analytics.judgement.cause import Context
from analytics.judgement.log_steps import feed_step
from analytics.judgement.vessel_rounds import VesselReadings, vessels_said
from analytics.physics.oxidants import LEAST_SULFITE_PER_CHLORINE
from analytics.quantities import COLUMNS

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

ANTISCALANT, BISULFITE, RAW_CHLORINE = "antiscalant_dose_mg_l", "bisulfite_dose_mg_l", "raw_free_chlorine_mg_l"
CONTEXT_DAYS = 90
"""How far back chlorine, SDI and the like are looked at for a cause; common practice, no source."""
CHLORINE_MG_L = 0.05
NO_CHLORINE_MG_L = 0.02
SDI = 4.0
TURBIDITY_NTU = 1.0
SHORT_DOSE = 0.85
LEAST_READINGS = 5
"""Common practice, no source, but for SDI: membrane makers' warranties ask for 4 to 5 at the most."""


def context_of_log(
    log: NormalizedLog, days: pd.DataFrame, events: Sequence[Event], rounds: Sequence[VesselReadings]
) -> Context:
    """What else the log says about causes, from the reference period and from the last weeks, and rounds of vessels."""
    if log.reference is None or not log.used.any():
        return Context()
    train, last = log.plant.train, log.days[log.used][-1]
    recent = log.walked & (log.days > last - pd.Timedelta(days=CONTEXT_DAYS))
    feed_tds = log.balance.train.feed_tds_mg_l
    used_tds = None if feed_tds is None else np.where(log.used, feed_tds, np.nan)
    columns = {c: log.readings[c].to_numpy() for c in log.readings.columns if c in COLUMNS}
    context = context_of(
        columns, used_tds, recent=recent, reference=log.reference.within,
        antiscalant_mg_l=train.dosing.antiscalant_mg_l,
    )  # fmt: skip
    end = pd.Timestamp(log.reference.end)
    vessels = {number: stage.vessels for number, stage in enumerate(train.stages, start=1)}
    said = vessels_said(
        rounds, events, vessels, day=last.date(), after=end.date(), timezone=log.plant.site.timezone
    )  # fmt: skip
    return replace(context, feed_salinity_step=feed_step(days, after=end), vessels=said)


def context_of(
    columns: Mapping[str, Array],
    feed_tds_mg_l: Array | None,
    *,
    recent: Flags,
    reference: Flags,
    antiscalant_mg_l: float | None = None,
) -> Context:
    """Gather the factors on causes, each with its sentence.

    Parameters
    ----------
    columns : mapping of arrays
        Canonical columns of the readings.
    feed_tds_mg_l : array or None
    recent, reference : bool arrays
        Readings of the last weeks and of the reference.
    antiscalant_mg_l : float, optional
        Dose that is meant; without, that of the reference counts as meant. [mg/L]
    """
    factors: dict[str, tuple[float, str]] = {}
    if {BISULFITE, RAW_CHLORINE} <= set(columns):
        _bisulfite(factors, columns[BISULFITE][recent], columns[RAW_CHLORINE][recent])
    _chlorine(factors, _picked(columns, "feed_free_chlorine_mg_l", recent))
    sdi = _picked(columns, "feed_sdi", recent)
    if sdi.size and float(np.median(sdi)) > SDI:
        factors["colloidal"] = (2.5, f"SDI stands at {np.median(sdi):.1f}.")
    turbidity = _picked(columns, "feed_turbidity_ntu", recent)
    if turbidity.size >= LEAST_READINGS and float(np.quantile(turbidity, 0.9)) > TURBIDITY_NTU:
        factors.setdefault("colloidal", (2.0, f"Turbidity reaches {np.quantile(turbidity, 0.9):.1f} NTU."))
    dose, before = (_picked(columns, ANTISCALANT, rows) for rows in (recent, reference))
    _antiscalant(factors, dose, before, antiscalant_mg_l)
    return Context(factors, _salinity_change(feed_tds_mg_l, recent, reference))


def _picked(columns: Mapping[str, Array], name: str, rows: Flags) -> Array:
    if name not in columns:
        return np.empty(0)
    values = columns[name][rows]
    return values[~np.isnan(values)]


def _antiscalant(factors: dict[str, tuple[float, str]], dose: Array, before: Array, meant: float | None) -> None:
    if dose.size < LEAST_READINGS or (meant is None and not before.size):
        return
    now, wanted = float(np.median(dose)), meant if meant is not None else float(np.median(before))
    if now < SHORT_DOSE * wanted:
        told = f"{wanted:g} mg/L are meant" if meant is not None else f"{wanted:.1f} before"
        factors["scaling"] = (2.5, f"Antiscalant dose is {now:.1f} mg/L, {told}.")


def _bisulfite(factors: dict[str, tuple[float, str]], dose: Array, raw_chlorine: Array) -> None:
    """Where nobody measures chlorine behind the dosing, what was dosed must have been enough."""
    both = np.isfinite(dose) & (raw_chlorine > 0)
    if both.sum() < LEAST_READINGS:
        return
    factor = float(np.median(dose[both] / raw_chlorine[both]))
    if factor < LEAST_SULFITE_PER_CHLORINE:
        factors["oxidation"] = (
            2.5, f"Bisulfite is {factor:.1f} times the chlorine before it; the reaction takes"
            f" {LEAST_SULFITE_PER_CHLORINE:.1f}.",
        )  # fmt: skip


def _chlorine(factors: dict[str, tuple[float, str]], chlorine: Array) -> None:
    if not chlorine.size:
        return
    highest = float(chlorine.max())
    if highest > CHLORINE_MG_L:
        factors["oxidation"] = (4.0, f"Free chlorine of up to {highest:.2f} mg/L reached the membranes.")
    elif chlorine.size >= LEAST_READINGS and highest <= NO_CHLORINE_MG_L:
        factors["oxidation"] = (0.5, "No free chlorine was measured in the feed.")


def _salinity_change(tds: Array | None, recent: Flags, reference: Flags) -> float:
    if tds is None or not np.isfinite(tds[recent]).any() or not np.isfinite(tds[reference]).any():
        return 0.0
    return float(np.nanmedian(tds[recent]) / np.nanmedian(tds[reference]) - 1)
