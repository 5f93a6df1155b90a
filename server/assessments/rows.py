"""What an assessment leaves in the database, by day and by reading."""

from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from sqlalchemy import delete
from sqlalchemy.orm import Session

from analytics.assessment import Assessment
from analytics.condition.day_table import RAW
from analytics.quantities import COLUMNS
from server.assessments.day_store import keep_days
from server.assessments.models import Daily
from server.assessments.renewal import instant_of
from server.db import insert_rows
from server.readings.models import SetAside

SIGNIFICANT = 7
SHOWN = "shown: "
"""Prefix of the columns of the working days that hold what `daily` shows of the membrane model."""
MOVED = 1e-4
"""A day that was not worked out again is written again when the model, which learns from all days, has moved it by more
than this share. [-]"""
Flags = npt.NDArray[np.bool_]


def keep_rows(session: Session, train_id: int, assessment: Assessment, renewed: pd.DatetimeIndex | None) -> None:
    """Keep the days and what is set aside: of all days, or of those renewed."""
    shown = assessment.daily[list(assessment.modelled)].add_prefix(SHOWN)
    changed = None
    if renewed is not None:
        before = assessment.days[_shown_of(assessment.days)]
        moved = _moved(before, shown)
        changed = renewed.union(pd.DatetimeIndex(shown.index[moved]))
        kept = before.reindex(index=shown.index, columns=shown.columns).to_numpy()
        shown[:] = np.where(moved[:, None], shown.to_numpy(), kept)
    _keep_daily(session, train_id, assessment, changed)
    keep_days(session, train_id, assessment.days.drop(columns=_shown_of(assessment.days)).join(shown), changed)
    _keep_set_aside(session, train_id, assessment, renewed)


def _shown_of(table: pd.DataFrame) -> list[str]:
    return [name for name in table.columns if name.startswith(SHOWN)]


def _moved(before: pd.DataFrame, shown: pd.DataFrame) -> Flags:
    """Days of which the model says something else now than what is shown."""
    if set(_shown_of(before)) != set(shown.columns):
        return np.ones(len(shown), dtype=bool)
    old = before.reindex(index=shown.index, columns=shown.columns).to_numpy()
    new = shown.to_numpy(dtype=np.float64)
    same = np.isclose(new, old, rtol=MOVED, atol=0, equal_nan=True)
    return np.asarray(~same.all(axis=1))


def _keep_daily(session: Session, train_id: int, assessment: Assessment, changed: pd.DatetimeIndex | None) -> None:
    raw = assessment.days[[name for name in assessment.days.columns if name.startswith(RAW)]]
    daily = assessment.daily.join(raw)
    query = delete(Daily).where(Daily.train_id == train_id)
    if changed is not None:
        daily = daily[daily.index.isin(changed)]
        days = [day.date() for day in changed]
        for start in range(0, len(days), 500):
            session.execute(query.where(Daily.day.in_(days[start : start + 500])))
    else:
        session.execute(query)
    insert_rows(session, Daily, _days(train_id, daily))


def _days(train_id: int, daily: pd.DataFrame) -> Iterator[dict[str, Any]]:
    """One row per local day: indicators with spread and count, and the medians of what was measured."""
    values = _rounded(daily.to_numpy(dtype=np.float64))
    names = list(daily.columns)
    for day, row in zip(pd.DatetimeIndex(daily.index).date, values, strict=True):
        content = {name: value for name, value in zip(names, row.tolist(), strict=True) if value == value}
        yield {"train_id": train_id, "day": day, "content": content}


def _rounded(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Values with seven significant figures: more is noise, and twice the room."""
    with np.errstate(divide="ignore"):
        size = np.floor(np.log10(np.abs(values)))
    scale = 10.0 ** (SIGNIFICANT - 1 - np.where(np.isfinite(size), size, 0))
    return np.round(values * scale) / scale


def _keep_set_aside(session: Session, train_id: int, assessment: Assessment, renewed: pd.DatetimeIndex | None) -> None:
    log = assessment.screened
    rows = np.ones(len(log.days), dtype=bool) if renewed is None else np.asarray(log.days.isin(renewed))
    query = delete(SetAside).where(SetAside.train_id == train_id)
    if renewed is None:
        session.execute(query)
    else:
        zone = assessment.plant.site.timezone
        for day in renewed:
            start, end = (instant_of(at, zone) for at in (day, day + pd.Timedelta(days=1)))
            session.execute(query.where(SetAside.taken_at >= start, SetAside.taken_at < end))
    insert_rows(session, SetAside, _set_aside(train_id, assessment, rows))


def _set_aside(train_id: int, assessment: Assessment, rows: Flags) -> Iterator[dict[str, Any]]:
    """One row per reading that is set aside as a whole, or of which a value is."""
    log = assessment.screened
    reasons = log.reason.to_numpy()
    lost: dict[int, dict[str, str]] = {}
    for quantity, by_reason in log.lost.items():
        column = next(name for name, known in COLUMNS.items() if known.name == quantity)
        for reason, gone in by_reason.items():
            for position in np.flatnonzero(gone & rows):
                words = lost.setdefault(int(position), {})
                words[column] = f"{words[column]} or {reason}" if column in words else reason
    positions = sorted({*np.flatnonzero((reasons != "") & rows).tolist(), *lost})
    times = pd.DatetimeIndex(log.readings.index)
    for at in positions:
        yield {
            "train_id": train_id,
            "taken_at": times[at].to_pydatetime(),
            "reason": reasons[at],
            "content": lost.get(at),
        }
