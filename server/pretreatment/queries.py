"""What the log says about the pretreatment of a train."""

from dataclasses import dataclass, field
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd
from sqlalchemy.orm import Session

from analytics.condition.day_table import walked_days
from analytics.decisions.filters import FilterState, cartridge_lives_m3, cartridge_state, media_state
from analytics.decisions.oxidant_record import OxidantRecord, oxidant_record
from analytics.plant import DosingSystem, Limits
from server.assessments.day_store import read_days
from server.events.models import Event
from server.events.queries import events_of, list_events
from server.plants.models import Train
from server.plants.queries import plant_of

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class LastTests:
    """The newest value, when it was, and the least and the most of the last ten."""

    day: date
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Pretreatment:
    """What is known of each part; None where it is not metered."""

    filters: dict[str, FilterState | None]
    lives_m3: tuple[float, ...]
    oxidants: OxidantRecord
    limits: Limits
    feed_flow_m3h: float | None
    raw_chlorine_mg_l: float | None
    sdi: LastTests | None = None
    antiscalant_mg_l: LastTests | None = None
    bisulfite_factor: LastTests | None = None
    dosing: DosingSystem = field(default_factory=DosingSystem)


def pretreatment_of(session: Session, train: Train) -> Pretreatment:
    """Gather it from the days of a train and from its events."""
    days = walked_days(read_days(session, train.id))
    events = list_events(session, train.id)
    zone = ZoneInfo(train.site.timezone)
    changes = _local_days(events, "cartridge-change", zone)
    numbers = _numbers(pd.DatetimeIndex(days.index))
    plant = plant_of(session, train.id)
    built = plant.train
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = _column(days, "bisulfite_dose_mg_l") / _column(days, "raw_free_chlorine_mg_l")
    return Pretreatment(
        filters={
            "media filter": media_state(*_filter(_last_quarter(days), "media_filter")),
            "cartridge filter": _cartridges(days, changes),
        },
        lives_m3=cartridge_lives_m3([_number(d) for d in changes], numbers, _feed_flow(days)),
        oxidants=oxidant_record(days, events_of(session, train.id), plant),
        limits=built.limits,
        feed_flow_m3h=_latest(_feed_flow(days)),
        raw_chlorine_mg_l=_latest(_column(days, "raw_free_chlorine_mg_l")),
        sdi=_tests(days, _column(days, "feed_sdi")),
        antiscalant_mg_l=_tests(days, _column(days, "antiscalant_dose_mg_l")),
        bisulfite_factor=_tests(days, factor),
        dosing=built.dosing,
    )


def _column(days: pd.DataFrame, name: str) -> Array:
    found = f"raw_{name}"
    return days[found].to_numpy(dtype=np.float64) if found in days else np.full(len(days), np.nan)


def _tests(days: pd.DataFrame, values: Array) -> LastTests | None:
    known = np.flatnonzero(np.isfinite(values))
    if not known.size:
        return None
    last = values[known[-10:]]
    day = pd.DatetimeIndex(days.index)[known[-1]].date()
    return LastTests(day, float(last[-1]), float(last.min()), float(last.max()))


def _numbers(index: pd.DatetimeIndex) -> Array:
    return np.asarray((index - pd.Timestamp(0)) / pd.Timedelta(days=1), dtype=np.float64)


def _number(day: pd.Timestamp) -> float:
    return float((day - pd.Timestamp(0)) / pd.Timedelta(days=1))


def _local_days(events: list[Event], kind: str, zone: ZoneInfo) -> list[pd.Timestamp]:
    return sorted(pd.Timestamp(e.happened_at.astimezone(zone).date()) for e in events if e.kind == kind)


def _cartridges(days: pd.DataFrame, changes: list[pd.Timestamp]) -> FilterState | None:
    """Since their last change; where none is on record, over the last quarter."""
    since = days[days.index >= changes[-1]] if changes else _last_quarter(days)
    return cartridge_state(*_filter(since, "cartridge"))


def _filter(days: pd.DataFrame, name: str) -> tuple[Array, Array, Array]:
    """Days, pressure drop and flow of a filter. [d, bar, m3/h]"""
    drop = _column(days, f"{name}_inlet_pressure_bar") - _column(days, f"{name}_outlet_pressure_bar")
    return _numbers(pd.DatetimeIndex(days.index)), drop, _feed_flow(days)


def _last_quarter(days: pd.DataFrame) -> pd.DataFrame:
    return days[days.index >= days.index[-1] - pd.Timedelta(days=90)] if len(days) else days


def _feed_flow(days: pd.DataFrame) -> Array:
    """As metered, or as permeate and concentrate. [m3/h]"""
    both = _column(days, "permeate_flow_m3h") + _column(days, "concentrate_flow_m3h")
    metered = _column(days, "feed_flow_m3h")
    return np.where(np.isfinite(metered), metered, both)


def _latest(values: Array) -> float | None:
    known = values[np.isfinite(values)]
    return float(np.median(known[-7:])) if known.size else None
