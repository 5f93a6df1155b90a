"""The quarters that a budget is made of, from the last reading to the end of the horizon."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True)
class Quarter:
    """A quarter, or what is left of it; days included."""

    first: date
    last: date

    @property
    def year(self) -> int:
        return self.first.year

    @property
    def number(self) -> int:
        return (self.first.month + 2) // 3


@dataclass(frozen=True)
class Periods:
    """From the day after the last reading to the end of the horizon."""

    quarters: tuple[Quarter, ...]

    @classmethod
    def of(cls, start: date, horizon_years: int) -> "Periods":
        """The rest of this year, and some whole years."""
        quarters, first = [], start
        while first.year <= start.year + horizon_years:
            month = 3 * ((first.month + 2) // 3) + 1
            after = date(first.year + (month > 12), (month - 1) % 12 + 1, 1)
            quarters.append(Quarter(first, after - timedelta(days=1)))
            first = after
        return cls(tuple(quarters))

    @property
    def start(self) -> date:
        return self.quarters[0].first

    @property
    def years(self) -> tuple[int, ...]:
        return tuple(dict.fromkeys(quarter.year for quarter in self.quarters))

    @property
    def near(self) -> int:
        """The next whole year: what a budget is asked for."""
        return self.start.year + 1

    @property
    def edges(self) -> npt.NDArray[np.float64]:
        """Ends of the quarters, beginning with today. [a]"""
        return np.array([0.0, *(self.until(quarter.last) for quarter in self.quarters)])

    def until(self, day: date) -> float:
        """Time to the end of a day. [a]"""
        return ((day - self.start).days + 1) / DAYS_PER_YEAR

    def span(self, first_year: int, last_year: int) -> tuple[int, int]:
        """First quarter of some years and the one after the last."""
        inside = [n for n, quarter in enumerate(self.quarters) if first_year <= quarter.year <= last_year]
        return inside[0], inside[-1] + 1

    def day(self, years: float) -> date:
        """The day after so many years from today."""
        return self.start + timedelta(days=round(years * DAYS_PER_YEAR))
