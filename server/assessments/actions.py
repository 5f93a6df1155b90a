"""Assess a train and keep what was found."""

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from sqlalchemy import delete, insert
from sqlalchemy.orm import Session

from analytics.assess import Assessment, assess
from analytics.quantities import COLUMNS
from server.assessments.document import assessment_document
from server.assessments.models import AssessmentRecord, Daily
from server.events.queries import events_of
from server.plants.models import Train
from server.plants.queries import plant_of
from server.readings.models import SetAside
from server.readings.queries import readings_frame

SUMMARY = ("span", "indicators")
"""Parts of the document that the fleet page shows."""
RAW = "raw_"
"""Prefix of the daily medians of what was measured, in canonical units."""

SIGNIFICANT = 7


def refresh_assessment(session: Session, train_id: int) -> AssessmentRecord | None:
    """Assess a train from its records and keep the answer, the days and what is set aside, in place of the old.

    The moment of the assessment is the last reading. None when the train has no readings at all.
    """
    readings = readings_frame(session, train_id)
    for table in (AssessmentRecord, Daily, SetAside):
        session.execute(delete(table).where(table.train_id == train_id))
    session.expire_all()
    if readings.empty:
        return None
    assessment = assess(plant_of(session, train_id), readings, events_of(session, train_id))
    document = assessment_document(assessment, series=True)
    train = session.get_one(Train, train_id)
    record = AssessmentRecord(
        train_id=train_id,
        as_of=assessment.as_of,
        level=assessment.verdict.level,
        headline=assessment.verdict.headline,
        series=document.pop("series"),
        summary={key: document[key] for key in SUMMARY},
        document=document,
        version=assessment.version,
        inputs_version=train.inputs_version,
    )
    session.add(record)
    if days := _days(train_id, assessment):
        session.execute(insert(Daily), days)
    if aside := _set_aside(train_id, assessment, readings):
        session.execute(insert(SetAside), aside)
    session.flush()
    return record


def _days(train_id: int, assessment: Assessment) -> list[dict[str, Any]]:
    """One row per local day: indicators with spread and count, and the medians of what was measured."""
    log = assessment.log
    measured = [name for name in log.readings.columns if name in COLUMNS]
    raw = log.readings[measured].set_axis(log.days)[log.used].groupby(level=0).median().add_prefix(RAW)
    daily = pd.concat([assessment.daily, raw], axis=1).sort_index()
    values = _rounded(daily.to_numpy(dtype=np.float64))
    names = list(daily.columns)
    return [
        {
            "train_id": train_id,
            "day": day.date(),
            "content": {name: value for name, value in zip(names, row, strict=True) if value == value},
        }
        for day, row in zip(pd.DatetimeIndex(daily.index), values.tolist(), strict=True)
    ]


def _rounded(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Values with seven significant figures: more is noise, and twice the room."""
    with np.errstate(divide="ignore"):
        size = np.floor(np.log10(np.abs(values)))
    scale = 10.0 ** (SIGNIFICANT - 1 - np.where(np.isfinite(size), size, 0))
    return np.round(values * scale) / scale


def _set_aside(train_id: int, assessment: Assessment, readings: pd.DataFrame) -> list[dict[str, Any]]:
    """One row per reading that is set aside as a whole, or of which a value is."""
    log = assessment.log
    reasons = log.reason.to_numpy()
    lost: dict[int, dict[str, str]] = {}
    for quantity, counts in log.values_set_aside.items():
        column = next(name for name, known in COLUMNS.items() if known.name == quantity)
        gone = (readings[column].notna() & log.readings[column].isna()).to_numpy()
        for position in np.flatnonzero(gone):
            lost.setdefault(int(position), {})[column] = " or ".join(counts)
    positions = sorted({*np.flatnonzero(reasons != "").tolist(), *lost})
    times = pd.DatetimeIndex(readings.index)
    return [
        {
            "train_id": train_id,
            "taken_at": times[position].to_pydatetime(),
            "reason": reasons[position],
            "content": lost.get(position),
        }
        for position in positions
    ]
