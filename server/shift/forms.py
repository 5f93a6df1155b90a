"""What a person enters on a shift: values as typed in the units of the gauges, state, time and remark."""

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pandas as pd

from analytics.condition.entry_words import WORDS
from analytics.condition.typed_number import plain_number
from analytics.quantities import COLUMNS, STATES
from analytics.units import to_canonical, units_of
from server.intake.times import localize

LONGEST_REMARK, LONGEST_REASON, LONGEST_NAME = 2_000, 200, 200
FUTURE = timedelta(days=1)
EARLIEST = 1970
KEY = re.compile(r"[A-Za-z0-9-]{8,64}")
TWICE = "The clocks showed this time twice that night; it was taken as the first."
UNIT, REASON = "unit.", "reason."
"""Before the name of a column: the unit of its gauge, and why an impossible value is kept all the same."""


@dataclass(frozen=True)
class ShiftForm:
    """Fields as text, exactly as they were entered.

    `time` is the clock of the site; `instant` the same moment in UTC, which the page knows when the clock was not
    touched. `confirmed` says that odd values are meant; `queued` that the entry waited on the phone.
    """

    values: dict[str, str]
    units: dict[str, str]
    state: str
    time: str
    instant: str
    remark: str
    key: str
    confirmed: bool
    queued: bool
    entered_by: str
    reasons: dict[str, str]
    errors: dict[str, str] = field(default_factory=dict)

    @classmethod
    def sent(cls, form: Mapping[str, str]) -> "ShiftForm":
        """What came in; fields that are not known are passed over."""
        values = {name: form[name].strip() for name in COLUMNS if form.get(name, "").strip()}
        return cls(
            values=values,
            units={name: form.get(UNIT + name, COLUMNS[name].unit) for name in values},
            state=form.get("state", "running"),
            time=form.get("time", "").strip(),
            instant=form.get("instant", "").strip(),
            remark=form.get("remark", "").replace("\r\n", "\n").strip(),
            key=form.get("key", ""),
            confirmed=form.get("confirmed") == "yes",
            queued=form.get("queued") == "yes",
            entered_by=form.get("entered_by", "").strip()[:LONGEST_NAME],
            reasons={name: form[REASON + name].strip() for name in values if form.get(REASON + name, "").strip()},
        )

    @property
    def digest(self) -> str:
        """The same for forms that say the same, however often they are sent and whatever was confirmed."""
        said = [self.values, self.units, self.state, self.time, self.remark, self.reasons]
        return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()

    def checked(self, zone: ZoneInfo, now: datetime) -> "ShiftForm":
        """The same form with what cannot be read in it."""
        errors = {name: problem for name in self.values if (problem := self._value_problem(name))}
        if self.state not in STATES:
            errors["state"] = "Choose what the train was doing."
        taken_at = self.taken_at(zone)
        if taken_at is None:
            errors["time"] = "Enter a day and a time, such as 2026-03-01 14:30."
        elif taken_at > now + FUTURE:
            errors["time"] = "This lies more than a day in the future."
        elif (local := taken_at.astimezone(zone).replace(tzinfo=None)) != _time(self.time):
            errors["time"] = f"The clocks skipped this time that night; write {local:%H:%M} instead."
        if len(self.remark) > LONGEST_REMARK:
            errors["remark"] = f"At most {LONGEST_REMARK} characters, please."
        errors |= {
            REASON + name: f"At most {LONGEST_REASON} characters, please."
            for name, text in self.reasons.items()
            if len(text) > LONGEST_REASON
        }
        if not KEY.fullmatch(self.key):
            errors["key"] = "Open the page again; what you entered is still there."
        if not self.values and self.state == "running":
            errors["values"] = "Nothing was entered yet."
        return replace(self, errors=errors)

    def _value_problem(self, name: str) -> str:
        if self.units[name] not in units_of(COLUMNS[name].unit):
            return "The unit of this gauge is not one that fits."
        number = plain_number(self.values[name])
        return "" if number is not None else WORDS["number"]

    def numbers(self) -> dict[str, float]:
        """Values in the units of the gauges; only for a form without errors."""
        return {name: float(plain_number(text) or "nan") for name, text in self.values.items()}

    def canonical(self) -> dict[str, float]:
        """Values in canonical units; only for a form without errors."""
        return {
            name: float(to_canonical(number, self.units[name], COLUMNS[name].unit))
            for name, number in self.numbers().items()
        }

    def taken_at(self, zone: ZoneInfo) -> datetime | None:
        """When the gauges were read, to the minute; None when that cannot be read."""
        local = _time(self.time)
        if local is None or local.tzinfo is not None:
            return None
        return self._known_instant(local, zone) or _instant(local, zone)

    def _known_instant(self, local: datetime, zone: ZoneInfo) -> datetime | None:
        """The moment that the page knew, where the clock of the site showed `local` then."""
        instant = _time(self.instant)
        if instant is None or instant.tzinfo is None:
            return None
        known = instant.astimezone(UTC).replace(second=0, microsecond=0)
        return known if known.astimezone(zone).replace(tzinfo=None) == local else None

    def clock_note(self, zone: ZoneInfo) -> str:
        """What was taken of a time that the clocks showed twice where nothing tells which; empty for any other."""
        local = _time(self.time)
        if local is None or local.tzinfo is not None or self._known_instant(local, zone):
            return ""
        first, second = (local.replace(tzinfo=zone, fold=fold).utcoffset() for fold in (0, 1))
        return TWICE if first is not None and second is not None and first > second else ""


def other_time(text: str, taken_at: datetime, zone: ZoneInfo, now: datetime) -> tuple[datetime | None, str]:
    """Another time by the clock of the site at which an entry was read; or what is wrong with it."""
    local = _time(text.strip())
    if local is None or local.tzinfo is not None:
        return None, "Enter a day and a time, such as 2026-03-01 14:30."
    found = _instant(local, zone)
    if found == taken_at:
        return None, "This is the time of the other reading; enter when this one was read."
    if found > now + FUTURE:
        return None, "This lies more than a day in the future."
    return found, ""


def _instant(local: datetime, zone: ZoneInfo) -> datetime:
    return localize(pd.DatetimeIndex([local]), zone).utc[0].to_pydatetime()


def _time(text: str) -> datetime | None:
    """A time to the minute, within years that a plant can have seen."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found.replace(second=0, microsecond=0) if EARLIEST < found.year < 3000 else None
