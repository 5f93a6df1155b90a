"""Verdicts of the past: find them, and work one out again from what was kept."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from analytics.assess import assess
from analytics.assessment import Assessment
from analytics.plant_file import plant_from_dict
from server.assessments.models import PastAssessment, TrainSettings
from server.elements.queries import rounds_of
from server.errors import NotFound
from server.events.queries import events_of
from server.readings.queries import readings_frame_then

MOST_PAST = 50
"""Verdicts of the past that are listed at once."""


@dataclass(frozen=True)
class WorkedOutAgain:
    """A verdict of the past beside what today's program says of the same readings, events and settings."""

    past: PastAssessment
    again: Assessment

    @property
    def agrees(self) -> bool:
        return (self.past.level, self.past.headline) == (self.again.verdict.level, self.again.verdict.headline)


def past_assessments(session: Session, train_id: int, *, limit: int = MOST_PAST) -> list[PastAssessment]:
    """How the verdict of a train has changed, newest first."""
    query = select(PastAssessment).where(PastAssessment.train_id == train_id)
    return list(session.scalars(query.order_by(PastAssessment.id.desc()).limit(limit)))


def past_or_404(session: Session, train_id: int, past_id: int) -> PastAssessment:
    """One verdict of the past of this train."""
    past = session.get(PastAssessment, past_id)
    if past is None or past.train_id != train_id:
        raise NotFound(f"There is no past verdict with the number {past_id}.")
    return past


def settings_then(session: Session, past: PastAssessment) -> TrainSettings:
    """The settings that a verdict of the past used."""
    if past.settings_id is None:
        raise NotFound("This verdict used no settings: no reading was in use.")
    return session.get_one(TrainSettings, past.settings_id)


def settings_of(session: Session, past: Sequence[PastAssessment]) -> dict[int, dict[str, Any]]:
    """The settings that some verdicts of the past used, by their number."""
    wanted = {one.settings_id for one in past if one.settings_id is not None}
    query = select(TrainSettings.id, TrainSettings.content).where(TrainSettings.id.in_(wanted))
    return {row.id: row.content for row in session.execute(query)}


def work_out_again(session: Session, past: PastAssessment) -> WorkedOutAgain:
    """Assess once more, with the settings, readings, events and rounds of vessels as they were then."""
    plant = plant_from_dict(settings_then(session, past).content)
    readings = readings_frame_then(session, past.train_id, past.inputs_version, past.columns)
    events = events_of(session, past.train_id, at_version=past.inputs_version)
    rounds = rounds_of(session, past.train_id, at_version=past.inputs_version)
    return WorkedOutAgain(past, assess(plant, readings, events, rounds=rounds))
