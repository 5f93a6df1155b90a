"""Everything that a budget assumed, row by row: choices with where they come from, the method, its sources, lives."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import analytics
from analytics.decisions.life_table import MOST_YEARS
from server.budget.answers import age_of
from server.budget.choices import BY_SCOPE, WATER_SOURCES, Choice, Chosen
from server.budget.cleaning_cost import cleaning_cost
from server.budget.plan import change_costs, whole
from server.budget.units import hint_of, label_of, to_reader, unit_of
from server.budget.view import View
from server.budget.words import LIMIT_WORDS
from server.display import day

METHOD = (
    ("Life", "Level and yearly rate of the loss that no cleaning gives back, from the levels after cleanings, with the "
     "trade's experience as the start: 7 % of flow and 8 % of salt passage a year unless the source of the water says "
     "otherwise. The loss wanders beside its rate; 1000 futures give the time to each limit."),
    ("Trade's experience", "Design allowances of membrane makers, from memory: flow 3 to 7 % a year on wells, 7 to "
     "10 % on surface water, up to 15 % on reuse; salt passage 5 to 10 % a year, up to 15 %."),
    ("Expected", "Mean number of replacements in a quarter over all futures, times the price of that quarter. Rounded "
     "once to whole money by train, component and quarter, half up; everything else is a sum of these."),
    ("Low and high", "One future in ten costs less, one in ten more. They hold wear, accidents and the price of "
     "elements; they do not add up over years or trains."),
    ("Reserve", "Chance of an accident in a year times the price of a whole set. That an accident also renews the "
     "elements is left out, so the reserve is on the safe side."),
)  # fmt: skip

RECORDS = (
    "Chemicals, work at the site's rate, waste and energy of the records that name the first two, per element cleaned."
)


@dataclass(frozen=True)
class AssumptionRow:
    """One assumption; `value` is a number where it is one."""

    where: str
    label: str
    value: float | str
    source: str
    meaning: str

    @property
    def shown(self) -> str:
        return f"{self.value:g}" if isinstance(self.value, float) else self.value


@dataclass(frozen=True)
class LifeRow:
    """The elements of one stage; a day beyond 25 years is None; `change` is in `currency`, of the site."""

    train: str
    stage: int
    elements: int
    due: tuple[date | None, ...]
    why: str
    next_life: float
    change: Decimal
    currency: str


def assumption_rows(view: View) -> tuple[AssumptionRow, ...]:
    """Choices of logbook, sites and trains, then the method and what made this."""
    found = _choices("All sites", view.ledger.logbook, view.units)
    for site in view.ledger.sites:
        found += _choices(f"{site.facts.site.name}, {site.facts.currency}", site.facts.choices, view.units)
        for train in site.trains:
            place = f"{site.facts.site.name} · {train.facts.train.name}"
            found += _choices(place, train.facts.choices, view.units)
            if (cost := cleaning_cost(train.facts, site.facts.choices)).source not in ("given", "default"):
                found.append(
                    AssumptionRow(
                        place, "Cost of a cleaning per element", round(cost.per_element, 4), cost.source, RECORDS
                    )
                )
    found += [AssumptionRow("Method", label, "", "", text) for label, text in METHOD]
    found.append(AssumptionRow("Made by", "Skidbook", analytics.__version__, "", f"{view.ledger.draws} futures."))
    found.append(AssumptionRow("Made by", "Last reading", day(view.periods.start), "", "Everything counts from here."))
    return tuple(found)


def _choices(where: str, chosen: Chosen, units: str) -> list[AssumptionRow]:
    return [
        AssumptionRow(
            where, _label(choice, units), _value(choice, chosen, units), _source(choice, chosen), hint_of(choice, units)
        )
        for choice in BY_SCOPE[chosen.scope]
        if chosen.given.get(choice.name) or choice.default is not None
    ]


def _label(choice: Choice, units: str) -> str:
    unit = unit_of(choice.kind, units)
    return f"{label_of(choice, units)} [{unit}]" if unit else label_of(choice, units)


def _value(choice: Choice, chosen: Chosen, units: str) -> float | str:
    if choice.kind == "choice":
        return dict(WATER_SOURCES)[chosen.text(choice.name)]
    if choice.kind in ("text", "day"):
        return chosen.text(choice.name)
    return round(to_reader(chosen.sure(choice.name), choice.kind, units), 6)


def _source(choice: Choice, chosen: Chosen) -> str:
    return "given" if chosen.given.get(choice.name) else "default"


def life_rows(view: View) -> tuple[LifeRow, ...]:
    """The elements of every stage of every train."""
    found: list[LifeRow] = []
    for seen in view.trains:
        life = seen.train.facts.life
        for group in life.groups if life else ():
            table = group.due.after(age_of(seen, view))
            first = max(group.limits, key=lambda limit: limit.first, default=None)
            costs = change_costs(group, seen.train.facts, seen.site.choices)
            found.append(
                LifeRow(
                    train=seen.name,
                    stage=group.stage,
                    elements=group.elements,
                    due=_days([table.quantile(share) for share in (0.1, 0.5, 0.9)], view),
                    why=LIMIT_WORDS[first.name] if first and first.first > 0 else "",
                    next_life=round(group.next_life.quantile(0.5), 1),
                    change=whole(sum(costs.values())),
                    currency=seen.site.currency,
                )
            )
    return tuple(found)


def _days(years: Sequence[float], view: View) -> tuple[date | None, ...]:
    return tuple(None if one >= MOST_YEARS else view.periods.day(one) for one in years)
