"""From facts to amounts: the simulation, and a ledger of whole money in which every sum is a sum of its cells.

Rounding: the expected cost of one train, component and quarter is rounded once, half up, to whole money; in the
reporting currency once more after the rate. Everything else adds these up, so that page, PDF and workbook cannot
differ.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

import numpy as np
import numpy.typing as npt

from analytics.decisions.annualised import HOURS_PER_YEAR
from analytics.decisions.budget import (
    COMPONENTS,
    RUNNING,
    Budget,
    Renewal,
    Spread,
    TrainPlan,
    simulate_budget,
)
from analytics.decisions.cost_per_m3 import pump_power_kw
from server.budget.choices import ESCALATION_OF, SEED, Chosen
from server.budget.cleaning_cost import cleaning_cost
from server.budget.life_document import KeptGroup
from server.budget.periods import DAYS_PER_YEAR, Periods
from server.budget.queries import SiteFacts, TrainFacts

Array = npt.NDArray[np.float64]
Cells = Mapping[str, tuple[Decimal, ...]]

DRAWS = 2000
WEEKS_PER_YEAR = DAYS_PER_YEAR / 7
WHOLE = Decimal(1)
BUDGET_COMPONENTS = tuple(name for name in COMPONENTS if name not in RUNNING)


@dataclass(frozen=True)
class Range:
    """Low and high by year, until the end of the next year, and over all; whole money."""

    low: Mapping[int, Decimal]
    high: Mapping[int, Decimal]
    low_near: Decimal
    high_near: Decimal
    low_total: Decimal
    high_total: Decimal


@dataclass(frozen=True)
class TrainLedger:
    """One train: cells by component and quarter, in its site's currency and in the reporting one."""

    facts: TrainFacts
    cells: Cells
    reported: Cells
    range: Range


@dataclass(frozen=True)
class SiteLedger:
    """One site with its trains; `range` in its own currency."""

    facts: SiteFacts
    trains: tuple[TrainLedger, ...]
    range: Range


@dataclass(frozen=True)
class Ledger:
    """The whole budget. `currency` is the reporting one, in which `range` is."""

    periods: Periods
    currency: str
    logbook: Chosen
    sites: tuple[SiteLedger, ...]
    range: Range
    draws: int

    @property
    def trains(self) -> tuple[TrainLedger, ...]:
        return tuple(train for site in self.sites for train in site.trains)


def whole(value: float | Decimal) -> Decimal:
    """Round to whole money, half up.

    Examples
    --------
    >>> whole(2.5), whole(Decimal("1.4"))
    (Decimal('3'), Decimal('1'))
    """
    return Decimal(repr(value) if isinstance(value, float) else value).quantize(WHOLE, ROUND_HALF_UP)


def total(
    cells: Iterable[Cells], periods: Periods, *, year: int | None = None, names: Sequence[str] = BUDGET_COMPONENTS
) -> Decimal:
    """Sum of the cells of some trains: of one year or all, of some components."""
    first, end = (0, len(periods.quarters)) if year is None else periods.span(year, year)
    return sum((sum(one[name][first:end], Decimal()) for one in cells for name in names), Decimal())


def make_ledger(sites: Sequence[SiteFacts], logbook: Chosen, start: date, *, draws: int = DRAWS) -> Ledger:
    """Simulate the budget of some sites and write its ledger.

    Parameters
    ----------
    sites
        All facts; a train without a life has empty cells.
    logbook
        Choices of the whole logbook.
    start
        Today, as the logbook knows it.
    """
    periods = Periods.of(start, int(logbook.sure("horizon_years")))
    spans = [periods.span(year, year) for year in periods.years]
    plans = [train_plan(train, site, periods) for site in sites for train in site.trains if train.life is not None]
    spread = max((site.choices.sure("price_spread") for site in sites), default=0.0)
    budget = simulate_budget(
        plans,
        periods.edges,
        rng=np.random.default_rng(SEED),
        draws=draws,
        price_spread=spread,
        spans=[*spans, periods.span(periods.start.year, periods.near)],
        by_train=lambda train_id: np.random.default_rng([SEED, train_id]),
    )
    return _written(budget, sites, logbook, periods, draws)


def train_plan(train: TrainFacts, site: SiteFacts, periods: Periods) -> TrainPlan:
    """What the simulation needs of a train whose life is known."""
    life, choices = train.life, site.choices
    assert life is not None and train.as_of is not None
    since = max((periods.start - train.as_of.date()).days / DAYS_PER_YEAR, 0.0)
    delivered = choices.sure("lead_time_weeks") / WEEKS_PER_YEAR
    return TrainPlan(
        train_id=train.train.id,
        site_id=site.site.id,
        renewals=tuple(
            Renewal(
                group.stage,
                group.due.after(since).not_before(delivered),
                group.next_life,
                change_costs(group, train, choices),
            )
            for group in life.groups
        ),
        accident_rate=choices.sure("accident_rate"),
        yearly=running_costs(train, choices),
        escalation={name: choices.sure(ESCALATION_OF[name]) for name in COMPONENTS},
        rate=choices.sure("rate"),
    )


def change_costs(group: KeptGroup, train: TrainFacts, choices: Chosen) -> dict[str, float]:
    """What it costs today to change the elements of one stage, by component. [money]"""
    count, price = group.elements, train.choices.number("element_price") or choices.sure("element_price")
    flow = (train.life.permeate_flow_m3h if train.life else None) or 0.0
    goods = {
        "elements": count * price,
        "seals": count * choices.sure("seals_per_element"),
        "freight": count * choices.sure("freight_per_element"),
    }
    return goods | {
        "labour": count * choices.sure("hours_per_element") * choices.sure("labour_rate"),
        "tax": sum(goods.values()) * choices.sure("tax_share"),
        "disposal": count * choices.sure("disposal_per_element"),
        "lost production": choices.sure("standstill_hours") * flow * choices.sure("water_value"),
    }


def running_costs(train: TrainFacts, choices: Chosen) -> dict[str, float]:
    """What cleaning and energy cost in a year today. [money/a]"""
    life = train.life
    assert life is not None
    elements = sum(group.elements for group in life.groups)
    energy = yearly_energy_kwh(train, choices)
    return {
        "cleaning": cleanings_per_year(train) * elements * cleaning_cost(train, choices).per_element,
        "energy": (energy or 0.0) * choices.sure("energy_price"),
    }


def cleanings_per_year(train: TrainFacts) -> float:
    """As chosen, as in the log, or one a year (every 3 to 12 months is normal, published cleaning advice). [1/a]"""
    chosen = train.choices.number("cleanings_per_year")
    logged = train.life.cleanings_per_year if train.life else None
    return chosen if chosen is not None else logged if logged is not None else 1.0


def yearly_energy_kwh(train: TrainFacts, choices: Chosen) -> float | None:
    """Energy of the feed pump in a year at today's pressure; None where that is not known. [kWh/a]"""
    life = train.life
    if life is None or not life.feed_pressure_bar or not life.permeate_flow_m3h or not life.recovery:
        return None
    power = float(
        pump_power_kw(life.permeate_flow_m3h / life.recovery, life.feed_pressure_bar, choices.sure("efficiency"))
    )
    return power * HOURS_PER_YEAR * choices.sure("availability")


def _written(budget: Budget, sites: Sequence[SiteFacts], logbook: Chosen, periods: Periods, draws: int) -> Ledger:
    by_train = {one.train_id: one for one in budget.trains}
    by_site = {one.site_id: one.spread for one in budget.sites}
    nothing = np.zeros(len(periods.quarters))
    written = []
    for site in sites:
        rate = Decimal(repr(site.choices.sure("rate")))
        trains = []
        for train in site.trains:
            found = by_train.get(train.train.id)
            cells = {
                name: tuple(whole(float(v)) for v in (found.expected[name] if found else nothing))
                for name in COMPONENTS
            }
            reported = {name: tuple(whole(cell * rate) for cell in row) for name, row in cells.items()}
            trains.append(TrainLedger(train, cells, reported, _range(found.spread if found else None, periods)))
        written.append(SiteLedger(site, tuple(trains), _range(by_site.get(site.site.id), periods)))
    return Ledger(
        periods, reporting_currency(sites, logbook), logbook, tuple(written), _range(budget.spread, periods), draws
    )


def reporting_currency(sites: Sequence[SiteFacts], logbook: Chosen) -> str:
    """As chosen, else that of the sites where they share one, else that of the first."""
    return logbook.text("reporting_currency") or next((site.currency for site in sites), "USD")


def _range(spread: Spread | None, periods: Periods) -> Range:
    zero = dict.fromkeys(periods.years, Decimal())
    if spread is None:
        return Range(zero, zero, *[Decimal()] * 4)
    low, high = ([whole(float(v)) for v in values] for values in (spread.low, spread.high))
    return Range(
        dict(zip(periods.years, low, strict=False)),
        dict(zip(periods.years, high, strict=False)),
        low[-1],
        high[-1],
        whole(spread.low_total),
        whole(spread.high_total),
    )
