"""What, when, and how sure: the three questions of whoever pays, answered before anything else."""

import math
from dataclasses import dataclass
from datetime import timedelta

from analytics.judgement.words import all_of
from server.budget.bars import LifeBar, life_bar
from server.budget.life_document import KeptGroup
from server.budget.periods import DAYS_PER_YEAR
from server.budget.plan import total
from server.budget.view import Seen, View
from server.budget.words import (
    LIMIT_WORDS,
    NOW_YEARS,
    about,
    about_range,
    between,
    end_of,
    history,
    month,
    trade_share,
    when,
)
from server.display import counted, sentence

MOST_NAMED = 3
"""Trains that an answer names; the list below it has them all."""


@dataclass(frozen=True)
class Answer:
    """One question with its answer and what stands behind it."""

    question: str
    answer: str
    more: str


@dataclass(frozen=True)
class GroupLine:
    """The elements of one stage: when they are due and why."""

    stage: str
    elements: str
    likely: str
    between: str
    order_by: str
    why: str
    bar: LifeBar


@dataclass(frozen=True)
class TrainLine:
    """One train; `note` stands in place of the rest while its life is not known."""

    train_id: int
    place: str
    groups: tuple[GroupLine, ...]
    near: str
    near_range: str
    sure: str
    note: str


@dataclass(frozen=True)
class Due:
    """Elements of one stage that are likely due until the end of the next year."""

    seen: Seen
    group: KeptGroup
    years: float


def headline(view: View) -> str:
    """What the next budget needs, in a sentence that somebody could read out."""
    near, until = view.near(), view.periods.near
    if not any(seen.train.facts.life for seen in view.trains):
        return "Nothing can be said yet: bring in the logs of the trains first."
    due = due_soon(view)
    amount = about(near, view.currency)
    if not due:
        return f"No elements are likely to be due by the end of {until}; keep {amount} for what may still happen."
    whose = all_of(list(dict.fromkeys(one.seen.name for one in due))[:2])
    return f"About {amount} for elements by the end of {until}: {whose}."


def due_soon(view: View) -> list[Due]:
    """Stages that are more likely than not due until the end of the next year, earliest first."""
    end = view.periods.until(view.periods.quarters[view.periods.span(view.periods.near, view.periods.near)[1] - 1].last)
    found = [
        Due(seen, group, years)
        for seen in view.trains
        for group in (seen.train.facts.life.groups if seen.train.facts.life else ())
        if (years := group.due.after(age_of(seen, view)).quantile(0.5)) <= end
    ]
    return sorted(found, key=lambda one: one.years)


def first_due(seen: Seen, view: View) -> float:
    """When the first stage of a train is likely due; far away while that is not known. [a]"""
    groups = seen.train.facts.life.groups if seen.train.facts.life else ()
    return min((group.due.after(age_of(seen, view)).quantile(0.5) for group in groups), default=math.inf)


def age_of(seen: Seen, view: View) -> float:
    """Time since the train's own last reading. [a]"""
    as_of = seen.train.facts.as_of
    return max((view.periods.start - as_of.date()).days / DAYS_PER_YEAR, 0.0) if as_of else 0.0


def answers(view: View) -> tuple[Answer, ...]:
    """The three answers."""
    due = due_soon(view)
    return (_what(view, due), _when(view, due), _how_sure(view))


def _what(view: View, due: list[Due]) -> Answer:
    if not any(seen.train.facts.life for seen in view.trains):
        return Answer("What", "Not known", "No life of elements is known yet.")
    if not due:
        return Answer("What", "No elements", "Only the reserve for accidents and what may come early.")
    count = sum(one.group.elements for one in due)
    named = [_stage(one) for one in due[:MOST_NAMED]]
    rest = len(due) - len(named)
    more = "; ".join(named) + (f"; and {counted(rest, 'more stage')}" if rest else "")
    return Answer("What", counted(count, "element"), f"{more}.")


def _when(view: View, due: list[Due]) -> Answer:
    if not due:
        soonest = min(
            (group.due.after(age_of(seen, view)).quantile(0.5), seen.name)
            for seen in view.trains
            for group in (seen.train.facts.life.groups if seen.train.facts.life else ())
        ) if any(seen.train.facts.life for seen in view.trains) else None  # fmt: skip
        if soonest is None:
            return Answer("When", "Not known", "There are no readings yet.")
        return Answer("When", sentence(end_of(soonest[0], view.periods)), f"{soonest[1]} is the first that is due.")
    first = due[0]
    table = first.group.due.after(age_of(first.seen, view))
    more = f"{_stage(first)}: 8 in 10: {between(table, view.periods)}."
    if table.quantile(0.9) <= NOW_YEARS:
        more = f"{_stage(first)} is past its limit."
    later = [f"{_stage(one)}: {end_of(one.years, view.periods)}." for one in due[1:MOST_NAMED]]
    return Answer("When", sentence(when(table, view.periods)), " ".join([more, _order(first, view), *later]))


def _stage(due: Due) -> str:
    return f"{due.seen.name}, stage {due.group.stage}"


def _order(first: Due, view: View) -> str:
    weeks = first.seen.site.choices.sure("lead_time_weeks")
    return f"Delivery takes {weeks:g} weeks: order {_order_by(first.years, weeks, view)}."


def _order_by(years: float, weeks: float, view: View) -> str:
    ordered = view.periods.day(years) - timedelta(weeks=weeks)
    return "now" if ordered <= view.periods.start else f"by {month(ordered)}"


def _how_sure(view: View) -> Answer:
    low, high = view.range.low_near, view.range.high_near
    if not any(seen.train.facts.life for seen in view.trains):
        return Answer("How sure", "Not known", "Lives are worked out when readings come in.")
    rates = [
        wear.from_trade
        for seen in view.trains
        for group in (seen.train.facts.life.groups if seen.train.facts.life else ())
        for wear in (group.flow, group.salt)
    ]
    logs = [seen.train.facts.life.history_years for seen in view.trains if seen.train.facts.life]
    span = f"logs of {history(min(logs))}" if logs else "no log"
    until = f"by the end of {view.periods.near}"
    more = f"8 in 10 futures cost this much {until}."
    if high <= 0:
        more = f"So many futures and more cost nothing {until}; the reserve is for the others."
    more += f" The rates of ageing rest on {span} and, "
    more += f"for {trade_share(rates)}, on the trade's experience."
    return Answer("How sure", about_range(low, high, view.currency) if high > 0 else "9 in 10 cost nothing", more)


def train_line(seen: Seen, view: View) -> TrainLine:
    """One train of the list."""
    facts = seen.train.facts
    if facts.life is None:
        note = "No life is known yet: it is worked out when readings come in."
        return TrainLine(facts.train.id, seen.name, (), "", "", "", note)
    own = seen.train.range
    near = total([seen.train.cells], view.periods, year=view.periods.start.year)
    near += total([seen.train.cells], view.periods, year=view.periods.near)
    life = facts.life
    sure = f"Log of {history(life.history_years)}; "
    sure += f"{trade_share([w.from_trade for g in life.groups for w in (g.flow, g.salt)])} the trade's experience."
    if life.damaged:
        sure += " The elements were damaged at once, not by age."
    return TrainLine(
        train_id=facts.train.id,
        place=seen.name,
        groups=tuple(_group_line(group, seen, view) for group in life.groups),
        near=about(near, seen.site.currency),
        near_range=about_range(own.low_near, own.high_near, seen.site.currency),
        sure=sure,
        note="",
    )


def _group_line(group: KeptGroup, seen: Seen, view: View) -> GroupLine:
    table = group.due.after(age_of(seen, view))
    weeks = seen.site.choices.sure("lead_time_weeks")
    first = max(group.limits, key=lambda limit: limit.first, default=None)
    likely = when(table, view.periods)
    return GroupLine(
        stage=f"Stage {group.stage}",
        elements=counted(group.elements, "element"),
        likely=likely,
        between=between(table, view.periods),
        order_by=_order_by(table.quantile(0.5), weeks, view),
        why=LIMIT_WORDS[first.name] if first and first.first > 0 else "no limit within 25 years",
        bar=life_bar(f"Stage {group.stage}", table, likely),
    )
