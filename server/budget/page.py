"""The budget pages as typed values: what, when, how sure; by year, train and component; what it rests on."""

from dataclasses import dataclass
from decimal import Decimal

from analytics.decisions.budget import RUNNING
from analytics.judgement.words import all_of
from server.budget.answers import MOST_NAMED, Answer, TrainLine, answers, first_due, headline, train_line
from server.budget.bars import Bar, Tick, year_bars, year_ticks
from server.budget.choice_page import Against, against
from server.budget.cost_history import CostHistory
from server.budget.cost_page import WaterCostTable, water_cost
from server.budget.forms import SpendingForm
from server.budget.life_page import GroupDetail, group_details, rests_on
from server.budget.money_tables import MoneyTable, by_component, by_quarter, by_train, by_year
from server.budget.view import View
from server.budget.ways import Ways, ways
from server.budget.words import money, money_range
from server.display import counted, day
from server.templating import Frame

Links = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class BudgetPage:
    """The budget of the fleet, of one site or of one train.

    `files` is the beginning of the addresses of its workbook and PDF; `up` leads to what this is a part of, `parts` to
    what is a part of this. It is not `known` while no train has a life of elements: then there are no amounts.
    """

    frame: Frame
    place: str
    headline: str
    known: bool
    from_day: str
    currency: str
    answers: tuple[Answer, ...]
    bars: tuple[Bar, ...]
    total: str
    total_range: str
    lines: tuple[TrainLine, ...]
    ticks: tuple[Tick, ...]
    by_train: MoneyTable
    by_component: MoneyTable
    by_quarter: MoneyTable
    running: MoneyTable
    warnings: tuple[str, ...]
    files: str
    up: Links
    parts: Links
    change: tuple[str, str]


def budget_page(
    frame: Frame,
    view: View,
    *,
    place: str,
    files: str,
    change: tuple[str, str],
    up: Links = (),
    parts: Links = (),
) -> BudgetPage:
    """Put the page of a view together; `change` is the link to what it rests on."""
    years = by_year(view)
    return BudgetPage(
        frame=frame,
        place=place,
        headline=headline(view),
        known=any(seen.train.facts.life for seen in view.trains),
        from_day=day(view.periods.start),
        currency=view.currency,
        answers=answers(view),
        bars=year_bars([(r.label, r.expected, r.low, r.high, r.shown, r.shown_range) for r in years]),
        total=money(sum((row.expected for row in years), Decimal()), view.currency),
        total_range=money_range(view.range.low_total, view.range.high_total, view.currency),
        lines=tuple(train_line(seen, view) for seen in sorted(view.trains, key=lambda seen: first_due(seen, view))),
        ticks=year_ticks(view.periods),
        by_train=by_train(view),
        by_component=by_component(view),
        by_quarter=by_quarter(view),
        running=by_component(view, RUNNING, f"Running costs by year, not in the budget above, {view.currency}"),
        warnings=_warnings(view),
        files=files,
        up=up,
        parts=parts,
        change=change,
    )


@dataclass(frozen=True)
class TrainBudgetPage:
    """The budget of one train, with all that only one train has; None where it cannot be said."""

    frame: Frame
    budget: BudgetPage
    lives: tuple[GroupDetail, ...]
    rests_on: tuple[str, ...]
    ways: Ways | None
    cost: WaterCostTable | None
    history: CostHistory | None
    against: Against
    train_id: int


def train_budget_page(
    budget: BudgetPage, view: View, form: SpendingForm, history: CostHistory | None
) -> TrainBudgetPage:
    """Put the page of one train together."""
    seen = view.trains[0]
    return TrainBudgetPage(
        frame=budget.frame,
        budget=budget,
        lives=group_details(seen, view),
        rests_on=rests_on(seen, view.units),
        ways=ways(seen, view.periods, view.units),
        cost=water_cost(seen, view.units),
        history=history,
        against=against(seen, form),
        train_id=seen.train.facts.train.id,
    )


def _warnings(view: View) -> tuple[str, ...]:
    """What must be known before an amount is passed on."""
    examples = [site.facts for site in view.ledger.sites if not site.facts.choices.priced]
    found = []
    if examples:
        named = [one.site.name for one in examples[:MOST_NAMED]]
        rest = len(examples) - len(named)
        whose = all_of(named if not rest else [*named, counted(rest, "more site")])
        found.append(
            f"{whose}: no prices were given, the amounts are examples in US dollars. Give your own under Prices of"
            " this site."
        )
    currencies = {site.facts.currency for site in view.ledger.sites}
    foreign = sorted(currencies - {view.currency})
    unrated = [
        site.facts.site.name
        for site in view.ledger.sites
        if site.facts.currency != view.currency and not site.facts.choices.given.get("rate")
    ]
    if foreign and unrated and len(view.ledger.sites) > 1:
        found.append(f"No rate of exchange was given for {', '.join(unrated)}: 1 is taken, which is surely wrong.")
    return tuple(found)
