"""Many readings at once into the table, the fastest way each engine has."""

from collections.abc import Iterator
from datetime import datetime
from itertools import chain
from typing import Any

import numpy as np
import pandas as pd
from sqlalchemy.orm import Session

from analytics.quantities import COLUMNS
from server.db import json_text

ROWS_AT_ONCE = 20_000
ROWS_A_STATEMENT = 100
"""Rows that one statement of SQLite inserts: a third faster than row by row, and far from its limit of values."""
_POSTGRESQL_KINDS = {int: "int4", str: "text", datetime: "timestamptz"}


def insert_readings(session: Session, frame: pd.DataFrame, common: dict[str, Any]) -> None:
    """Insert readings that are not there yet.

    Parameters
    ----------
    frame
        As `readings_frame` gives it, each instant once. NaN is stored as NULL.
    common
        What every row has alike: `train_id`, `source` and so on; times as datetimes, documents as dictionaries.
    """
    session.flush()
    common = {name: json_text(value) if isinstance(value, dict) else value for name, value in common.items()}
    values = [name for name in COLUMNS if name in frame.columns]
    words = [name for name in ("state", "remark") if name in frame.columns]
    if session.get_bind().dialect.name == "sqlite":
        _insert_sqlite(session, frame, values, words, common)
    else:
        _copy_postgresql(session, frame, values, words, common)


def _insert_sqlite(
    session: Session, frame: pd.DataFrame, values: list[str], words: list[str], common: dict[str, Any]
) -> None:
    own = ["taken_at", *values, *words]
    head = f"INSERT INTO readings ({', '.join([*common, *own])}) VALUES "
    # What is alike is bound once a statement, by its number; each plain mark takes the number after the highest so far.
    marks = f"({', '.join([*(f'?{n}' for n in range(1, len(common) + 1)), *'?' * len(own)])})"
    alike = [sqlite_time(value) if isinstance(value, datetime) else value for value in common.values()]
    connection = session.connection()
    for part in _parts(frame):
        times = sqlite_times(pd.DatetimeIndex(part.index))
        rows = zip(times, *(part[name].tolist() for name in (*values, *words)), strict=True)
        cells = list(chain.from_iterable(rows))
        width = ROWS_A_STATEMENT * len(own)
        full, rest = divmod(len(part), ROWS_A_STATEMENT)
        if full:
            many = [(*alike, *cells[at : at + width]) for at in range(0, full * width, width)]
            connection.exec_driver_sql(head + ", ".join([marks] * ROWS_A_STATEMENT), many)
        if rest:
            connection.exec_driver_sql(head + ", ".join([marks] * rest), (*alike, *cells[full * width :]))


def _copy_postgresql(
    session: Session, frame: pd.DataFrame, values: list[str], words: list[str], common: dict[str, Any]
) -> None:
    names = ["taken_at", *values, *words, *common]
    cursor = session.connection().connection.cursor()
    kinds = ["timestamptz", *["float8"] * len(values), *["text"] * len(words)]
    kinds += [_POSTGRESQL_KINDS[type(value)] for value in common.values()]
    with cursor.copy(f"COPY readings ({', '.join(names)}) FROM STDIN (FORMAT BINARY)") as copy:
        copy.set_types(kinds)
        for part in _parts(frame):
            columns = [pd.DatetimeIndex(part.index).to_pydatetime(), *(_with_none(part[name]) for name in values)]
            columns += [part[name].tolist() for name in words]
            for row in zip(*columns, strict=True):
                copy.write_row((*row, *common.values()))


def _parts(frame: pd.DataFrame) -> Iterator[pd.DataFrame]:
    for start in range(0, len(frame), ROWS_AT_ONCE):
        yield frame.iloc[start : start + ROWS_AT_ONCE]


def _with_none(column: "pd.Series[float]") -> list[float | None]:
    """Values with None for NaN, which PostgreSQL would keep as a number."""
    found = column.to_numpy(dtype=np.float64)
    values = found.astype(object)
    values[np.isnan(found)] = None
    return values.tolist()


def sqlite_time(value: datetime) -> str:
    """An instant as `server.db.UtcTime` keeps it in SQLite."""
    return sqlite_times(pd.DatetimeIndex([value]))[0]


def sqlite_times(index: pd.DatetimeIndex) -> list[str]:
    """Instants as `server.db.UtcTime` keeps them in SQLite."""
    utc = index.tz_convert("UTC").tz_localize(None).to_numpy()
    return list(np.datetime_as_string(utc, unit="us").tolist())
