"""What elements have been through: their time at each place that they had, in whatever train of their site."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pandas as pd
from sqlalchemy import select
from sqlalchemy.orm import Session

from analytics.decisions.dechlorination import Exposure
from analytics.decisions.oxidant_record import chlorine_by_day, exposure_since
from server.assessments.queries import daily_frame
from server.elements.models import ElementStay
from server.events.queries import list_events
from server.plants.models import Train

HOURS = "raw_hours_counter_h"


@dataclass(frozen=True)
class Lived:
    """What an element has been through: days in a train, counted hours, cleanings, chlorine; None where nothing was
    measured."""

    days: int
    hours: float | None
    cleanings: int
    exposure: Exposure | None

    def and_then(self, later: "Lived") -> "Lived":
        """Both, one after the other."""
        return Lived(
            self.days + later.days,
            later.hours if self.hours is None else self.hours + (later.hours or 0.0),
            self.cleanings + later.cleanings,
            _sum(self.exposure, later.exposure),
        )


@dataclass(frozen=True)
class Weighed:
    """An element on the scales, drained."""

    day: date
    weight_kg: float


@dataclass(frozen=True)
class _Record:
    """Days, chlorine among them, and cleanings of one train."""

    days: pd.DataFrame
    chlorine: "pd.Series[float]"
    cleanings: Sequence[tuple[date, int | None]]

    def lived(self, stage: int, since: date, until: date | None, today: date) -> Lived:
        """What an element in a stage has been through from a day until another, which is no more its own."""
        end = until or today + timedelta(days=1)
        count = sum(1 for day, where in self.cleanings if since <= day < end and where in (None, stage))
        hours, index = None, self.days.index
        if HOURS in self.days:
            counter = self.days.loc[(index >= pd.Timestamp(since)) & (index <= pd.Timestamp(end)), HOURS].dropna()
            hours = float(counter.diff().clip(lower=0).sum()) if counter.size > 1 else None
        exposure = exposure_since(self.chlorine[index < pd.Timestamp(end)], since)
        return Lived(max(0, ((until or today) - since).days), hours, count, exposure)


def lives_of(session: Session, train: Train, elements: Sequence[int], today: date) -> dict[int, Lived]:
    """By element, over all its stays until today."""
    query = select(ElementStay).where(ElementStay.element_id.in_(elements))
    records: dict[int, _Record] = {}
    parts: dict[tuple[int, int, date, date | None], Lived] = {}
    found: dict[int, Lived] = {}
    for stay in session.scalars(query.order_by(ElementStay.since, ElementStay.id)):
        if stay.train_id not in records:
            records[stay.train_id] = _record(session, stay.train_id, ZoneInfo(train.site.timezone))
        key = (stay.train_id, stay.stage, stay.since, stay.until)
        if key not in parts:
            parts[key] = records[stay.train_id].lived(*key[1:], today)
        before = found.get(stay.element_id)
        found[stay.element_id] = parts[key] if before is None else before.and_then(parts[key])
    return found


def _record(session: Session, train_id: int, zone: ZoneInfo) -> _Record:
    days = daily_frame(session, train_id)
    events = list_events(session, train_id)
    cleanings = [(e.happened_at.astimezone(zone).date(), e.stage) for e in events if e.kind == "cleaning"]
    return _Record(days, chlorine_by_day(days), cleanings)


def _sum(one: Exposure | None, other: Exposure | None) -> Exposure | None:
    if one is None or other is None:
        return one or other
    return Exposure(
        one.least + other.least, one.most + other.most, one.hours + other.hours,
        one.uncovered_hours + other.uncovered_hours,
    )  # fmt: skip
