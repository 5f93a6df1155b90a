"""Tell new readings from those that are there already, and from those that contradict them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from sqlalchemy import select
from sqlalchemy.orm import Session

from analytics.quantities import COLUMNS
from server.readings.models import Reading

MOST_DIFFERENCES = 100
SAME_WITHIN = 1e-9
"""Share by which a value may differ and be the same: what is lost on the way through another unit."""

TABLE = Reading.__table__
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Difference:
    """A reading of the file that says something else than the one stored (or read before it) at the same instant.

    `stored` is None where there was no value; `earlier_row` is the row of the file that says it, 0 where it is the
    logbook. Canonical units.
    """

    row: int
    taken_at: datetime
    column: str
    stored: float | str | None
    given: float | str
    earlier_row: int = 0


@dataclass(frozen=True)
class Comparison:
    """Positions in the given frame, by what they are.

    `new` are to be inserted, `back` take the place of a voided reading (with its id in `back_ids`). `same` counts
    those that say nothing new; `different` those that contradict, the first of which stand in `differences`.
    """

    new: npt.NDArray[np.intp]
    back: npt.NDArray[np.intp]
    back_ids: tuple[int, ...]
    same: int
    different: int
    differences: tuple[Difference, ...]


def compare_readings(
    session: Session, train_id: int, frame: pd.DataFrame, row_numbers: npt.NDArray[np.int64]
) -> Comparison:
    """Compare readings of a file with each other and with those stored.

    Parameters
    ----------
    frame
        Ascending, instants may repeat.
    row_numbers
        Row of the file of each.
    """
    index = pd.DatetimeIndex(frame.index)
    stored = stored_in_span(session, train_id, frame)
    at = pd.DatetimeIndex(stored.index).get_indexer(index)
    first_of = np.searchsorted(index.asi8, index.asi8, side="left")
    again = first_of != np.arange(len(index))
    voided = np.zeros(len(index), dtype=bool)
    voided[at >= 0] = stored["voided"].to_numpy(dtype=bool)[at[at >= 0]]
    there = (at >= 0) & ~voided
    known = there | again
    if not len(stored) and not known.any():
        return Comparison(np.arange(len(index)), np.zeros(0, dtype=np.intp), (), 0, 0, ())
    other = frame.iloc[first_of].set_axis(frame.index)
    kept = stored.reindex(columns=frame.columns).take(at[there])
    for name in frame.columns:
        values = other[name].to_numpy(copy=True)
        values[there] = kept[name].to_numpy()
        other[name] = values
    contradicting = {name: known & contradicts(frame[name], other[name]) for name in frame.columns}
    different = np.logical_or.reduce([np.zeros(len(index), dtype=bool), *contradicting.values()])
    back = np.flatnonzero(voided & ~again)
    return Comparison(
        new=np.flatnonzero((at < 0) & ~again),
        back=back,
        back_ids=tuple(stored["id"].to_numpy()[at[back]].tolist()),
        same=int((known & ~different).sum()),
        different=int(different.sum()),
        differences=_listed(frame, other, contradicting, row_numbers, np.where(there, 0, row_numbers[first_of])),
    )


def stored_in_span(session: Session, train_id: int, frame: pd.DataFrame) -> pd.DataFrame:
    """What is stored in the span of the frame, the voided readings among it."""
    columns = [name for name in frame.columns if name in TABLE.c]
    if not len(frame):
        return pd.DataFrame(columns=["id", "voided", *columns], index=pd.DatetimeIndex([], tz="UTC"))
    query = select(TABLE.c.taken_at, TABLE.c.id, TABLE.c.voided_at, *(TABLE.c[name] for name in columns)).where(
        TABLE.c.train_id == train_id,
        TABLE.c.taken_at >= frame.index[0].to_pydatetime(),
        TABLE.c.taken_at <= frame.index[-1].to_pydatetime(),
    )
    rows = session.execute(query.order_by(TABLE.c.taken_at)).all()
    by_column: list[Any] = list(zip(*rows, strict=True)) or [()] * (3 + len(columns))
    data: dict[str, Any] = {
        "id": np.array(by_column[1], dtype=np.int64),
        "voided": np.array([voided is not None for voided in by_column[2]], dtype=bool),
    }
    for name, values in zip(columns, by_column[3:], strict=True):
        data[name] = np.array(values, dtype=np.float64 if name in COLUMNS else object)
    return pd.DataFrame(data, index=pd.DatetimeIndex(list(by_column[0]), tz="UTC"))


def contradicts(given: "pd.Series[Any]", other: "pd.Series[Any]") -> Flags:
    """True where something is given that is not what the other says."""
    if given.name in COLUMNS:
        ours, theirs = given.to_numpy(dtype=np.float64), other.to_numpy(dtype=np.float64)
        same = np.isclose(ours, theirs, rtol=SAME_WITHIN, atol=0, equal_nan=True)
        return np.asarray(~np.isnan(ours) & ~same)
    ours, theirs = given.to_numpy(dtype=object), other.fillna("").to_numpy(dtype=object)
    return np.asarray((ours != "") & (ours != theirs), dtype=bool)


def _listed(
    frame: pd.DataFrame,
    other: pd.DataFrame,
    contradicting: dict[str, Flags],
    row_numbers: npt.NDArray[np.int64],
    earlier: npt.NDArray[np.int64],
) -> tuple[Difference, ...]:
    found = []
    for name, flags in contradicting.items():
        for position in np.flatnonzero(flags)[:MOST_DIFFERENCES]:
            stored, given = other[name].iloc[position], frame[name].iloc[position]
            found.append(
                Difference(
                    row=int(row_numbers[position]),
                    taken_at=frame.index[position].to_pydatetime(),
                    column=name,
                    stored=None if pd.isna(stored) else stored,
                    given=given,
                    earlier_row=int(earlier[position]),
                )
            )
    return tuple(sorted(found, key=lambda difference: difference.row)[:MOST_DIFFERENCES])
