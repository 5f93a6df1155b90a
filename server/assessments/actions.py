"""Assess a train and keep what was found."""

import hashlib
from dataclasses import dataclass
from typing import Any

import pandas as pd
from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

import analytics
from analytics.assess import assess
from analytics.assessment import Assessment
from analytics.plant_file import plant_from_dict
from server.assessments.day_store import read_days
from server.assessments.document import assessment_document
from server.assessments.due import Due, due_of, settle_due
from server.assessments.in_brief import brief_words
from server.assessments.models import (
    AssessmentRecord,
    Daily,
    PastAssessment,
    TrainSettings,
    WorkingBasis,
    WorkingDays,
)
from server.assessments.renewal import RELEARNED_AFTER, basis_document, plan_renewal
from server.assessments.rows import keep_rows
from server.budget.actions import refresh_life
from server.db import json_text
from server.elements.queries import rounds_of
from server.events.queries import events_of
from server.plants.models import Train
from server.plants.queries import plant_document
from server.readings.models import Reading, SetAside
from server.readings.queries import readings_frame
from server.watching.metrics import timed_assessment

SUMMARY = ("span", "indicators")
"""Parts of the document that the fleet page shows."""


@dataclass(frozen=True)
class Finding:
    """An assessment with what it was made from, ready to be kept.

    `settings` and `digest` are the plant as it was; `base` is the version of the working days that only some were
    worked out on top of, None where all were. `assessment` is None where no reading is in use.
    """

    train_id: int
    inputs_version: int
    columns: list[str]
    settings: dict[str, Any]
    digest: str
    due: Due
    assessment: Assessment | None
    renewed: pd.DatetimeIndex | None
    base: int | None
    changed: int


def refresh_assessment(
    session: Session, train_id: int, readings: pd.DataFrame | None = None
) -> AssessmentRecord | None:
    """Assess a train from its records and keep the answer, the days and what is set aside, in place of the old.

    Only the days that have changed are worked out again where the rest is known (`renewal`). The moment of the
    assessment is the last reading. None when the train has no readings at all. `readings` are all of the train's as
    `readings_frame` gives them, where the caller has them.
    """
    found = work_out(session, train_id, readings)
    keep_finding(session, found)
    return session.scalar(select(AssessmentRecord).where(AssessmentRecord.train_id == train_id))


def work_out(session: Session, train_id: int, readings: pd.DataFrame | None = None) -> Finding:
    """Assess a train; nothing is written. `readings` are all of the train's, where the caller has them."""
    due = due_of(session, train_id)
    train = session.get_one(Train, train_id, populate_existing=True)
    content = plant_document(session, train_id)
    digest = hashlib.sha256(json_text(content).encode()).hexdigest()
    plant, events = plant_from_dict(content), events_of(session, train_id)
    rounds = rounds_of(session, train_id)
    working = None if due.whole else _working(session, train, digest)
    renewal = None
    changed = 0 if working is None else working.changed + sum(span.readings for span in due.spans)
    if working is not None and changed <= RELEARNED_AFTER * working.readings:
        first = session.scalar(
            select(func.min(Reading.taken_at)).where(Reading.train_id == train_id, Reading.voided_at.is_(None))
        )
        if first is not None:
            table = read_days(session, train_id)
            renewal = plan_renewal(working, table, first, due.spans, plant.site.timezone)
    with timed_assessment():
        if renewal is None or working is None:
            readings = readings_frame(session, train_id) if readings is None else readings
            assessment = None if readings.empty else assess(plant, readings, events, rounds=rounds)
            return Finding(
                train_id, train.inputs_version, train.columns, content, digest, due, assessment, None, None, 0
            )
        readings = pd.concat([readings_frame(session, train_id, *span) for span in renewal.spans])
        assessment = assess(plant, _with_words(readings), events, known=renewal.known, rounds=rounds)
    return Finding(
        train_id, train.inputs_version, train.columns, content, digest, due, assessment, renewal.known.renewed,
        working.inputs_version, changed,
    )  # fmt: skip


def _with_words(readings: pd.DataFrame) -> pd.DataFrame:
    """Parts of a log put together: a part without a word has a blank for it."""
    words = [name for name in ("state", "remark") if name in readings.columns]
    return readings.fillna(dict.fromkeys(words, "")) if words else readings


def _working(session: Session, train: Train, digest: str) -> WorkingBasis | None:
    """What some days alone can be worked out with, if it is of these settings, this program and all meters."""
    query = (
        select(WorkingBasis)
        .join(TrainSettings, TrainSettings.id == WorkingBasis.settings_id)
        .where(WorkingBasis.train_id == train.id, WorkingBasis.version == analytics.__version__)
        .where(TrainSettings.digest == digest)
    )
    working = session.scalar(query.execution_options(populate_existing=True))
    return working if working is not None and set(train.columns) <= set(working.columns) else None


def keep_finding(session: Session, found: Finding) -> bool:
    """Keep what was found, unless something newer is there already or what it was based on is gone."""
    train_id = found.train_id
    record = session.scalar(select(AssessmentRecord).where(AssessmentRecord.train_id == train_id))
    if record is not None and record.inputs_version > found.inputs_version:
        return False
    working = session.get(WorkingBasis, train_id, populate_existing=True)
    if found.base is not None and (working is None or working.inputs_version != found.base):
        return False
    settle_due(session, found.due)
    session.execute(delete(AssessmentRecord).where(AssessmentRecord.train_id == train_id))
    assessment = found.assessment
    if assessment is None:
        for table in (Daily, SetAside, WorkingDays, WorkingBasis):
            session.execute(delete(table).where(table.train_id == train_id))
        session.expire_all()
        refresh_life(session, train_id, None)
        _note_no_readings(session, session.get_one(Train, train_id))
        return True
    settings = _kept_settings(session, found)
    record = _record(found, assessment, settings.id)
    session.expire_all()
    session.add(record)
    _note_change(session, record, found.columns)
    keep_rows(session, train_id, assessment, found.renewed)
    _keep_basis(session, found, assessment, settings.id)
    refresh_life(session, train_id, assessment)
    session.flush()
    return True


def _record(found: Finding, assessment: Assessment, settings_id: int) -> AssessmentRecord:
    document = assessment_document(assessment, series=True)
    return AssessmentRecord(
        train_id=found.train_id,
        as_of=assessment.as_of,
        level=assessment.verdict.level,
        headline=assessment.verdict.headline,
        series=document.pop("series"),
        summary={key: document[key] for key in SUMMARY} | {"brief": brief_words(document)},
        document=document,
        version=assessment.version,
        inputs_version=found.inputs_version,
        settings_id=settings_id,
    )


def _keep_basis(session: Session, found: Finding, assessment: Assessment, settings_id: int) -> None:
    """Keep what the next assessment can be built on; nothing where there is no reference."""
    working = session.get(WorkingBasis, found.train_id)
    if found.base is not None and working is not None:
        working.inputs_version, working.changed = found.inputs_version, found.changed
        return
    if working is not None:
        session.delete(working)
        session.flush()
    basis = assessment.basis
    if basis is None:
        return
    session.add(
        WorkingBasis(
            train_id=found.train_id,
            settings_id=settings_id,
            version=assessment.version,
            inputs_version=found.inputs_version,
            basis=basis_document(basis),
            columns=found.columns,
            readings=assessment.counts.total,
            changed=0,
        )
    )


def _kept_settings(session: Session, found: Finding) -> TrainSettings:
    """The settings of a train as they were, kept once however many assessments use them."""
    query = select(TrainSettings).where(TrainSettings.train_id == found.train_id, TrainSettings.digest == found.digest)
    settings = session.scalar(query)
    if settings is None:
        settings = TrainSettings(train_id=found.train_id, digest=found.digest, content=found.settings)
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
