"""Store what a machine sent."""

import dataclasses
import hashlib
from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
from fastapi import Request
from pydantic import BaseModel
from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from server.api.forms import RowError, SentReadings, as_log, check_readings, latest_time, wrong_units
from server.api.models import ApiAnswer
from server.assessments.due import due_of
from server.audit.author import writer
from server.db import after_commit, json_text, now
from server.errors import AppError, Conflict
from server.intake.actions import Upload, read_upload
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.readings.actions import StoreResult, store_readings

BEING_WORKED_OUT, UP_TO_DATE = "being worked out", "up to date"
FIRST_ROW = 2
"""The row of the first reading in a log, whose first row is its header."""
KEPT_DAYS = 30
"""How long an answer is kept for its key: a machine that was cut off asks again within hours."""


class Difference(BaseModel):
    """A reading that is there already and says something else; nothing was overwritten."""

    row: int
    taken_at: str
    column: str
    stored: float | str | None
    given: float | str


class Stored(BaseModel):
    """What became of a batch.

    Readings were `stored`, were there already (`same`), contradict those that were and were not stored (`different`,
    the first of them in `differences`), or could not be used (`refused`, with `errors`). `notes` say how times were
    understood that the clocks of the site skipped or showed twice. `assessment` is "being worked
    out" where the verdict does not know of these readings yet, else "up to date"; it can be read at `assessment_url`.
    """

    stored: int
    same: int
    different: int
    refused: int
    errors: list[RowError]
    differences: list[Difference]
    notes: list[str] = []
    assessment: str
    assessment_url: str


class Refused(BaseModel):
    """Why nothing was stored: a sentence, and the errors by reading where there are any."""

    error: str
    errors: list[RowError] = []


class CannotBeUsed(AppError):
    """Readings of a batch that is to be stored as a whole, or its units, cannot be used; nothing was stored."""

    status_code = 422

    def __init__(self, errors: list[RowError], refused: int, total: int) -> None:
        first = errors[0]
        place = f"reading {first.row}, {first.field}" if first.row else first.field
        value = f' "{first.value}"' if first.value else ""
        some = f"{refused} of {total} readings cannot be used, so none was stored" if refused else "Nothing was stored"
        super().__init__(f"{some}. {place}:{value} {first.error}; expected {first.expected}")
        self.errors = errors


def store_sent(
    request: Request, session: Session, train_id: int, sent: SentReadings, *, partial: bool, key: str = ""
) -> Stored:
    """Store the readings of a machine: all that are new or none, or with `partial` those that can be used.

    The same batch with the same key is answered as before. The verdict is brought up to date in the background.
    """
    train = train_or_404(session, train_id)
    session.get(Train, train_id, with_for_update=True)
    digest = hashlib.sha256(json_text([sent.readings, sent.units, partial]).encode()).hexdigest() if key else ""
    query = select(ApiAnswer).where(ApiAnswer.train_id == train_id, ApiAnswer.key == key)
    known = session.scalar(query) if key else None
    if known is not None:
        if known.digest != digest:
            raise Conflict("This Idempotency-Key came with other readings before; send another key")
        return Stored(**known.answer)
    answer = _store(session, train_id, sent, ZoneInfo(train.site.timezone), partial=partial)
    if key:
        _keep_answer(session, train_id, key, digest, answer)
    if answer.stored:
        after_commit(session, request.app.state.worker.wake)
    return answer


def _keep_answer(session: Session, train_id: int, key: str, digest: str, answer: Stored) -> None:
    old = now() - timedelta(days=KEPT_DAYS)
    session.execute(delete(ApiAnswer).where(ApiAnswer.train_id == train_id, ApiAnswer.created_at < old))
    session.add(
        ApiAnswer(train_id=train_id, key=key, digest=digest, readings=answer.stored, answer=answer.model_dump())
    )


def _store(session: Session, train_id: int, sent: SentReadings, zone: ZoneInfo, *, partial: bool) -> Stored:
    total = len(sent.readings)
    if wrong := wrong_units(sent.units):
        raise CannotBeUsed(wrong, 0, total)
    checked = check_readings(sent.readings, zone, latest_time(now()))
    if checked.errors and not partial:
        raise CannotBeUsed(list(checked.errors), checked.refused, total)
    result = StoreResult(0, 0, 0, ())
    notes: tuple[str, ...] = ()
    if checked.readings:
        author, rows = writer(session), np.array(list(checked.readings))
        log = as_log(list(checked.readings.values()), sent.units)
        table = read_upload(session, train_id, Upload("readings", log, author=author, latest=latest_time(now())))
        table = dataclasses.replace(table, row_numbers=rows[table.row_numbers - FIRST_ROW])
        result, notes = store_readings(session, train_id, table, source="api", author=author), table.notes
    due = bool(result.stored or due_of(session, train_id).ids)
    return Stored(
        stored=result.stored,
        same=result.same,
        different=result.different,
        refused=checked.refused,
        errors=list(checked.errors),
        differences=[
            Difference(
                row=one.row, taken_at=one.taken_at.isoformat(), column=one.column, stored=one.stored, given=one.given
            )
            for one in result.differences
        ],
        notes=list(notes),
        assessment=BEING_WORKED_OUT if due else UP_TO_DATE,
        assessment_url=f"/api/v1/trains/{train_id}/assessment",
    )
