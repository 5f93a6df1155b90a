"""The events page as typed values: what happened, and the form to write down more."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from server.assessments.levels import KINDS
from server.display import moment
from server.events.forms import EventForm
from server.events.models import Event
from server.plants.models import Train
from server.templating import Frame

Options = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class EventLine:
    happened_at: str
    kind: str
    stage: str
    detail: str


@dataclass(frozen=True)
class EventsPage:
    """Events of a train, newest first, and the form."""

    frame: Frame
    site: str
    train: str
    train_id: int
    timezone: str
    lines: tuple[EventLine, ...]
    form: EventForm
    kinds: Options
    stages: Options


def events_page(frame: Frame, train: Train, events: Sequence[Event], form: EventForm) -> EventsPage:
    """Put the events and the form of a train together."""
    zone = ZoneInfo(train.site.timezone)
    return EventsPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        timezone=train.site.timezone,
        lines=tuple(_line(event, zone) for event in events),
        form=form,
        kinds=tuple(KINDS.items()),
        stages=(("", "The whole train"), *((str(stage.number), f"Stage {stage.number}") for stage in train.stages)),
    )


def _line(event: Event, zone: ZoneInfo) -> EventLine:
    stage = f"stage {event.stage}" if event.stage else ""
    return EventLine(moment(event.happened_at, zone), KINDS.get(event.kind, event.kind), stage, event.detail)


def blank_form(zone: ZoneInfo, now: datetime) -> EventForm:
    """The form before anything is entered: now, by the clock of the site."""
    local = now.astimezone(zone)
    return EventForm(kind="cleaning", stage="", when=local.strftime("%Y-%m-%dT%H:%M"), detail="")
