"""Which days of a train must be worked out again, and what is to be read for it.

A reading changes its own day. The screen also looks at its neighbours: it may see a frozen meter, or a spike, otherwise
when one more reading has come. So the days around are worked out again as well, as far as the screen can reach.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from analytics.assess import KnownDays
from analytics.condition.daily import local_days
from analytics.condition.day_table import USED
from analytics.condition.levels import ScreenLevels
from analytics.condition.reference import STATED
from analytics.condition.screened_log import LogBasis
from analytics.judgement.context import CONTEXT_DAYS
from server.assessments.due import Span
from server.assessments.models import WorkingBasis

RELEARNED_AFTER = 1 / 200
"""Share of its readings by which a log may change before the levels of its screen are learned anew: they are medians
and quantiles of the whole log, and the usual balance of each of its two hundred stretches."""
MOST_DAYS_SHARE, LEAST_MOST_DAYS = 0.25, 31
"""Where more of the days than this would be worked out again, all are; a month never counts as too many."""
NEIGHBOURS = 4
"""Used readings that a spike is told by, at the least."""
DAY = pd.Timedelta(days=1)
SMALLEST = timedelta(microseconds=1)


@dataclass(frozen=True)
class Renewal:
    """Some days of a train: those to renew, and the instants between which its readings are to be read."""

    known: KnownDays
    spans: tuple[tuple[datetime, datetime], ...]


def basis_document(basis: LogBasis) -> dict[str, object]:
    """What `basis_from` takes."""
    return {
        "levels": basis.levels.as_document(),
        "start": basis.start.isoformat(),
        "end": basis.end.isoformat(),
        "chosen": basis.chosen,
    }


def _basis_from(document: dict[str, str]) -> LogBasis:
    start, end = (pd.Timestamp(document[name]).date() for name in ("start", "end"))
    return LogBasis(ScreenLevels.from_document(document["levels"]), start, end, document["chosen"])  # type: ignore[arg-type]


def plan_renewal(
    working: WorkingBasis, table: pd.DataFrame, first: datetime, changes: Sequence[Span], zone: str
) -> Renewal | None:
    """Plan which days to work out; None where all must be.

    Parameters
    ----------
    working
        Of this train, its settings and this program.
    table
        The table of days as it stands.
    first
        The first reading in use.
    changes
        Readings that have changed.
    zone
        Clock of the site.
    """
    basis = _basis_from(working.basis)
    used = pd.DatetimeIndex(table.index[table[USED] > 0])
    if not len(used):
        return None
    reach = max([NEIGHBOURS, *(int(n) for name, n in basis.levels.numbers.items() if n and name.startswith("frozen"))])
    renewed = pd.DatetimeIndex([])
    for change in changes:
        touched = local_days(pd.DatetimeIndex([change.since, change.until]), zone)
        start, end = _widened(table, touched[0], touched[1], reach)
        renewed = renewed.union(pd.date_range(start, end))
    reference = (pd.Timestamp(basis.start), pd.Timestamp(basis.end))
    if _moves_reference(renewed, basis) or len(renewed) > max(MOST_DAYS_SHARE * len(table), LEAST_MOST_DAYS):
        return None
    parts = [_widened(table, *reference, reach)]
    parts += [_widened(table, run[0], run[-1], reach) for run in _runs(renewed)]
    left = used[~used.isin(renewed)]
    last = max([*left[-1:], *renewed[-1:]])
    parts.append((min([*left[-1:], last]) - (CONTEXT_DAYS + 1) * DAY, last + 2 * DAY))
    spans = tuple((instant_of(a, zone), instant_of(b + DAY, zone) - SMALLEST) for a, b in _merged(parts))
    return Renewal(KnownDays(basis, table, first, renewed), spans)


def _moves_reference(renewed: pd.DatetimeIndex, basis: LogBasis) -> bool:
    """Whether days are of the reference, or come before one that is simply the first days of the log."""
    start = pd.Timestamp(basis.start) if basis.chosen == STATED else pd.Timestamp.min
    return bool(((renewed >= start) & (renewed <= pd.Timestamp(basis.end))).any())


def _widened(table: pd.DataFrame, start: pd.Timestamp, end: pd.Timestamp, reach: int) -> tuple[pd.Timestamp, ...]:
    """A stretch of days with those around it that hold `reach` used readings, and one more for what is starting up."""
    days, used = table.index, table[USED].to_numpy()
    before = np.flatnonzero(np.cumsum(used[days < start][::-1]) >= reach)
    after = np.flatnonzero(np.cumsum(used[days > end]) >= reach)
    earlier, later = days[days < start][::-1], days[days > end]
    low = earlier[before[0]] if len(before) else (earlier[-1] if len(earlier) else start)
    high = later[after[0]] if len(after) else (later[-1] if len(later) else end)
    return min(low, start - DAY), max(high, end + DAY)


def _runs(days: pd.DatetimeIndex) -> list[pd.DatetimeIndex]:
    """Days that follow each other."""
    cuts = np.flatnonzero(np.diff(days.to_numpy()) > DAY.to_timedelta64()) + 1
    return [days[part] for part in np.split(np.arange(len(days)), cuts) if len(part)]


def _merged(parts: Sequence[tuple[pd.Timestamp, ...]]) -> list[tuple[pd.Timestamp, pd.Timestamp]]:
    merged: list[tuple[pd.Timestamp, pd.Timestamp]] = []
    for start, end in sorted(parts):
        if merged and start <= merged[-1][1] + DAY:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((start, end))
    return merged


def instant_of(day: pd.Timestamp, zone: str) -> datetime:
    """Beginning of a local day, in UTC."""
    return day.to_pydatetime().replace(tzinfo=ZoneInfo(zone)).astimezone(ZoneInfo("UTC"))
