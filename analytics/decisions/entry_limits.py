"""What is said at once about an entry before the membranes: SDI, chlorine, ORP, cartridges, and what is dosed."""

import numpy as np

from analytics.condition.recent import Recent
from analytics.condition.rule_book import LimitRule, Limits, Sides, TankRule
from analytics.decisions.antiscalant_dose import TOLERANCE
from analytics.decisions.dechlorination import DETECTION_LIMIT_MG_L, orp_baseline
from analytics.decisions.filters import CARTRIDGE_CHANGE_BAR
from analytics.decisions.silt_density import USUAL_HIGHEST
from analytics.physics.oxidants import LEAST_SULFITE_PER_CHLORINE
from analytics.plant import Plant

NO_BOUND = 1e12
TANK_HOURS = (4.0, 72.0)
"""Between which times after the last level of a tank a fall says something; common practice, no source. [h]"""
FEED, PERMEATE, CONCENTRATE = "feed_flow_m3h", "permeate_flow_m3h", "concentrate_flow_m3h"
LEVEL = "antiscalant_tank_level_l"


def entry_limits(plant: Plant, recent: Recent, columns: frozenset[str]) -> Limits:
    """The limits that the columns of a shift log can be held against.

    Parameters
    ----------
    plant : Plant
    recent : Recent
        Its last readings.
    columns : set of str
        That can be entered.
    """
    rules = [
        _above("high sdi", "feed_sdi", USUAL_HIGHEST),
        _above("chlorine", "feed_free_chlorine_mg_l", plant.train.limits.max_free_chlorine_mg_l),
        LimitRule(
            "cartridge", (("cartridge_inlet_pressure_bar",),), (("cartridge_outlet_pressure_bar",),), (), -NO_BOUND,
            CARTRIDGE_CHANGE_BAR, True,
        ),
        LimitRule(
            "little bisulfite", (("bisulfite_dose_mg_l",),), (), (("raw_free_chlorine_mg_l",),),
            LEAST_SULFITE_PER_CHLORINE, NO_BOUND, False,
        ),
        *_orp(plant, recent),
        *_antiscalant(plant),
    ]  # fmt: skip
    known = tuple(rule for rule in rules if _columns(rule.value, rule.minus, rule.over) <= columns)
    return Limits(known, tuple(_tank(plant, recent, columns)))


def _columns(*sides: Sides) -> set[str]:
    return {name for side in sides for term in side for name in term}


def _above(words: str, column: str, high: float) -> LimitRule:
    return LimitRule(words, ((column,),), (), (), -NO_BOUND, high, True)


def _orp(plant: Plant, recent: Recent) -> list[LimitRule]:
    """Against the site's own, where its last readings show both without chlorine."""
    orp, chlorine = "feed_orp_mv", "feed_free_chlorine_mg_l"
    if not {orp, chlorine} <= set(recent.frame.columns):
        return []
    values = (recent.frame[name].to_numpy(dtype=np.float64) for name in (orp, chlorine))
    base = orp_baseline(*values, detection_limit_mg_l=DETECTION_LIMIT_MG_L)
    return [] if base is None else [_above("high orp", orp, base.without_chlorine + plant.train.limits.max_orp_rise_mv)]


def _antiscalant(plant: Plant) -> list[LimitRule]:
    target = plant.train.dosing.antiscalant_mg_l
    if target is None:
        return []
    low, high = (1 - TOLERANCE) * target, (1 + TOLERANCE) * target
    return [LimitRule("antiscalant", (("antiscalant_dose_mg_l",),), (), (), low, high, True)]


def _tank(plant: Plant, recent: Recent, columns: frozenset[str]) -> list[TankRule]:
    dosing = plant.train.dosing
    target, share, density = dosing.antiscalant_mg_l, dosing.antiscalant_tank_share, dosing.antiscalant_density_kg_l
    if target is None or share is None or density is None or LEVEL not in recent.last or LEVEL not in columns:
        return []
    over: Sides = ((FEED,),) if columns >= {FEED} else ((PERMEATE,), (CONCENTRATE,))
    if not _columns(over) <= columns:
        return []
    low, high = (1 - TOLERANCE) * target, (1 + TOLERANCE) * target
    scale = share * density * 1000
    return [
        TankRule(
            "antiscalant tank", LEVEL, recent.last[LEVEL], recent.last_at[LEVEL], scale, over, low, high, *TANK_HOURS
        )
    ]
