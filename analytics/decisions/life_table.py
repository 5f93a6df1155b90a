"""How long something lasts, as equally likely times."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

MOST_YEARS = 25.0
"""No life is looked at beyond this; a time of so much means "so much or more". [a]"""
KEPT = 200
"""Equally likely times that stand for a distribution."""


@dataclass(frozen=True)
class LifeTable:
    """Equally likely times, ascending; `MOST_YEARS` stands for that long or longer. [a]"""

    years: tuple[float, ...]

    @classmethod
    def of(cls, draws: Array) -> "LifeTable":
        """Keep `KEPT` equally likely times of many draws. [a]"""
        shares = (np.arange(KEPT) + 0.5) / KEPT
        return cls(tuple(float(v) for v in np.round(np.quantile(np.minimum(draws, MOST_YEARS), shares), 4)))

    def quantile(self, share: float) -> float:
        """The time before which a share of all ends comes. [a]"""
        places = (np.arange(len(self.years)) + 0.5) / len(self.years)
        return float(np.interp(share, places, self.years))

    def after(self, years: float) -> "LifeTable":
        """The same seen from a later day; what should have ended is due at once. [a]"""
        return LifeTable(
            tuple(y if y >= MOST_YEARS else max(round(y - years, 4), 0.0) for y in self.years) if years else self.years
        )

    def not_before(self, years: float) -> "LifeTable":
        """The same where nothing can be done earlier, such as before elements are delivered. [a]"""
        return LifeTable(tuple(max(y, years) for y in self.years))
