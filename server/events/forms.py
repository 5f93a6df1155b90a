"""What a person enters about an event, as entered, with what is wrong beside each field."""

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from analytics.events import KINDS, UNEXPLAINED, Event

LONGEST_DETAIL = 2_000
AHEAD = timedelta(days=1)


@dataclass(frozen=True)
class EventForm:
    """Fields as text, exactly as they were entered."""

    kind: str
    stage: str
    when: str
    detail: str
    reason: str = ""
    errors: dict[str, str] = field(default_factory=dict)

    def checked(self, zone: ZoneInfo, stages: int, now: datetime) -> "EventForm":
        """The same form with what is wrong with it."""
        errors = {}
        if self.kind not in KINDS:
            errors["kind"] = "Choose what happened."
        if self.stage and self.stage not in {str(n) for n in range(1, stages + 1)}:
            errors["stage"] = "This train has no such stage."
        time = self._time(zone)
        if time is None:
            errors["when"] = "Enter a day and a time, such as 2026-03-01 14:30."
        elif time > now + AHEAD:
            errors["when"] = "This lies in the future; an event is something that has happened."
        if len(self.detail) > LONGEST_DETAIL:
            errors["detail"] = f"At most {LONGEST_DETAIL} characters, please."
        return replace(self, errors=errors)

    def with_reason(self) -> "EventForm":
        """The same form, which also needs the reason of a correction."""
        missing = {} if self.reason.strip() else {"reason": "Say why, so that the record can be trusted."}
        return replace(self, errors=self.errors | missing)

    def event(self, zone: ZoneInfo) -> Event:
        """The event that was entered; only for a form without errors."""
        time = self._time(zone)
        assert time is not None
        return Event(time, self.kind, int(self.stage) if self.stage else None, self.detail.strip())

    def _time(self, zone: ZoneInfo) -> datetime | None:
        try:
            entered = datetime.fromisoformat(self.when.strip())
        except ValueError:
            return None
        local = entered if entered.tzinfo else entered.replace(tzinfo=zone)
        return local.astimezone(UTC)


def answer_form(kind: str, day: str, stage: str) -> EventForm:
    """The answer to a step that nobody had written down, as an event at noon of its day."""
    detail = f"{UNEXPLAINED}; nobody knows what it was." if kind == "note" else "Said when asked about a step."
    return EventForm(kind=kind, stage=stage, when=f"{day}T12:00", detail=detail)
