"""Tables of money: every sum is a sum of cells of the ledger."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from server.budget.plan import BUDGET_COMPONENTS, total
from server.budget.view import View
from server.budget.words import COMPONENT_NAMES, money, money_range

QUARTERS_SHOWN = 9
"""The rest of this quarter and two years; the workbook has all."""


@dataclass(frozen=True)
class Row:
    """A row of amounts: a heading, a cell for each column, and their sum."""

    label: str
    cells: tuple[Decimal, ...]
    total: Decimal

    @classmethod
    def of(cls, label: str, cells: Sequence[Decimal]) -> "Row":
        return cls(label, tuple(cells), sum(cells, Decimal()))

    @property
    def shown(self) -> tuple[str, ...]:
        return tuple(money(cell) for cell in self.cells)

    @property
    def shown_total(self) -> str:
        return money(self.total)


@dataclass(frozen=True)
class MoneyTable:
    """Amounts by row and column; `foot` sums the rows, and is None where there is but one."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    foot: Row

    @classmethod
    def of(cls, caption: str, columns: Sequence[str], rows: Sequence[Row]) -> "MoneyTable":
        sums = [sum(cells, Decimal()) for cells in zip(*(row.cells for row in rows), strict=True)]
        return cls(caption, tuple(columns), tuple(rows), Row.of("Sum", sums or [Decimal()] * len(columns)))


@dataclass(frozen=True)
class YearRow:
    """One year: expected, low and high."""

    label: str
    expected: Decimal
    low: Decimal
    high: Decimal

    @property
    def shown(self) -> str:
        return money(self.expected)

    @property
    def shown_range(self) -> str:
        return money_range(self.low, self.high)


def year_label(view: View, year: int) -> str:
    """A year; the first one is what is left of it."""
    start = view.periods.start
    rest = year == start.year and (start.month, start.day) != (1, 1)
    return f"rest of {year}" if rest else str(year)


def by_year(view: View) -> tuple[YearRow, ...]:
    """Expected, low and high of each year."""
    return tuple(
        YearRow(year_label(view, year), view.total(year), view.range.low[year], view.range.high[year])
        for year in view.periods.years
    )


def by_train(view: View) -> MoneyTable:
    """Trains by year."""
    years = view.periods.years
    return MoneyTable.of(
        f"Expected cost by train and year, {view.currency}",
        [year_label(view, year) for year in years],
        [Row.of(seen.name, [total([seen.cells], view.periods, year=y) for y in years]) for seen in view.trains],
    )


def by_component(view: View, names: Sequence[str] = BUDGET_COMPONENTS, caption: str = "") -> MoneyTable:
    """Components by year."""
    years = view.periods.years
    return MoneyTable.of(
        caption or f"Expected cost by component and year, {view.currency}",
        [year_label(view, year) for year in years],
        [Row.of(COMPONENT_NAMES[name], [view.total(year, (name,)) for year in years]) for name in names],
    )


def by_quarter(view: View, shown: int | None = QUARTERS_SHOWN) -> MoneyTable:
    """Trains by quarter: the next ones, or all where `shown` is None."""
    quarters = view.periods.quarters[:shown]
    return MoneyTable.of(
        f"Expected cost by train and quarter, {view.currency}",
        [f"Q{quarter.number} {quarter.year}" for quarter in quarters],
        [
            Row.of(
                seen.name,
                [sum((seen.cells[name][n] for name in BUDGET_COMPONENTS), Decimal()) for n in range(len(quarters))],
            )
            for seen in view.trains
        ],
    )
