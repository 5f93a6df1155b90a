"""What became of each cleaning of a train, from its latest assessment: recorded ones, and events without a record."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from analytics.decisions.cleaning_effect import CleaningResult, IndicatorEffect, indicator_effect, judge_cleaning
from analytics.decisions.cleaning_programme import PastCleaning, ProgrammeVerdict, judge_programme
from analytics.judgement.trend import Segment
from analytics.plant import Plant
from server.cleanings.models import Cleaning
from server.events.models import Event

NAMES = ("permeate_flow", "salt_passage", "pressure_drop")


@dataclass(frozen=True)
class Done:
    """One cleaning: its record or, without one, its event; `result` is what the log says of it.

    `delay_days` is how long after passing its limit it came, None where the limit was not passed or that is not known;
    `next_days` how long until the next cleaning of the same stage.
    """

    record: Cleaning | None
    event: Event | None
    stage: int | None
    started_at: datetime
    first: date
    last: date
    result: CleaningResult
    delay_days: int | None
    next_days: int | None


@dataclass(frozen=True)
class Row:
    """All cleanings of a train, oldest first, and what they say together."""

    done: tuple[Done, ...]
    programme: ProgrammeVerdict


def cleanings_in_a_row(
    plant: Plant,
    records: Sequence[Cleaning],
    events: Sequence[Event],
    document: Mapping[str, Any] | None,
    series: Mapping[str, Any] | None,
) -> Row:
    """Judge every cleaning of a train.

    Parameters
    ----------
    records : sequence of Cleaning
        In use.
    events : sequence of Event
        Of kind cleaning, in use.
    document, series : mapping, optional
        Of the latest assessment; without, nothing is known of effects.
    """
    zone = ZoneInfo(plant.site.timezone)
    taken = {record.event_id for record in records}
    found: list[tuple[datetime, datetime, int | None, Cleaning | None, Event | None]] = [
        (r.started_at, r.ended_at, r.stage, r, None) for r in records
    ]
    found += [(e.happened_at, e.happened_at, e.stage, None, e) for e in events if e.id not in taken]
    found.sort(key=lambda one: one[0])
    log = _Log(document or {}, series or {})
    done: list[Done] = []
    for started, ended, stage, record, event in found:
        first, last = started.astimezone(zone).date(), ended.astimezone(zone).date()
        effects = _effects(plant, log, stage, first, last, done)
        result = judge_cleaning(effects, _limits(plant))
        done.append(
            Done(record, event, stage, started, first, last, result, _delay(plant, log, result, first, done), None)
        )
    done = [_with_next(done, place) for place in range(len(done))]
    aim = ((document or {}).get("cleaning") or {}).get("aim")
    past = [PastCleaning(d.first, d.stage, d.result.quality, _share(d.result)) for d in done]
    return Row(tuple(done), judge_programme(past, next_due=date.fromisoformat(aim) if aim else None))


class _Log:
    """Days and trends of an assessment by scope and name."""

    def __init__(self, document: Mapping[str, Any], series: Mapping[str, Any]) -> None:
        self.index = pd.DatetimeIndex(series.get("day", []))
        self.series = series
        self.trends = {
            (trend["scope"], trend["name"]): tuple(map(_segment, trend["segments"]))
            for trend in document.get("trends", ())
        }

    def days(self, scope: str, name: str) -> pd.Series | None:
        """Values by day; None where there are none."""
        values = self.series.get(scope, {}).get(name)
        if values is None:
            return None
        found = pd.Series(np.array(values, dtype=np.float64), index=self.index)
        return found if found.notna().any() else None


def _segment(piece: Mapping[str, Any]) -> Segment:
    numbers = ("value_start", "value_end", "low_start", "low_end", "high_start", "high_end")
    return Segment(
        date.fromisoformat(piece["start"]), date.fromisoformat(piece["end"]), *(float(piece[name]) for name in numbers)
    )


def _scopes(plant: Plant, stage: int | None) -> tuple[str, ...]:
    """What a cleaning is judged by: the stage that was cleaned, or all of them, and the train."""
    stages = [f"stage{stage}"] if stage else [scope for scope in plant.train.scopes if scope != "train"]
    return (*stages, "train")


def _effects(
    plant: Plant, log: _Log, stage: int | None, first: date, last: date, earlier: Sequence[Done]
) -> list[IndicatorEffect]:
    found = []
    for scope in _scopes(plant, stage):
        for name in NAMES:
            days = log.days(scope, name)
            if days is None or (scope == "train" and name == "pressure_drop" and len(plant.train.stages) > 1):
                continue
            found.append(
                indicator_effect(
                    days,
                    log.trends.get((scope, name), ()),
                    scope=scope,
                    name=name,
                    first=pd.Timestamp(first),
                    last=pd.Timestamp(last),
                    level_after_previous=_level_after(earlier, scope, name),
                )
            )
    return found


def _level_after(earlier: Sequence[Done], scope: str, name: str) -> float:
    """Level after the cleaning before; that of the reference where there was none."""
    for one in reversed(earlier):
        for effect in one.result.effects:
            if (effect.scope, effect.name) == (scope, name) and effect.after is not None:
                return effect.after.value
    return 1.0


def _limits(plant: Plant) -> dict[str, float]:
    return {name: float(getattr(plant.train.limits, f"{name}_clean")) for name in NAMES}


def _share(result: CleaningResult) -> float | None:
    governing = result.governing
    return governing.efficiency.value if governing and governing.efficiency else None


def _delay(plant: Plant, log: _Log, result: CleaningResult, first: date, earlier: Sequence[Done]) -> int | None:
    """Days between passing the limit in the run before and the cleaning."""
    governing = result.governing
    if governing is None:
        return None
    limit = _limits(plant)[governing.name]
    sign = -1 if limit < 1 else 1
    since = earlier[-1].last if earlier else date.min
    for piece in log.trends.get((governing.scope, governing.name), ()):
        if piece.start < since or piece.start >= first or sign * (piece.value_end - limit) < 0:
            continue
        rise = piece.value_end - piece.value_start
        way = 0.0 if sign * (piece.value_start - limit) >= 0 or rise == 0 else (limit - piece.value_start) / rise
        passed = piece.start + timedelta(days=round(way * (piece.end - piece.start).days))
        return max((first - passed).days, 0)
    return None


def _with_next(done: Sequence[Done], place: int) -> Done:
    one = done[place]
    later = [d for d in done[place + 1 :] if d.stage == one.stage or None in (d.stage, one.stage)]
    if not later:
        return one
    days = (later[0].first - one.first).days
    return Done(
        one.record, one.event, one.stage, one.started_at, one.first, one.last, one.result, one.delay_days, days
    )  # fmt: skip
