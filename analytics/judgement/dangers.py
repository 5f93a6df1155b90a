"""Absolute limits: what can break elements today, whatever the reference was."""

from collections.abc import Mapping

import numpy as np

from analytics.judgement.verdict import Danger
from analytics.plant import Train

CHLORINE_MG_L = 0.1
"""Free chlorine that polyamide is usually kept below; common practice, no source."""


def find_dangers(latest: Mapping[str, float], train: Train) -> tuple[Danger, ...]:
    """Compare the medians of the latest day with the absolute limits.

    Parameters
    ----------
    latest : mapping
        Canonical columns and `stageN_pressure_drop_bar`, medians of the latest day; NaN or absent when unknown.
    train : Train
        Gives the limits of its membranes and its own.
    """
    found = [danger for number in range(1, len(train.stages) + 1) for danger in _pressure_drops(latest, train, number)]
    suction = latest.get("pump_suction_pressure_bar", np.nan)
    lowest = train.limits.min_suction_pressure_bar
    if suction < lowest:
        found.append(
            Danger(
                f"Pump suction pressure is {suction:.1f} bar, below {lowest:.1f} bar: look at the filters.",
                f"Pump suction pressure {suction:.1f} bar on the latest day; limit {lowest:.1f} bar.",
            )
        )
    chlorine = latest.get("feed_free_chlorine_mg_l", np.nan)
    if chlorine > CHLORINE_MG_L:
        found.append(
            Danger(
                f"Free chlorine in the feed is {chlorine:.2f} mg/L and destroys membranes: restore dechlorination now.",
                f"Free chlorine in the feed {chlorine:.2f} mg/L on the latest day; limit {CHLORINE_MG_L:.1f} mg/L.",
            )
        )
    return tuple(found)


def _pressure_drops(latest: Mapping[str, float], train: Train, number: int) -> list[Danger]:
    stage = train.stages[number - 1]
    drop = latest.get(f"stage{number}_pressure_drop_bar", np.nan)
    per_element = drop / stage.elements_per_vessel
    vessel, element = stage.membrane.max_dp_vessel_bar, stage.membrane.max_dp_element_bar
    if drop > vessel:
        reason = f"Pressure drop of stage {number} is {drop:.1f} bar over a vessel; limit {vessel:.1f} bar."
    elif per_element > element:
        reason = f"Pressure drop of stage {number} is {per_element:.2f} bar an element; limit {element:.2f} bar."
    else:
        return []
    headline = f"Pressure drop of stage {number} is above what its elements may carry: reduce the flow and clean now."
    return [Danger(headline, reason)]
