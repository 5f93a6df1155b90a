"""What the answer could not rest on, in sentences beside it."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analytics.condition.normalized import NormalizedLog
from analytics.condition.screen import RULES
from analytics.judgement.closure import beyond_use_note
from analytics.judgement.season import against_last_year
from analytics.judgement.trend import Trend
from analytics.judgement.words import percent_change
from analytics.quantities import COLUMNS, QUANTITIES

OFTEN, MOSTLY = 0.1, 0.5
"""Share of readings set aside for a missing value from which it is told what they lack, and share of those that must
lack it. Judgement, no source. [-]"""
NEEDED = (
    "feed_temperature_c", "feed_pressure_bar", "concentrate_pressure_bar", "permeate_pressure_bar",
    "permeate_flow_m3h", "feed_conductivity_us_cm",
)  # fmt: skip
"""Without one of these, where the others of its column are there, a reading has no permeability."""


def log_notes(log: NormalizedLog, trends: Sequence[Trend], beyond: Sequence[str]) -> tuple[str, ...]:
    """What was assumed, derived or left out, what cannot be told (`beyond_use`), and how long a run must be."""
    notes = list(log.notes)
    if log.balance.assumed:
        notes.append(f"Taken from the plant file, not metered: {_listed(log.balance.assumed)}.")
    if log.balance.derived:
        notes.append(f"Worked out by balance, not metered: {_listed(log.balance.derived)}.")
    if log.balance.feed_temperature_c is None:
        notes.append("Feed temperature is not measured: flow and salt passage are not corrected for temperature.")
    if any(stage.membrane.temperature_correction == "fitted" for stage in log.plant.train.stages):
        notes.append("The standard method uses the two-slope temperature curve; the membrane model learns its slope.")
    lacking = _lacking(log)
    if lacking:
        notes.append(
            f"Readings set aside for a missing value mostly lack {_listed(lacking)}. Where a gauge is given up, hand in"
            " the log without its column: then it counts as not metered, and the readings are used as far as they go."
        )
    if beyond:
        notes.append(beyond_use_note(beyond))
    short = [trend for trend in trends if np.isnan(trend.slope)]
    if short:
        notes.append(
            f"No slope yet: the present run has {min(t.days for t in short)} days with readings; 21 are needed."
        )
    return tuple(notes)


def _lacking(log: NormalizedLog) -> list[str]:
    """Quantities that are measured, but blank in most readings that are set aside for a missing value."""
    missing = log.first_broken == RULES.index("value missing")
    if not missing.any() or missing.mean() < OFTEN:
        return []
    columns = [name for name in NEEDED if name in log.readings.columns and log.readings[name].notna().any()]
    return [COLUMNS[name].name for name in columns if log.readings[name][missing].isna().mean() > MOSTLY]


def last_year(log: NormalizedLog, daily: pd.DataFrame) -> list[str]:
    """Without temperature, the same season a year earlier is what a level can be compared with."""
    if log.balance.feed_temperature_c is not None:
        return []
    notes = []
    for name, label in (("train_permeate_flow", "permeate flow"), ("train_salt_passage", "salt passage")):
        ratio = against_last_year(daily[name]) if name in daily.columns else None
        if ratio is not None:
            notes.append(
                f"Against the same weeks a year earlier, {label} at the same pressure is {percent_change(ratio)};"
                " water that was warmer or colder then would show in this too."
            )
    return notes


def _listed(names: Sequence[str]) -> str:
    return ", ".join(_in_words(name) for name in dict.fromkeys(names))


def _in_words(name: str) -> str:
    """A quantity in the middle of a sentence: "stage 2 permeate TDS"."""
    if name in QUANTITIES:
        label = QUANTITIES[name].label
        return label[:1].lower() + label[1:]
    return name.replace("stage", "stage ").replace("_", " ").replace("tds", "TDS")
