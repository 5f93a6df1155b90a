"""What could be done instead, side by side, for the page of one train."""

from dataclasses import dataclass

from analytics.decisions.strategies import Terms
from analytics.decisions.strategy_prices import StrategyPrices
from analytics.decisions.strategy_range import LikeCosts, RangedCost, StageAges, like_costs, ranged_costs
from analytics.judgement.words import all_of
from analytics.quantities import QUANTITIES
from server.budget.choices import ENERGY, GOODS, WORK
from server.budget.cleaning_cost import cleaning_cost, cleaning_note
from server.budget.periods import Periods
from server.budget.plan import change_costs, cleanings_per_year, whole
from server.budget.view import Seen
from server.budget.words import about, money
from server.display import (
    DASH,
    THIN,
    counted,
    in_reader_units,
    measured,
    number,
    percent,
    reader_unit,
    uncapitalized,
)

NOT_COUNTED = ("lost production",)


@dataclass(frozen=True)
class Way:
    """One way: what it likely costs, low to high, against the whole set, and whether it keeps the contract.

    `same` says which ways come to the same, and why; nothing where none does.
    """

    title: str
    assumes: str
    same: str
    worth: str
    between: str
    more: str
    keeps: str
    breaks: bool
    renewed: str
    years: tuple[str, ...]
    cleanings: str
    energy: str
    standstill: str
    pressure: str
    product: str
    best: bool


@dataclass(frozen=True)
class Ways:
    """All ways, the cheapest that keeps the contract first; `folded` are title and assumption of those that another one
    stands for."""

    lead: str
    years: tuple[str, ...]
    ways: tuple[Way, ...]
    folded: tuple[tuple[str, str], ...]
    assumptions: tuple[str, ...]


@dataclass(frozen=True)
class Played:
    """All ways with slow, likely and fast ageing: `alike` puts those together that come to the same."""

    whole_set: RangedCost
    alike: tuple[LikeCosts, ...]


def played(seen: Seen, periods: Periods) -> Played | None:
    """Play every way for a train; None where there is no membrane model of it."""
    life = seen.train.facts.life
    if life is None or life.model is None or life.coldest_c is None or life.warmest_c is None:
        return None
    stages = [StageAges(one.flow, one.salt, profile) for one, profile in zip(life.groups, life.profiles, strict=True)]
    costs = ranged_costs(life.model, stages, _terms(seen, periods), _prices(seen))
    whole_set = next(cost for cost in costs if cost.likely.course.strategy.name == "whole")
    return Played(whole_set, like_costs(costs))


def ways(seen: Seen, periods: Periods, units: str) -> Ways | None:
    """Every way in words; None where none can be played."""
    found = played(seen, periods)
    if found is None:
        return None
    whole_set, alike = found.whole_set, found.alike
    last = periods.start.year + len(whole_set.likely.by_year)
    others = [one.likely.course.strategy for like in alike for one in like.others]
    return Ways(
        lead=_lead(alike[0].cost, whole_set, seen.site.currency, last),
        years=tuple(str(year) for year in range(periods.start.year + 1, last + 1)),
        ways=tuple(_way(like, whole_set, seen, units, last, best=n == 0) for n, like in enumerate(alike)),
        folded=tuple((one.title, one.assumes) for one in others),
        assumptions=_assumptions(seen),
    )


def _lead(best: RangedCost, whole_set: RangedCost, currency: str, last: int) -> str:
    title = best.likely.course.strategy.title
    if not best.likely.course.keeps_contract:
        return "None of these ways keeps the contract all the time; the cheapest comes first."
    if best is whole_set and not sum(best.likely.course.renewed):
        lead = f"Nothing need be bought to keep the contract until the end of {last}"
        return f"{lead}, unless elements age fast." if sum(best.fast.course.renewed) else f"{lead}."
    lead = f"{title} is the cheapest way that keeps the contract"
    if whole_set.likely.worth > best.likely.worth:
        saved = about(whole(whole_set.likely.worth - best.likely.worth), currency)
        lead += f": {saved} less than the whole set, in money of today"
    return f"{lead}." if best.surely_keeps_contract else f"{lead}, unless elements age fast."


def _same(like: LikeCosts, last: int) -> str:
    """Which ways come to the same as this one, and why."""
    if not like.others:
        return ""
    titles = all_of([uncapitalized(one.likely.course.strategy.title) for one in like.others])
    if like.idle:
        return (
            f"No different: {titles}. Nothing is due before the end of {last}, so there is nothing to do another way."
        )
    return (
        f"No different: {titles}. What they do first is not needed here or not enough, so the same elements are bought "
        "in the same years, however fast they age."
    )


def _terms(seen: Seen, periods: Periods) -> Terms:
    life, train, site = seen.train.facts.life, seen.train.facts, seen.site.choices
    assert life is not None and life.model is not None and life.coldest_c is not None and life.warmest_c is not None
    return Terms(
        permeate_flow_m3h=life.permeate_flow_m3h or life.model.permeate_flow_m3h,
        recovery=life.recovery or life.model.recovery,
        coldest_c=life.coldest_c,
        warmest_c=life.warmest_c,
        most_pressure_bar=train.choices.number("most_feed_pressure"),
        element_pressure_bar=min(stage.membrane.max_pressure_bar for stage in life.model.stages),
        product_salt=life.product_salt,
        permeability=train.choices.sure("permeability_left"),
        cleanings_per_year=cleanings_per_year(train),
        availability=site.sure("availability"),
        efficiency=site.sure("efficiency"),
        years=len(periods.years) - 1,
    )


def _prices(seen: Seen) -> StrategyPrices:
    site, train = seen.site.choices, seen.train.facts
    assert train.life is not None
    group = train.life.groups[0]
    costs = change_costs(group, train, site)
    elements = sum(one.elements for one in train.life.groups)
    flow = train.life.permeate_flow_m3h or 0.0
    return StrategyPrices(
        element={name: costs[name] / group.elements for name in costs if name not in NOT_COUNTED},
        moved=costs["labour"] / group.elements,
        standstill=costs["lost production"] if flow else 0.0,
        standstill_hours=site.sure("standstill_hours"),
        cleaning=elements * cleaning_cost(train, site).per_element,
        kwh=site.sure("energy_price"),
        feed_m3=site.sure("feed_price"),
        rise={"goods": site.sure(GOODS), "work": site.sure(WORK), "energy": site.sure(ENERGY)},
        discount=site.sure("discount_rate"),
    )


def _way(like: LikeCosts, whole_set: RangedCost, seen: Seen, units: str, last: int, *, best: bool) -> Way:
    cost = like.cost
    course = cost.likely.course
    more = whole(cost.likely.worth) - whole(whole_set.likely.worth)
    same = course.strategy.name != "whole" and more == 0
    reference = "as the whole set" if same else f"{money(more) if more < 0 else '+' + money(more)}"
    pressure = QUANTITIES["feed_pressure"]
    most = max(course.pressure_bar)
    return Way(
        title=course.strategy.title,
        assumes=course.strategy.assumes,
        same=_same(like, last),
        worth=money(whole(cost.likely.worth)),
        between=f"{money(whole(cost.low))}{DASH}{money(whole(cost.high))}",
        more="" if course.strategy.name == "whole" else reference,
        keeps=contract_words(cost),
        breaks=not course.keeps_contract,
        renewed=_renewed(cost),
        years=tuple(money(whole(amount)) for amount in cost.likely.by_year),
        cleanings=number(sum(course.cleanings), 0),
        energy=f"{number(sum(course.energy_kwh) / 1000, 0)}{THIN}MWh",
        standstill=f"{number(cost.likely.standstill_hours)}{THIN}h",
        pressure=f"{in_reader_units(most, pressure, units)}{THIN}{reader_unit(pressure, units)}",
        product=f"{measured(max(course.product))} times the reference",
        best=best and course.keeps_contract,
    )


def contract_words(cost: RangedCost) -> str:
    """Whether a way keeps the contract, and if not, how often it is broken."""
    likely, fast = (sum(not kept for kept in one.course.kept) for one in (cost.likely, cost.fast))
    if likely:
        return f"does not keep it: broken in {counted(likely, 'year')}"
    return f"kept; broken in {counted(fast, 'year')} if elements age fast" if fast else "kept"


def _renewed(cost: RangedCost) -> str:
    """Elements that are bought: likely, and where it differs with slow or fast ageing."""
    slow, likely, fast = (sum(one.course.renewed) for one in (cost.slow, cost.likely, cost.fast))
    low, high = min(slow, likely, fast), max(slow, likely, fast)
    return number(likely) if low == high else f"{number(likely)} ({number(low)}{DASH}{number(high)})"


def _assumptions(seen: Seen) -> tuple[str, ...]:
    life, site = seen.train.facts.life, seen.site.choices
    assert life is not None
    rates = "; ".join(
        f"stage {g.stage}: flow {percent(-g.flow.rate)}, salt passage {percent(g.salt.rate)} a year, "
        f"loss sits {_place(profile)}"
        for g, profile in zip(life.groups, life.profiles, strict=True)
    )
    return (
        f"Likely: {rates}. Low and high are the least and the most that a way costs when all stages age slowly or "
        "fast: one future in ten is slower, one in ten faster, by each rate. Prices are the same in all.",
        "Coldest water for the pressure, warmest for the product; each way is looked at before a year begins.",
        *([note] if (note := cleaning_note(seen.train.facts, seen.site)) else []),
        f"Prices as above, rising; discounted by {number(100 * site.sure('discount_rate'), 1)}{THIN}% a year to today.",
        "Counted: energy of the feed pump, feed water, cleanings, elements with all that goes with them, standstill. "
        "Left out: what is the same in all ways.",
    )


def _place(profile: str) -> str:
    return {"even": "evenly", "lead": "in the first elements", "tail": "in the last elements"}[profile]
