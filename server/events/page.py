"""The events pages as typed values: what happened, the form to write down more, and one event to be corrected."""

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
    author: str
    link: str
    withdrawn: str


@dataclass(frozen=True)
class EventsPage:
    """Events of a train, newest first, and the form."""

    frame: Frame
    site: str
    train: str
    train_id: int
    timezone: str
    lines: tuple[EventLine, ...]
    withdrawn: tuple[EventLine, ...]
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
        lines=tuple(_line(event, zone) for event in events if event.voided_at is None),
        withdrawn=tuple(_line(event, zone) for event in events if event.voided_at is not None),
        form=form,
        kinds=tuple(KINDS.items()),
        stages=_stages(train),
    )


def _stages(train: Train) -> Options:
    return (("", "The whole train"), *((str(stage.number), f"Stage {stage.number}") for stage in train.stages))


@dataclass(frozen=True)
class EventPage:
    """One event, with the form to correct it; `line.withdrawn` says how it went, empty while it stands."""

    frame: Frame
    site: str
    train: str
    train_id: int
    timezone: str
    line: EventLine
    form: EventForm
    kinds: Options
    stages: Options


def event_page(frame: Frame, train: Train, event: Event, form: EventForm) -> EventPage:
    """Put one event and its form together."""
    line = _line(event, ZoneInfo(train.site.timezone))
    return EventPage(
        frame, train.site.name, train.name, train.id, train.site.timezone, line, form, tuple(KINDS.items()),
        _stages(train),
    )  # fmt: skip


def _line(event: Event, zone: ZoneInfo) -> EventLine:
    stage = f"stage {event.stage}" if event.stage else ""
    withdrawn = ""
    if event.voided_at is not None:
        withdrawn = f"{event.void_reason} ({event.voided_by or 'somebody'}, {moment(event.voided_at, zone)})"
    kind = KINDS.get(event.kind, event.kind)
    link = f"/events/{event.id}"
    return EventLine(moment(event.happened_at, zone), kind, stage, event.detail, event.author, link, withdrawn)


def blank_form(zone: ZoneInfo, now: datetime) -> EventForm:
    """The form before anything is entered: now, by the clock of the site."""
    local = now.astimezone(zone)
    return EventForm(kind="cleaning", stage="", when=local.strftime("%Y-%m-%dT%H:%M"), detail="")


def form_of(event: Event, zone: ZoneInfo) -> EventForm:
    """The form with what an event says."""
    local = event.happened_at.astimezone(zone)
    stage = str(event.stage) if event.stage else ""
    return EventForm(event.kind, stage, local.strftime("%Y-%m-%dT%H:%M:%S"), event.detail)
