"""The table of days in the database: a month in a row, as doubles, so that ten years of it are read in a moment."""

from collections.abc import Collection
from datetime import date
from itertools import compress
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

from server.assessments.models import WorkingDays

DOUBLE = np.dtype("<f8")
Array = npt.NDArray[np.float64]


def read_days(session: Session, train_id: int) -> pd.DataFrame:
    """The table of days of a train, as `keep_days` was given it."""
    query = select(WorkingDays.columns, WorkingDays.content).where(WorkingDays.train_id == train_id)
    parts = [
        (columns, np.frombuffer(content, dtype=DOUBLE).reshape(-1, len(columns) + 1))
        for columns, content in session.execute(query.order_by(WorkingDays.month))
    ]
    names = list(dict.fromkeys(name for columns, _ in parts for name in columns))
    place = {name: number for number, name in enumerate(names)}
    values = np.full((sum(len(rows) for _, rows in parts), len(names)), np.nan)
    days = np.concatenate([rows[:, 0] for _, rows in parts]) if parts else np.zeros(0)
    at = 0
    for columns, rows in parts:
        values[at : at + len(rows), [place[name] for name in columns]] = rows[:, 1:]
        at += len(rows)
    index = pd.DatetimeIndex(days.astype("datetime64[D]").astype("datetime64[s]"), name="day")
    return pd.DataFrame(values, index=index, columns=names)


def keep_days(session: Session, train_id: int, table: pd.DataFrame, changed: pd.DatetimeIndex | None = None) -> None:
    """Keep the table of days: the months that have a day of `changed`, or all of them."""
    days = pd.DatetimeIndex(table.index)
    months = _months(days)
    query = delete(WorkingDays).where(WorkingDays.train_id == train_id)
    wanted: Collection[date] = set(months)
    if changed is not None:
        wanted = set(_months(changed))
        query = query.where(WorkingDays.month.in_(wanted))
    session.execute(query)
    values = np.column_stack([_numbers(days), table.to_numpy(dtype=np.float64)])
    names = [str(name) for name in table.columns]
    rows = [_row(train_id, month, names, values[places]) for month, places in _runs(months) if month in wanted]
    if rows:
        session.execute(insert(WorkingDays), rows)


def _numbers(days: pd.DatetimeIndex) -> Array:
    return np.asarray(days.to_numpy().astype("datetime64[D]").astype(np.int64), dtype=np.float64)


def _months(days: pd.DatetimeIndex) -> list[date]:
    months = days.to_numpy().astype("datetime64[M]").astype("datetime64[D]")
    return [month.item() for month in months]


def _runs(months: list[date]) -> list[tuple[date, slice]]:
    """Each month with the rows that belong to it; they are in order."""
    firsts = [n for n, month in enumerate(months) if n == 0 or month != months[n - 1]]
    ends = [*firsts[1:], len(months)]
    return [(months[first], slice(first, end)) for first, end in zip(firsts, ends, strict=True)]


def _row(train_id: int, month: date, names: list[str], values: Array) -> dict[str, Any]:
    """A month: the numbers of its days, then the columns of which something is known."""
    known = np.asarray(~np.isnan(values).all(axis=0))
    return {
        "train_id": train_id,
        "month": month,
        "columns": list(compress(names, known[1:])),
        "content": np.asarray(values[:, known], dtype=DOUBLE).tobytes(),
    }
