"""What became of each cleaning of a train, from its latest assessment: recorded ones, and events without a record."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from analytics.decisions.cleaning_effect import CleaningResult
from analytics.decisions.cleaning_history import NAMES, CleaningDays, Key, judge_cleanings
from analytics.decisions.cleaning_programme import ProgrammeVerdict
from analytics.judgement.trend import Segment
from analytics.plant import Plant
from server.cleanings.models import Cleaning
from server.events.models import Event


@dataclass(frozen=True)
class Done:
    """One cleaning: its record or, without one, its event, and what became of it (`JudgedCleaning`)."""

    record: Cleaning | None
    event: Event | None
    stage: int | None
    started_at: datetime
    first: date
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
    days = [
        CleaningDays(started.astimezone(zone).date(), ended.astimezone(zone).date(), stage)
        for started, ended, stage, _, _ in found
    ]
    aim = ((document or {}).get("cleaning") or {}).get("aim")
    history = judge_cleanings(
        plant, days, _daily(plant, series or {}), _segments(document or {}),
        next_due=date.fromisoformat(aim) if aim else None,
    )  # fmt: skip
    done = tuple(
        Done(record, event, stage, started, one.days.first, one.result, one.delay_days, one.next_days)
        for (started, _, stage, record, event), one in zip(found, history.cleanings, strict=True)
    )
    return Row(done, history.programme)


def _daily(plant: Plant, series: Mapping[str, Any]) -> dict[Key, pd.Series]:
    """Values by day of an assessment, each day by itself: what a cleaning did is not to be smoothed away."""
    index = pd.DatetimeIndex(series.get("day", []))
    alone = series.get("unsmoothed", {})
    found = {
        (scope, name): alone.get(f"{scope}_{name}", series.get(scope, {}).get(name))
        for scope in plant.train.scopes
        for name in NAMES
    }
    return {
        key: pd.Series(np.array(values, dtype=np.float64), index=index)
        for key, values in found.items()
        if values is not None
    }


def _segments(document: Mapping[str, Any]) -> dict[Key, tuple[Segment, ...]]:
    """The trends of an assessment, run by run."""
    return {
        (trend["scope"], trend["name"]): tuple(map(_segment, trend["segments"])) for trend in document.get("trends", ())
    }


def _segment(piece: Mapping[str, Any]) -> Segment:
    numbers = ("value_start", "value_end", "low_start", "low_end", "high_start", "high_end")
    return Segment(
        date.fromisoformat(piece["start"]), date.fromisoformat(piece["end"]), *(float(piece[name]) for name in numbers)
    )
