"""The media filter on the canal water of one train, invented: mud loads it, and whoever finds it full backwashes it.

From August 2026 on the bed clumps: each backwash leaves more in it, and the next one is due sooner.
"""

import numpy as np

from demo_data.simulator.seasons import weather
from demo_data.simulator.water import FloatArray
from demo_data.stories.span import DAYS, on

SEED = 20251104
OUTLET_BAR = 3.3
CLEAN_BAR, CLUMPED_BAR = 0.30, 0.65
CLUMPS = (on(2026, 8, 10), on(2026, 10, 20))
FULL_BAR = 1.0
LOADING_BAR_DAY = 0.11


def outlet_pressure(days: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Held by the feed pumps of the canal. [bar]"""
    return np.full(len(days), OUTLET_BAR)


def inlet_pressure(days: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Outlet pressure and what the bed takes. [bar]"""
    return OUTLET_BAR + pressure_drop(days)


def pressure_drop(days: FloatArray) -> FloatArray:
    """Of the bed, backwashed on the morning after it was full; by a generator of its own. [bar]"""
    mornings = np.arange(DAYS + 1, dtype=np.float64) + on(2025, 8, 1, 8)
    mud = LOADING_BAR_DAY * np.exp(0.5 * weather(mornings, 8.0, np.random.default_rng(SEED)))
    clean = np.interp(mornings, CLUMPS, (CLEAN_BAR, CLUMPED_BAR))
    drop = np.full(len(mornings), CLEAN_BAR)
    for day in range(1, len(drop)):
        drop[day] = clean[day] if drop[day - 1] >= FULL_BAR else drop[day - 1] + mud[day - 1]
    last = np.clip(np.searchsorted(mornings, days, side="right") - 1, 0, len(drop) - 1)
    return np.asarray(drop[last] + mud[last] * np.maximum(days - mornings[last], 0.0))
