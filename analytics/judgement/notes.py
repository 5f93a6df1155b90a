"""What the answer could not rest on, in sentences beside it."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analytics.condition.normalized import NormalizedLog
from analytics.judgement.closure import beyond_use_note
from analytics.judgement.season import against_last_year
from analytics.judgement.trend import Trend
from analytics.judgement.words import percent_change
from analytics.quantities import QUANTITIES


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
    if beyond:
        notes.append(beyond_use_note(beyond))
    short = [trend for trend in trends if np.isnan(trend.slope)]
    if short:
        notes.append(
            f"No slope yet: the present run has {min(t.days for t in short)} days with readings; 21 are needed."
        )
    return tuple(notes)


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
