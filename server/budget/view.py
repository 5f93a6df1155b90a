"""One look at a ledger: in which currency, and whose range. Page, PDF and workbook all read this."""

from dataclasses import dataclass
from decimal import Decimal

from server.budget.periods import Periods
from server.budget.plan import BUDGET_COMPONENTS, Cells, Ledger, Range, TrainLedger, total
from server.budget.queries import SiteFacts


@dataclass(frozen=True)
class Seen:
    """One train with its site, and its cells in the currency of the view."""

    site: SiteFacts
    train: TrainLedger
    cells: Cells

    @property
    def name(self) -> str:
        return f"{self.site.site.name} · {self.train.facts.train.name}"


@dataclass(frozen=True)
class View:
    """Trains in one currency: that of their site where there is but one, else the reporting currency.

    `units` is the system of units of the reader.
    """

    ledger: Ledger
    currency: str
    trains: tuple[Seen, ...]
    range: Range
    units: str = "SI"

    @classmethod
    def of(cls, ledger: Ledger, units: str = "SI") -> "View":
        one_site = len(ledger.sites) == 1
        trains = tuple(
            Seen(site.facts, train, train.cells if one_site else train.reported)
            for site in ledger.sites
            for train in site.trains
        )
        if not one_site:
            return cls(ledger, ledger.currency, trains, ledger.range, units)
        spread = trains[0].train.range if len(trains) == 1 else ledger.sites[0].range
        return cls(ledger, ledger.sites[0].facts.currency, trains, spread, units)

    @property
    def periods(self) -> Periods:
        return self.ledger.periods

    def total(self, year: int | None = None, names: tuple[str, ...] = BUDGET_COMPONENTS) -> Decimal:
        """Expected cost of all trains, of one year or all. [money]"""
        return total([seen.cells for seen in self.trains], self.periods, year=year, names=names)

    def near(self) -> Decimal:
        """Expected cost until the end of the next year. [money]"""
        return self.total(self.periods.start.year) + self.total(self.periods.near)
