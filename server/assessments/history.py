"""What a chart draws: daily values on an even grid of days, trends, limits and events, already in the reader's words.

Values are ratios to the reference throughout; nothing is computed here.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class History:
    """Daily values by name (`train_permeate_flow`), one for every day from `first`; NaN where there is none."""

    first: date
    days: int
    columns: Mapping[str, Floats]

    @property
    def last(self) -> date:
        return self.first + timedelta(days=max(self.days - 1, 0))

    def of(self, name: str) -> Floats | None:
        """Values of one name, or None when there is not a single one."""
        found = self.columns.get(name)
        return found if found is not None and np.isfinite(found).any() else None

    def any_between(self, values: Floats, start: date, end: date) -> bool:
        """Whether values of this history have any on some days, both included."""
        return bool(np.isfinite(values[max((start - self.first).days, 0) : (end - self.first).days + 1]).any())

    def between(self, values: Floats, start: str, end: str) -> float:
        """Median of values of this history over some days, both included; NaN when there are none."""
        from_day, to_day = ((date.fromisoformat(day) - self.first).days for day in (start, end))
        known = values[max(from_day, 0) : to_day + 1]
        known = known[np.isfinite(known)]
        return float(np.median(known)) if known.size else float("nan")


@dataclass(frozen=True)
class Piece:
    """A straight piece of a trend or forecast with its interval. Ratios. [-]"""

    start: date
    end: date
    start_value: float
    end_value: float
    start_low: float
    end_low: float
    start_high: float
    end_high: float


@dataclass(frozen=True)
class Reach:
    """When a limit will be reached; `latest` is None when it may never be."""

    earliest: date
    likely: date | None
    latest: date | None
    text: str
    short: str


@dataclass(frozen=True)
class Limit:
    """A line that should not be crossed. A ratio. [-]"""

    value: float
    text: str
    reach: Reach | None = None

    def reach_by(self, last: date) -> Reach | None:
        """When it will be reached, if that begins before the end of a time axis."""
        return self.reach if self.reach and self.reach.earliest <= last else None


@dataclass(frozen=True)
class Curve:
    """One indicator of one scope, daily ratios; `other` is the trend by the other method. [-]"""

    label: str
    colour: str
    days: Floats
    aside: Floats | None = None
    trend: tuple[Piece, ...] = ()
    forecast: Piece | None = None
    limit: Limit | None = None
    other: tuple[Piece, ...] = ()


@dataclass(frozen=True)
class Panel:
    """Curves that share one scale; `limits` are lines beside those of the curves, `drift` writes 1.05 as +5 %."""

    title: str
    curves: tuple[Curve, ...]
    limits: tuple[Limit, ...] = ()
    drift: bool = False

    def unit(self, *, narrow: bool) -> str:
        """What the scale counts, as it stands behind the title: all that there is room for."""
        if self.drift:
            return "[%]" if narrow else "since the reference [%]"
        return "[–]" if narrow else "ratio to the reference [–]"


@dataclass(frozen=True)
class Mark:
    """A numbered event on the time axis."""

    number: int
    day: date
    label: str
    detail: str = ""


@dataclass(frozen=True)
class Timeline:
    """The time axis: its first and last day, the reference period, and the events."""

    first: date
    last: date
    reference: tuple[date, date] | None = None
    marks: tuple[Mark, ...] = ()


def history_from_series(series: Mapping[str, Any]) -> History:
    """Lay the series of an assessment document on an even grid of days.

    Names are `<scope>_<indicator>`, `raw_<column>`, and `set_aside_<scope>_<indicator>` for days set aside.
    Days are those by themselves: a smooth level drawn as dots would look surer than the days are.
    """
    days = np.array(series.get("day", []), dtype="datetime64[D]")
    if not days.size:
        return History(date(1970, 1, 1), 0, {})
    where = (days - days.min()).astype(int)
    count = int(where.max()) + 1
    values: dict[str, Floats] = {}
    for scope, columns in series.items():
        if not isinstance(columns, Mapping):
            continue
        for name, listed in columns.items():
            grid = np.full(count, np.nan)
            if scope == "set_aside":
                places, there = zip(*listed, strict=True)
                grid[where[list(places)]] = there
            else:
                grid[where] = np.array(listed, dtype=np.float64)
            values[f"{scope}_{name}"] = grid
    alone = {name: values[f"unsmoothed_{name}"] for name in series.get("unsmoothed", {})}
    return History(days.min().item(), count, values | alone)


def pieces(segments: list[Mapping[str, Any]]) -> tuple[Piece, ...]:
    """Trend segments of an assessment document, straight piece by straight piece."""
    return tuple(
        Piece(
            date.fromisoformat(segment["start"][:10]),
            date.fromisoformat(segment["end"][:10]),
            *(segment[f"{what}_{at}"] for what in ("value", "low", "high") for at in ("start", "end")),
        )
        for segment in segments
        if all(segment[f"{what}_{at}"] is not None for what in ("value", "low", "high") for at in ("start", "end"))
    )
