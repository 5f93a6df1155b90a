"""All cleanings of a train in a row, each judged from one log: what came back, how late it was, when the next came."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pandas as pd

from analytics.decisions.cleaning_effect import CleaningResult, IndicatorEffect, indicator_effect, judge_cleaning
from analytics.decisions.cleaning_programme import PastCleaning, ProgrammeVerdict, judge_programme
from analytics.events import Event
from analytics.judgement.trend import Segment, Trend
from analytics.plant import Plant

CLEANING = "cleaning"
NAMES = ("permeate_flow", "salt_passage", "pressure_drop")
Key = tuple[str, str]
"""Scope and name of an indicator."""


@dataclass(frozen=True)
class CleaningDays:
    """One cleaning as the log needs it: first and last local day, and the stage, None for the whole train."""

    first: date
    last: date
    stage: int | None


@dataclass(frozen=True)
class JudgedCleaning:
    """One cleaning with what became of it.

    `delay_days` is how long after passing its limit it came, None where the limit was not passed or that is not known;
    `next_days` how long until the next cleaning of the same stage.
    """

    days: CleaningDays
    result: CleaningResult
    delay_days: int | None
    next_days: int | None = None

    @property
    def past(self) -> PastCleaning:
        """The same as the programme takes it."""
        governing = self.result.governing
        share = governing.efficiency.value if governing and governing.efficiency else None
        return PastCleaning(self.days.first, self.days.stage, self.result.quality, share)


@dataclass(frozen=True)
class CleaningHistory:
    """The cleanings, oldest first, and what they say together."""

    cleanings: tuple[JudgedCleaning, ...]
    programme: ProgrammeVerdict


def judge_cleanings(
    plant: Plant,
    cleanings: Sequence[CleaningDays],
    daily: Mapping[Key, pd.Series],
    segments: Mapping[Key, Sequence[Segment]],
    *,
    next_due: date | None = None,
) -> CleaningHistory:
    """Judge the cleanings of a train.

    Parameters
    ----------
    plant : Plant
    cleanings : sequence of CleaningDays
        Oldest first.
    daily : mapping
        Ratios to the reference by local day; days out of line NaN. [-]
    segments : mapping
        The trends of the same, run by run.
    next_due : date, optional
        When the next cleaning is due.

    Returns
    -------
    CleaningHistory
    """
    found: list[JudgedCleaning] = []
    for cleaning in cleanings:
        effects = [
            indicator_effect(
                daily[scope, name],
                segments.get((scope, name), ()),
                scope=scope,
                name=name,
                first=pd.Timestamp(cleaning.first),
                last=pd.Timestamp(cleaning.last),
                level_after_previous=_level_after(found, scope, name),
            )
            for scope, name in _looked_at(plant, cleaning.stage)
            if (scope, name) in daily and daily[scope, name].notna().any()
        ]
        result = judge_cleaning(effects, _limits(plant))
        found.append(JudgedCleaning(cleaning, result, _delay(plant, segments, result, cleaning.first, found)))
    found = [replace(one, next_days=_until_next(found, place)) for place, one in enumerate(found)]
    return CleaningHistory(tuple(found), judge_programme([one.past for one in found], next_due=next_due))


def cleanings_of_log(
    plant: Plant, events: Sequence[Event], trends: Sequence[Trend], daily: pd.DataFrame, aside: pd.DataFrame
) -> CleaningHistory:
    """Judge the cleanings among the events of a log.

    Parameters
    ----------
    plant : Plant
    events : sequence of Event
        In the order of time.
    trends : sequence of Trend
    daily, aside : DataFrame
        `<scope>_<indicator>` by local day [-], and which of these days are out of line.

    Returns
    -------
    CleaningHistory
    """
    zone = ZoneInfo(plant.site.timezone)
    days = [event.time.astimezone(zone).date() for event in events if event.kind == CLEANING]
    stages = [event.stage for event in events if event.kind == CLEANING]
    columns = {(trend.scope, trend.name): f"{trend.scope}_{trend.name}" for trend in trends}
    return judge_cleanings(
        plant,
        [CleaningDays(day, day, stage) for day, stage in zip(days, stages, strict=True)],
        {key: daily[name].mask(aside[name]) for key, name in columns.items()},
        {(trend.scope, trend.name): trend.segments for trend in trends},
    )


def _looked_at(plant: Plant, stage: int | None) -> list[Key]:
    """What a cleaning is judged by: the stage that was cleaned, or all of them, and the train.

    Pressure drop of a train of several stages is left to its stages.
    """
    stages = [f"stage{stage}"] if stage else [scope for scope in plant.train.scopes if scope != "train"]
    several = len(plant.train.stages) > 1
    return [
        (scope, name)
        for scope in (*stages, "train")
        for name in NAMES
        if not (scope == "train" and name == "pressure_drop" and several)
    ]


def _level_after(earlier: Sequence[JudgedCleaning], scope: str, name: str) -> float:
    """Level after the cleaning before; that of the reference where there was none. [-]"""
    effects: list[IndicatorEffect] = [effect for one in reversed(earlier) for effect in one.result.effects]
    levels = (e.after.value for e in effects if (e.scope, e.name) == (scope, name) and e.after is not None)
    return next(levels, 1.0)


def _limits(plant: Plant) -> dict[str, float]:
    return {name: float(getattr(plant.train.limits, f"{name}_clean")) for name in NAMES}


def _delay(
    plant: Plant,
    segments: Mapping[Key, Sequence[Segment]],
    result: CleaningResult,
    first: date,
    earlier: Sequence[JudgedCleaning],
) -> int | None:
    """Days between passing the limit in the run before and the cleaning. [d]"""
    governing = result.governing
    if governing is None:
        return None
    limit = _limits(plant)[governing.name]
    sign = -1 if limit < 1 else 1
    since = earlier[-1].days.last if earlier else date.min
    for piece in segments.get((governing.scope, governing.name), ()):
        if piece.start < since or piece.start >= first or sign * (piece.value_end - limit) < 0:
            continue
        rise = piece.value_end - piece.value_start
        way = 0.0 if sign * (piece.value_start - limit) >= 0 or rise == 0 else (limit - piece.value_start) / rise
        passed = piece.start + timedelta(days=round(way * (piece.end - piece.start).days))
        return max((first - passed).days, 0)
    return None


def _until_next(found: Sequence[JudgedCleaning], place: int) -> int | None:
    stage = found[place].days.stage
    later = [one for one in found[place + 1 :] if one.days.stage == stage or None in (stage, one.days.stage)]
    return (later[0].days.first - found[place].days.first).days if later else None
