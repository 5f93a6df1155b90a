"""Assess a train and keep what was found."""

import hashlib
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

import analytics
from analytics.assess import Assessment, assess
from analytics.condition.day_table import RAW
from analytics.plant import plant_from_dict
from analytics.quantities import COLUMNS
from server.assessments.document import assessment_document
from server.assessments.models import AssessmentRecord, Daily, PastAssessment, TrainSettings
from server.budget.actions import refresh_life
from server.db import json_text
from server.events.queries import events_of
from server.plants.models import Train
from server.plants.queries import plant_document
from server.readings.models import SetAside
from server.readings.queries import readings_frame
from server.watching.metrics import timed_assessment

SUMMARY = ("span", "indicators")
"""Parts of the document that the fleet page shows."""
SIGNIFICANT = 7


def refresh_assessment(session: Session, train_id: int) -> AssessmentRecord | None:
    """Assess a train from its records and keep the answer, the days and what is set aside, in place of the old.

    The moment of the assessment is the last reading. None when the train has no readings at all.
    """
    readings = readings_frame(session, train_id)
    for table in (AssessmentRecord, Daily, SetAside):
        session.execute(delete(table).where(table.train_id == train_id))
    session.expire_all()
    train = session.get_one(Train, train_id)
    if readings.empty:
        refresh_life(session, train_id, None)
        _note_no_readings(session, train)
        return None
    settings = _kept_settings(session, train_id)
    with timed_assessment():
        assessment = assess(plant_from_dict(settings.content), readings, events_of(session, train_id))
    document = assessment_document(assessment, series=True)
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
        settings_id=settings.id,
    )
    session.add(record)
    _note_change(session, record, train.columns)
    if days := _days(train_id, assessment):
        session.execute(insert(Daily), days)
    if aside := _set_aside(train_id, assessment, readings):
        session.execute(insert(SetAside), aside)
    refresh_life(session, train_id, assessment)
    session.flush()
    return record


def _kept_settings(session: Session, train_id: int) -> TrainSettings:
    """The settings of a train as they are now, kept once however many assessments use them."""
    content = plant_document(session, train_id)
    digest = hashlib.sha256(json_text(content).encode()).hexdigest()
    query = select(TrainSettings).where(TrainSettings.train_id == train_id, TrainSettings.digest == digest)
    settings = session.scalar(query)
    if settings is None:
        settings = TrainSettings(train_id=train_id, digest=digest, content=content)
        session.add(settings)
        session.flush()
    return settings


def _note_change(session: Session, record: AssessmentRecord, columns: list[str]) -> None:
    """Keep a verdict that differs from the one before it in level, settings or program."""
    last = _last_noted(session, record.train_id)
    if last and (last.level, last.settings_id, last.version) == (record.level, record.settings_id, record.version):
        return
    figures = {f"{e['scope']} {e['name']}": [e["value"], e["low"], e["high"]] for e in record.document["indicators"]}
    session.add(
        PastAssessment(
            train_id=record.train_id,
            as_of=record.as_of,
            level=record.level,
            headline=record.headline,
            reasons=record.document["verdict"]["reasons"],
            figures=figures,
            columns=columns,
            version=record.version,
            inputs_version=record.inputs_version,
            settings_id=record.settings_id,
        )
    )


def _note_no_readings(session: Session, train: Train) -> None:
    """Keep that a verdict is gone because no reading is in use any more."""
    last = _last_noted(session, train.id)
    if last is None or last.as_of is None:
        return
    session.add(
        PastAssessment(
            train_id=train.id,
            level="not enough data",
            headline="No reading is in use.",
            reasons=[],
            figures={},
            columns=[],
            version=analytics.__version__,
            inputs_version=train.inputs_version,
        )
    )
    session.flush()


def _last_noted(session: Session, train_id: int) -> PastAssessment | None:
    query = select(PastAssessment).where(PastAssessment.train_id == train_id)
    return session.scalars(query.order_by(PastAssessment.id.desc()).limit(1)).first()


def _days(train_id: int, assessment: Assessment) -> list[dict[str, Any]]:
    """One row per local day: indicators with spread and count, and the medians of what was measured."""
    raw = assessment.days[[name for name in assessment.days.columns if name.startswith(RAW)]]
    daily = assessment.daily.join(raw)
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
