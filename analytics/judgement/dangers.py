"""Absolute limits: what can break elements today, whatever the reference was."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from analytics.judgement.grounds import Danger
from analytics.judgement.words import plain_date
from analytics.plant import Train


@dataclass(frozen=True)
class Oxidants:
    """What the log says of oxidants before the membranes; NaN where it does not.

    `exposure_ppm_h` is the least that the elements have seen of free chlorine since `since` [mg/L x h]; `orp_mv` is the
    latest, and `orp_without_chlorine_mv` the site's own where none was found. [mV]
    """

    exposure_ppm_h: float = np.nan
    since: date = date.min
    orp_mv: float = np.nan
    orp_without_chlorine_mv: float = np.nan


def find_dangers(latest: Mapping[str, float], train: Train, oxidants: Oxidants | None = None) -> tuple[Danger, ...]:
    """Compare the medians of the latest day with the absolute limits.

    Parameters
    ----------
    latest : mapping
        Canonical columns and `stageN_pressure_drop_bar`, medians of the latest day; NaN or absent when unknown.
    train : Train
        Gives the limits of its membranes and its own.
    oxidants : Oxidants, optional
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
    chlorine, most = latest.get("feed_free_chlorine_mg_l", np.nan), train.limits.max_free_chlorine_mg_l
    if chlorine > most:
        found.append(
            Danger(
                f"Free chlorine in the feed is {chlorine:.2f} mg/L and destroys membranes: restore dechlorination now.",
                f"Free chlorine in the feed {chlorine:.2f} mg/L on the latest day; limit {most:.3g} mg/L.",
            )
        )
    found += _temperature(latest, train)
    return (*found, *(_oxidants(oxidants, train) if oxidants else ()))


def _temperature(latest: Mapping[str, float], train: Train) -> list[Danger]:
    warmest = min(stage.membrane.max_temperature_c for stage in train.stages)
    temperature = latest.get("feed_temperature_c", np.nan)
    if not temperature > warmest:
        return []
    return [
        Danger(
            f"Feed water is at {temperature:.1f} °C, above the {warmest:.0f} °C that elements stand: cool it or stop.",
            f"Feed temperature {temperature:.1f} °C on the latest day; limit of the element {warmest:.0f} °C.",
        )
    ]


def _oxidants(seen: Oxidants, train: Train) -> list[Danger]:
    found, most, rise = [], train.limits.max_chlorine_exposure_ppm_h, train.limits.max_orp_rise_mv
    if seen.exposure_ppm_h > most:
        found.append(
            Danger(
                f"The elements have seen {seen.exposure_ppm_h:.0f} ppm·h of free chlorine, more than {most:.0f}:"
                " find where it comes from, and watch salt passage.",
                f"Free chlorine since {plain_date(seen.since)}: at least {seen.exposure_ppm_h:.0f} ppm·h;"
                f" limit {most:.0f} ppm·h.",
                "watch",
            )
        )
    if seen.orp_mv > seen.orp_without_chlorine_mv + rise:
        above = seen.orp_mv - seen.orp_without_chlorine_mv
        found.append(
            Danger(
                f"ORP of the feed is {above:.0f} mV above the site's own without chlorine:"
                " measure free chlorine (DPD) and look at the dosing.",
                f"Feed ORP {seen.orp_mv:.0f} mV; without chlorine it is {seen.orp_without_chlorine_mv:.0f} mV here,"
                f" and {rise:.0f} mV more is the limit.",
                "watch",
            )
        )
    return found


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
