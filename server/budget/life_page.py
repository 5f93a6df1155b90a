"""The life of the elements of one train, limit by limit, and what it rests on."""

import math
from dataclasses import dataclass

from analytics.decisions.life_table import MOST_YEARS
from analytics.decisions.wear import Wear
from analytics.quantities import QUANTITIES
from server.budget.answers import age_of
from server.budget.life_document import KeptGroup, KeptLimit
from server.budget.periods import Periods
from server.budget.view import Seen, View
from server.budget.words import LIMIT_NAMES, chance, end_of, history
from server.display import DASH, THIN, number, percent, short_day, signed, with_unit

SURE_OF_LOG, SURE_OF_TRADE = 0.35, 0.7
"""Share of the trade's experience in a rate up to which it is called the log's, and from which the trade's."""

TEMPERATURE = QUANTITIES["feed_temperature"]
EIGHT_IN_TEN = 1.2816
"""Standard errors on either side of a normal value that hold it 8 times in 10."""


@dataclass(frozen=True)
class LimitLine:
    """Time to one limit: earliest, likely, latest, and how often it is the first."""

    name: str
    likely: str
    between: str
    first: str


@dataclass(frozen=True)
class GroupDetail:
    """The elements of one stage."""

    title: str
    installed: str
    limits: tuple[LimitLine, ...]
    rates: tuple[str, ...]
    warranty: str
    next_life: str


def group_details(seen: Seen, view: View) -> tuple[GroupDetail, ...]:
    """Every stage of a train."""
    life = seen.train.facts.life
    return tuple(_detail(group, age_of(seen, view), view.periods) for group in (life.groups if life else ()))


def _detail(group: KeptGroup, age: float, periods: Periods) -> GroupDetail:
    low, high = (group.next_life.quantile(share) for share in (0.1, 0.9))
    more = " or more" if high >= MOST_YEARS else ""
    installed = "day of installation not known" if group.installed is None else f"in since {short_day(group.installed)}"
    return GroupDetail(
        title=f"Stage {group.stage}: {group.elements} elements {group.model} in {group.vessels} vessels",
        installed=installed,
        limits=tuple(_limit(limit, age, periods) for limit in group.limits),
        rates=(_rate("Flow", group.flow, -1.0), _rate("Salt passage", group.salt, 1.0)),
        warranty="" if group.warranty is None else f"Outside the warranty before it ends: {chance(group.warranty)}.",
        next_life=f"A new set here lasts {number(group.next_life.quantile(0.5), 1)} years, 8 in 10: "
        f"{number(low, 1)}{DASH}{number(high, 1)}{more}.",
    )


def _limit(limit: KeptLimit, age: float, periods: Periods) -> LimitLine:
    low, middle, high = (_moved(years, age) for years in (limit.p10, limit.p50, limit.p90))
    return LimitLine(
        LIMIT_NAMES[limit.name], end_of(middle, periods), _span(end_of(low, periods), end_of(high, periods)),
        chance(limit.first),
    )  # fmt: skip


def _moved(years: float, age: float) -> float:
    return years if years >= MOST_YEARS else max(years - age, 0.0)


def _span(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def _rate(name: str, wear: Wear, sign: float) -> str:
    """Level just cleaned and its change, below zero for a loss of flow; `sign` turns a loss into that change."""
    ends = sorted(100 * (sign * wear.rate + shift * EIGHT_IN_TEN * wear.rate_error) for shift in (-1, 1))
    low, high = (signed(end, 1) for end in ends)
    return (
        f"{name} after a cleaning, against the reference: {percent(math.expm1(sign * wear.loss))} by now, "
        f"{percent(sign * wear.rate)} a year (8 in 10: {low} to {high}), {_whose(wear)}."
    )


def _whose(wear: Wear) -> str:
    if wear.from_trade >= SURE_OF_TRADE:
        return "a rate of the trade's experience: this log is too short to say its own"
    share = f"{round(100 * wear.from_trade)}{THIN}%"
    if wear.from_trade <= SURE_OF_LOG:
        return f"of this log ({history(wear.years)}, {wear.levels} levels)"
    return f"of this log ({history(wear.years)}, {wear.levels} levels) and for {share} of the trade's experience"


def rests_on(seen: Seen, units: str) -> tuple[str, ...]:
    """What the life of a train rests on, and what it leaves out."""
    life = seen.train.facts.life
    if life is None:
        return ()
    found = list(life.notes)
    if life.damaged:
        found.insert(
            0,
            "The elements were damaged at once (oxidation or hydrolysis), so their salt passage today counts, and its "
            "rate from here on is the trade's.",
        )
    if life.chlorine_spent is not None:
        tolerance = seen.train.facts.choices.sure("chlorine_tolerance")
        found.append(f"Free chlorine since the log began: {number(life.chlorine_spent)} of {number(tolerance)} mg·h/L.")
    if life.pump_flow is not None:
        share = f"{round(100 * life.pump_flow)}{THIN}%"
        found.append(
            f"The pump makes the contract's flow until normalized flow after a cleaning is {share} of the reference, "
            f"in the coldest water of the last year ({with_unit(life.coldest_c, TEMPERATURE, units)})."
        )
    if life.product_salt is not None:
        found.append(
            f"The product meets the contract until salt passage is {number(life.product_salt, 2)} times the "
            f"reference, in the warmest water of the last year ({with_unit(life.warmest_c, TEMPERATURE, units)})."
        )
    return tuple(found)
