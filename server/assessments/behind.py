"""What the pages behind a verdict share: the train, its latest answer, its days and its events."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import Request
from sqlalchemy.orm import Session

from analytics.events import Event
from analytics.plant import Plant
from server.assessments.history import History, history_from_series
from server.assessments.models import AssessmentRecord
from server.assessments.page import EmptyTrainPage
from server.assessments.queries import latest_assessment
from server.events.queries import events_of
from server.plants.queries import plant_of, train_or_404
from server.reader_words import retold
from server.templating import Frame, TrainTabs, frame_of


@dataclass(frozen=True)
class Behind:
    """One train with its latest answer."""

    frame: Frame
    site: str
    train: str
    plant: Plant
    record: AssessmentRecord
    events: Sequence[Event]

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.plant.site.timezone)

    @property
    def stages(self) -> int:
        return len(self.plant.train.stages)

    @cached_property
    def document(self) -> dict[str, Any]:
        """The answer, its sentences in the reader's units."""
        return retold(self.record.document, self.frame.units)

    @cached_property
    def history(self) -> History:
        return history_from_series(self.record.series)


def behind_verdict(request: Request, session: Session, train_id: int, title: str) -> Behind | EmptyTrainPage:
    """Everything that a page behind the verdict needs; the page of a train without an answer where there is none."""
    train = train_or_404(session, train_id)
    tabs = TrainTabs(train_id, train.site.name, train.name, "assessment")
    frame = frame_of(request, f"{title}, {train.name}", site_units=train.site.units, tabs=tabs)
    record = latest_assessment(session, train_id, series=True)
    if record is None:
        return EmptyTrainPage(frame, train.site.name, train.name, train_id)
    events = events_of(session, train_id)
    return Behind(frame, train.site.name, train.name, plant_of(session, train_id), record, events)
