"""Store what a machine sent."""

from pydantic import BaseModel
from sqlalchemy.orm import Session

from server.api.forms import SentReadings, as_log
from server.assessments.actions import refresh_assessment
from server.audit.author import writer
from server.intake.actions import Upload, read_upload
from server.readings.actions import store_readings


class Stored(BaseModel):
    """How many readings were stored, were there already, or contradict those that were and were not stored."""

    stored: int
    same: int
    different: int


def store_sent(session: Session, train_id: int, sent: SentReadings) -> Stored:
    """Store readings of a machine, all that are new or none, and assess the train again."""
    author = writer(session)
    table = read_upload(session, train_id, Upload("readings", as_log(sent), author=author))
    result = store_readings(session, train_id, table, source="api", author=author)
    if result.stored:
        refresh_assessment(session, train_id)
    return Stored(stored=result.stored, same=result.same, different=result.different)
