"""Turn the times of a file into instants: ISO 8601 or a given format, local clocks with their two odd nights.

When clocks go back, one hour is shown twice. A file that shows it twice means the first time round, then the second;
a file that shows it once is taken to mean the first. When clocks go forward, one hour is never shown; a time in it was
written by a clock that had not been put forward yet, so it moves forward by the gap.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

NOON = pd.Timedelta(hours=12)
ISO_TIME = "a time such as 2026-01-05 06:10 (ISO 8601)"
EARLIEST = pd.Timestamp(1970, 1, 1, tz=UTC)
_WITH_OFFSET = r"(?:[Zz]|[+-]\d{2}:?\d{2}|[+-]\d{2})$"
_LONGEST_DATE = len("2026-01-05")
_SHORTEST_DATE = len("20260105")
_DIGITS = frozenset("0123456789")


@dataclass(frozen=True)
class Instants:
    """`utc` has NaT where a cell is no time; `notes` tell what was decided."""

    utc: pd.DatetimeIndex
    notes: tuple[str, ...]


def read_times(cells: "pd.Series[str]", zone: ZoneInfo, time_format: str = "") -> Instants:
    """Read the times of a file.

    Parameters
    ----------
    cells
        The cells as text, in the order of the file; missing where blank.
    zone
        The clock of the site, for times without an offset.
    time_format
        How times are written, in the letters of strptime; ISO 8601 when empty.
    """
    local, utc, date_only = _parsed(cells, time_format)
    notes = []
    if date_only.any():
        local = local.where(~date_only, local + NOON)
        count = int(date_only.sum())
        notes.append(
            f"{_counted(count, 'date')} without a time {'was' if count == 1 else 'were'} taken as 12:00 local."
        )
    placed = localize(local, zone)
    return Instants(placed.utc.where(utc.isna(), utc), (*notes, *placed.notes))


def _parsed(
    cells: "pd.Series[str]", time_format: str
) -> tuple[pd.DatetimeIndex, pd.DatetimeIndex, npt.NDArray[np.bool_]]:
    """Local times, times with an offset (both NaT elsewhere), and which of the local ones are dates only."""
    words = [word.strip() for word in cells.astype("str").fillna("").tolist()]
    text = pd.Series(words, cells.index, dtype="str")
    if time_format:
        return _parsed_by_format(text, time_format)
    length = np.fromiter(map(len, words), dtype=np.int64, count=len(words))
    begins = np.fromiter((word[:1] in _DIGITS for word in words), dtype=bool, count=len(words))
    text = text.where((length >= _SHORTEST_DATE) & begins)
    try:
        found = pd.DatetimeIndex(pd.to_datetime(text, format="ISO8601"))
    except ValueError:
        return _parsed_one_by_one(text, length)
    nothing = _nothing(len(text))
    if found.tz is not None:
        return nothing, found.tz_convert(UTC).as_unit("us"), np.zeros(len(text), dtype=bool)
    return found.as_unit("us"), nothing.tz_localize(UTC), _dates(length, found)


def _parsed_one_by_one(
    text: "pd.Series[str]", length: npt.NDArray[np.int64]
) -> tuple[pd.DatetimeIndex, pd.DatetimeIndex, npt.NDArray[np.bool_]]:
    """For a file that mixes times with and without offset, or has cells that are no times."""
    has_offset = text.str.contains(_WITH_OFFSET, regex=True, na=False).to_numpy(dtype=bool)
    has_offset = has_offset & (length > _LONGEST_DATE)
    local = pd.DatetimeIndex(pd.to_datetime(text.where(~has_offset), format="ISO8601", errors="coerce")).as_unit("us")
    with_offset = pd.to_datetime(text.where(has_offset), format="ISO8601", errors="coerce", utc=True)
    return local, pd.DatetimeIndex(with_offset).as_unit("us"), _dates(length, local)


def _parsed_by_format(
    text: "pd.Series[str]", time_format: str
) -> tuple[pd.DatetimeIndex, pd.DatetimeIndex, npt.NDArray[np.bool_]]:
    nothing = _nothing(len(text))
    if "%z" in time_format:
        found = pd.to_datetime(text, format=time_format, errors="coerce", utc=True)
        return nothing, pd.DatetimeIndex(found).as_unit("us"), np.zeros(len(text), dtype=bool)
    local = pd.DatetimeIndex(pd.to_datetime(text, format=time_format, errors="coerce")).as_unit("us")
    only_dates = not any(letter in time_format for letter in ("%H", "%I", "%c", "%X", "%T", "%R"))
    return local, nothing.tz_localize(UTC), np.asarray(local.notna()) & only_dates


def _dates(length: npt.NDArray[np.int64], found: pd.DatetimeIndex) -> npt.NDArray[np.bool_]:
    return np.asarray((length <= _LONGEST_DATE) & np.asarray(found.notna()))


def _nothing(length: int) -> pd.DatetimeIndex:
    return pd.DatetimeIndex(np.full(length, np.datetime64("NaT", "us")))


def localize(local: pd.DatetimeIndex, zone: ZoneInfo) -> Instants:
    """Turn local times, in the order of the file, into instants.

    Examples
    --------
    >>> shown_twice = pd.DatetimeIndex(["2026-10-25 01:30", "2026-10-25 01:30"])
    >>> localize(shown_twice, ZoneInfo("Europe/Lisbon")).utc.hour.tolist()
    [0, 1]
    """
    simple = local.tz_localize(zone, ambiguous="NaT", nonexistent="NaT")
    odd = np.flatnonzero(np.asarray(simple.isna()) & np.asarray(local.notna()))
    utc = simple.tz_convert(UTC).as_unit("us")
    if not len(odd):
        return Instants(utc, ())
    known = local[local.notna()]
    newest_first = len(known) > 1 and known[0] > known[-1]
    values = utc.tz_localize(None).to_numpy().copy()
    clock = _OddHours(zone)
    for position in odd[::-1] if newest_first else odd:
        values[position] = clock.instant(local[position].to_pydatetime(), newest_first=newest_first)
    return Instants(pd.DatetimeIndex(values).tz_localize(UTC), clock.notes())


class _OddHours:
    """Places times of the nights when clocks change, met in the order in which they were written."""

    def __init__(self, zone: ZoneInfo) -> None:
        self.zone = zone
        self.last: dict[object, datetime] = {}
        self.second_time_round: set[object] = set()
        self.first = self.second = self.moved = 0

    def instant(self, local: datetime, *, newest_first: bool) -> np.datetime64:
        early, late = (local.replace(tzinfo=self.zone, fold=fold) for fold in (0, 1))
        if early.utcoffset() < late.utcoffset():  # type: ignore[operator]  # both have a zone
            self.moved += 1  # the clock jumped over this time: it was still running on the old offset
            return _naive_utc(early)
        night = (local.date(), early.utcoffset())
        before = self.last.get(night)
        if before is not None and local <= before:
            self.second_time_round.add(night)
        self.last[night] = local
        if night in self.second_time_round:
            self.second += 1
            return _naive_utc(late)
        self.first += 1
        return _naive_utc(early)

    def notes(self) -> tuple[str, ...]:
        notes = []
        if self.first or self.second:
            total = self.first + self.second
            notes.append(
                f"{_counted(total, 'time')} in an hour that the clocks showed twice: {self.first} taken as the first "
                f"time round, {self.second} as the second."
            )
        if self.moved:
            notes.append(
                f"{_counted(self.moved, 'time')} in an hour that the clocks skipped: moved forward by the gap."
            )
        return tuple(notes)


def _naive_utc(instant: datetime) -> np.datetime64:
    return np.datetime64(instant.astimezone(UTC).replace(tzinfo=None), "us")


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
