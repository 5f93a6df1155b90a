"""When somebody reads the gauges, and what the plant is doing then."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd


@dataclass(frozen=True)
class Span:
    """Days since the start, the first included, the last not."""

    begins: float
    ends: float

    def holds(self, days: np.ndarray) -> np.ndarray:
        return (days >= self.begins) & (days < self.ends)


@dataclass(frozen=True)
class Diary:
    """The habits of the shifts.

    hours : local hours of the readings; `lateness_minutes` is the usual scatter.
    missed : share of readings that nobody took; `holidays` are spans without any.
    standstills : spans in which the plant stands; a reading may be taken (state "stopped"), and the first one
        after it is taken while starting.
    short_stops : share of readings that fall into the first minutes after a short stop.
    """

    hours: tuple[float, ...] = (6.0, 14.0, 22.0)
    lateness_minutes: float = 0.0
    missed: float = 0.0
    holidays: tuple[Span, ...] = ()
    standstills: tuple[Span, ...] = ()
    short_stops: float = 0.0


def taken_readings(diary: Diary, start: date, days: int, timezone: str, rng: np.random.Generator) -> pd.DataFrame:
    """Readings that were taken, by `taken_at` (UTC): columns `day` (since the local start) and `state`."""
    day = np.repeat(np.arange(days, dtype=np.float64), len(diary.hours))
    day += np.tile(np.asarray(diary.hours) / 24, days)
    late = np.abs(rng.normal(0.0, 1.0, len(day))) * diary.lateness_minutes
    minutes = np.round(day * 24 * 60 + np.minimum(late, 4 * diary.lateness_minutes))
    day = minutes / (24 * 60)
    local = pd.Timestamp(start).as_unit("s") + pd.to_timedelta(minutes.astype(np.int64), unit="min")
    taken_at = local.tz_localize(timezone, ambiguous=np.ones(len(local), dtype=bool), nonexistent="shift_forward")
    frame = pd.DataFrame({"day": day}, index=taken_at.tz_convert("UTC").as_unit("us").rename("taken_at"))
    frame["state"] = _states(diary, day, rng)
    kept = rng.random(len(day)) >= diary.missed
    for holiday in diary.holidays:
        kept &= ~holiday.holds(day)
    kept &= ~_night_of_standstill(diary, frame)
    result: pd.DataFrame = frame.loc[kept]
    return result


def _states(diary: Diary, day: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    state = np.where(rng.random(len(day)) < diary.short_stops, "starting", "running").astype(object)
    for standstill in diary.standstills:
        stopped = standstill.holds(day)
        state[stopped] = "stopped"
        after = np.flatnonzero(day >= standstill.ends)
        if len(after):
            state[after[0]] = "starting"
    return state


def _night_of_standstill(diary: Diary, frame: pd.DataFrame) -> np.ndarray:
    """While the plant stands, only the first reading of a day is taken."""
    stopped = (frame["state"] == "stopped").to_numpy()
    first_hour = min(diary.hours) / 24
    return stopped & (frame["day"].to_numpy() % 1 > first_hour + 0.15)


def day_of(start: date, when: date, hour: float = 0.0) -> float:
    """Days since the start at a local hour of a date. [day]"""
    return (when - start) / timedelta(days=1) + hour / 24
