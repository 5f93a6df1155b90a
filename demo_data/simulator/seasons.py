"""Slow natural variation of temperature and salinity."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.signal import lfilter

from demo_data.simulator.water import FloatArray

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True)
class Season:
    """A yearly swing around a mean, lowest on a day of the year, with weather that forgets itself in some days.

    `wander` is the standard deviation of the weather, in the unit of the mean.
    """

    mean: float
    swing: float = 0.0
    lowest_day_of_year: int = 30
    wander: float = 0.0
    memory_days: float = 5.0

    def values(self, start: date, days: FloatArray, rng: np.random.Generator) -> FloatArray:
        """Value at each day since the start."""
        day_of_year = start.timetuple().tm_yday + days
        yearly = self.mean - self.swing * np.cos(2 * np.pi * (day_of_year - self.lowest_day_of_year) / DAYS_PER_YEAR)
        return np.asarray(yearly + self.wander * weather(days, self.memory_days, rng))


def weather(days: FloatArray, memory_days: float, rng: np.random.Generator) -> FloatArray:
    """Noise of standard deviation 1 that stays alike for some days (a first-order autoregression, day by day)."""
    grid = np.arange(np.floor(days.min()) - 1, np.ceil(days.max()) + 2)
    keep = np.exp(-1 / memory_days)
    shocks = rng.standard_normal(len(grid))
    shocks[1:] *= np.sqrt(1 - keep**2)
    return np.interp(days, grid, lfilter([1.0], [1.0, -keep], shocks))
