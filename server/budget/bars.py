"""Small charts as places on a line in percent: the template draws them, nothing is computed there."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from analytics.decisions.life_table import LifeTable
from server.budget.periods import Periods

AXIS_YEARS = 12.0
"""How far the chart of lives reaches. [a]"""


@dataclass(frozen=True)
class Bar:
    """Expected amount of a year with its low and high; widths from the left. [%]"""

    label: str
    width: float
    low: float
    high: float
    value: str
    range: str


@dataclass(frozen=True)
class LifeBar:
    """When a stage is due: low, likely and high on the axis of years; `open` where the high end lies beyond. [%]"""

    label: str
    low: float
    likely: float
    high: float
    open: bool
    text: str


@dataclass(frozen=True)
class Tick:
    place: float
    label: str


def year_bars(rows: Sequence[tuple[str, Decimal, Decimal, Decimal, str, str]]) -> tuple[Bar, ...]:
    """Bars of (label, expected, low, high, value in words, range in words), on one scale."""
    most = max((max(expected, high) for _, expected, _, high, _, _ in rows), default=Decimal()) or Decimal(1)

    def place(amount: Decimal) -> float:
        return round(float(100 * amount / most), 2)

    return tuple(
        Bar(label, place(expected), place(low), place(high), value, span)
        for label, expected, low, high, value, span in rows
    )


def life_bar(label: str, table: LifeTable, text: str) -> LifeBar:
    """The bar of one stage."""
    low, likely, high = (100 * min(table.quantile(q) / AXIS_YEARS, 1.0) for q in (0.1, 0.5, 0.9))
    return LifeBar(
        label, round(low, 2), round(likely, 2), round(max(high, low + 0.6), 2), table.quantile(0.9) > AXIS_YEARS, text
    )


def year_ticks(periods: Periods) -> tuple[Tick, ...]:
    """Beginnings of every third year on the axis of lives."""
    start = periods.start
    found = []
    for year in range(start.year + 2, start.year + int(AXIS_YEARS) + 1, 3):
        place = 100 * periods.until(start.replace(year=year, month=1, day=1)) / AXIS_YEARS
        if place <= 97:
            found.append(Tick(round(place, 2), str(year)))
    return tuple(found)


def shares(parts: Mapping[str, float]) -> dict[str, float]:
    """Parts of a whole as widths. [%]"""
    whole = sum(parts.values())
    return {name: round(100 * part / whole, 2) if whole else 0.0 for name, part in parts.items()}
