"""What a person enters about a cleaning, as entered: what is wrong, what is dangerous, what is only unusual."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from analytics.condition.typed_number import plain_number
from analytics.decisions.cleaning_limits import Finding, check_conditions
from analytics.decisions.cleaning_solution import dangers_of
from analytics.decisions.cleaning_volume import vessel_flow_m3h
from analytics.plant import Membrane, Plant
from analytics.units import display_unit, from_canonical, to_canonical
from server.cleanings.actions import Recorded
from server.cleanings.fields import (
    CONVERTED,
    HEAD,
    LONGEST_LONG_TEXT,
    LONGEST_TEXT,
    MOST_STEPS,
    STEP,
    RecordField,
)
from server.cleanings.sheet_steps import read_sheet
from server.display import number
from server.reader_words import in_reader_words

AHEAD = timedelta(hours=1)
LONGEST = timedelta(days=14)
NOT_A_NUMBER = "This is not a number; write it like 12.5 or 12,5."
FIELD_OF = {
    "ph": "ph",
    "temperature": "temperature",
    "pressure": "pressure_in_bar",
    "pressure_drop": "pressure_out_bar",
}


def as_entered(value: Any, one: RecordField, units: str) -> str:
    """A stored value as it stands in a field."""
    if value is None or value == "" or value is False:
        return ""
    if one.kind == "tick":
        return "yes"
    if one.kind != "number":
        return str(value)
    if one.unit in CONVERTED:
        value = float(from_canonical(value, one.unit, display_unit(one.unit, units)))
    text = f"{value:.6g}"
    return f"{value:.6f}".rstrip("0").rstrip(".") if "e" in text else text


def read_number(text: str, one: RecordField, units: str) -> float:
    """The canonical value of what stands in a field; raises `ValueError` with what is wrong in words.

    A single comma is a decimal comma: the number keys of many telephones have no point.
    """
    plain = plain_number(text)
    if plain is None:
        raise ValueError(NOT_A_NUMBER)
    value = float(plain)
    if one.unit in CONVERTED:
        value = float(to_canonical(value, display_unit(one.unit, units), one.unit))
    if not one.low <= value <= one.high:
        low, high = as_entered(one.low, one, units), as_entered(one.high, one, units)
        raise ValueError(f"This cannot be: expected {low} to {number(float(high)) if one.high >= 1e6 else high}.")
    return value


@dataclass(frozen=True)
class CleaningForm:
    """Fields as text, `bathN.NAME` for those of a bath. `errors` must be mended; `dangers` be mended or confirmed."""

    entered: dict[str, str]
    units: str = "SI"
    errors: dict[str, str] = field(default_factory=dict)
    dangers: dict[str, str] = field(default_factory=dict)
    unusual: dict[str, str] = field(default_factory=dict)

    @classmethod
    def sent(cls, form: Mapping[str, str]) -> "CleaningForm":
        """What came in; fields that are not known are passed over."""
        names = {"stage", "started", "ended", "confirmed", "why", "revision", "sheet", *(one.name for one in HEAD)}
        names |= {f"bath{n}.{one.name}" for n in range(1, MOST_STEPS + 1) for one in STEP}
        entered = {name: form[name].replace("\r\n", "\n") for name in names if name in form}
        return cls(entered, "US" if form.get("units") == "US" else "SI")

    @classmethod
    def of(cls, given: Recorded, zone: ZoneInfo, units: str, revision: int = 1) -> "CleaningForm":
        """The form with what stands."""
        entered = {
            "stage": str(given.stage) if given.stage else "",
            "started": given.started_at.astimezone(zone).strftime("%Y-%m-%dT%H:%M"),
            "ended": given.ended_at.astimezone(zone).strftime("%Y-%m-%dT%H:%M"),
            "revision": str(revision),
        }
        entered |= {one.name: as_entered(given.content.get(one.name), one, units) for one in HEAD}
        for n, step in enumerate(given.content.get("steps", ()), start=1):
            entered |= {f"bath{n}.{one.name}": as_entered(step.get(one.name), one, units) for one in STEP}
        return cls(entered, units)

    def text(self, name: str) -> str:
        """What stands in a field."""
        return self.entered.get(name, "")

    @property
    def confirmed(self) -> bool:
        """Whether whoever wrote it says that what is dangerous was really done so."""
        return bool(self.text("confirmed"))

    def checked(self, plant: Plant, now: datetime) -> "CleaningForm":
        """The same form with what is wrong, dangerous or unusual."""
        zone, stages = ZoneInfo(plant.site.timezone), len(plant.train.stages)
        errors = self._time_errors(zone, now)
        if self.text("stage") not in ("", *(str(n) for n in range(1, stages + 1))):
            errors["stage"] = "This train has no such stage."
        for name, one in self._fields():
            if problem := self._problem(name, one):
                errors[name] = problem
        if not self._baths():
            errors["bath1.chemical"] = "Write down at least one bath: what it was made of."
        if errors:
            return replace(self, errors=errors)
        dangers, unusual = self._findings(plant)
        told = [{name: in_reader_words(why, self.units) for name, why in one.items()} for one in (dangers, unusual)]
        return replace(self, errors={}, dangers=told[0], unusual=told[1])

    def with_reason(self) -> "CleaningForm":
        """The same form, which also needs the reason of a correction."""
        missing = {} if self.text("why").strip() else {"why": "Say why, so that the record can be trusted."}
        return replace(self, errors=self.errors | missing)

    def recorded(self, zone: ZoneInfo) -> Recorded:
        """What was written down; only for a form without errors."""
        started, ended = self._time("started", zone), self._time("ended", zone)
        assert started is not None and ended is not None
        content = {one.name: self._value(one.name, one) for one in HEAD}
        steps = [{one.name: self._value(f"bath{n}.{one.name}", one) for one in STEP} for n in self._baths()]
        kept: dict[str, Any] = {name: value for name, value in content.items() if value not in (None, "")}
        kept["steps"] = [{k: v for k, v in step.items() if v not in (None, "", False)} for step in steps]
        if self.dangers:
            kept["dangers"] = list(dict.fromkeys(self.dangers.values()))
        if sheet := read_sheet(self.text("sheet")):
            kept["sheet"] = sheet
        stage = self.text("stage")
        return Recorded(int(stage) if stage else None, started, ended, kept)

    def _baths(self) -> list[int]:
        """Numbers of the baths of which anything was written down."""
        return [
            n for n in range(1, MOST_STEPS + 1) if any(self.text(f"bath{n}.{one.name}").strip() for one in STEP)
        ]  # fmt: skip

    def _fields(self) -> list[tuple[str, RecordField]]:
        return [(one.name, one) for one in HEAD] + [(f"bath{n}.{one.name}", one) for n in self._baths() for one in STEP]

    def _problem(self, name: str, one: RecordField) -> str:
        text = self.text(name)
        if one.kind == "choice":
            return "" if text in {key for key, _ in one.options} or not text else "Choose one of these."
        if one.kind != "number":
            most = LONGEST_LONG_TEXT if one.kind == "long text" else LONGEST_TEXT
            return "" if len(text) <= most else f"At most {most} characters, please."
        if not text.strip():
            return ""
        try:
            read_number(text, one, self.units)
        except ValueError as error:
            return str(error)
        return ""

    def _value(self, name: str, one: RecordField) -> Any:
        text = self.text(name).strip()
        if one.kind == "tick":
            return bool(text)
        if one.kind != "number":
            return text
        return read_number(text, one, self.units) if text else None

    def _time_errors(self, zone: ZoneInfo, now: datetime) -> dict[str, str]:
        started, ended = self._time("started", zone), self._time("ended", zone)
        when = "Enter a day and a time, such as 2026-03-01 14:30."
        errors = {name: when for name, time in (("started", started), ("ended", ended)) if time is None}
        if started and started > now + AHEAD:
            errors["started"] = "This lies in the future; record a cleaning after it was done."
        elif started and ended and not timedelta(0) <= ended - started <= LONGEST:
            errors["ended"] = "A cleaning ends after it began, and within two weeks."
        return errors

    def _time(self, name: str, zone: ZoneInfo) -> datetime | None:
        try:
            entered = datetime.fromisoformat(self.text(name).strip())
        except ValueError:
            return None
        local = entered if entered.tzinfo else entered.replace(tzinfo=zone)
        try:
            return local.astimezone(UTC)
        except OverflowError:
            return None

    def _findings(self, plant: Plant) -> tuple[dict[str, str], dict[str, str]]:
        """What is dangerous and what is unusual, beside the field that says so."""
        chosen = self.text("stage")
        stages = [plant.train.stages[int(chosen) - 1]] if chosen else plant.train.stages
        dangers: dict[str, str] = {}
        unusual: dict[str, str] = {}
        for n in self._baths():
            step = {one.name: self._value(f"bath{n}.{one.name}", one) for one in STEP}
            for stage in stages:
                for name, finding in _step_findings(stage.membrane, stage.elements_per_vessel, step):
                    (dangers if finding.refused else unusual).setdefault(f"bath{n}.{name}", finding.why)
            low = min(vessel_flow_m3h(stage.membrane.diameter_inch)[0] for stage in stages)
            flow = step["flow_per_vessel_m3h"]
            if flow is not None and flow < 0.8 * low:
                unusual[f"bath{n}.flow_per_vessel_m3h"] = "Too slow to carry anything off: high flow is asked for."
        for n, why in self._mixed():
            dangers.setdefault(f"bath{n}.chemical", why)
        chlorine = self._value("make_up_chlorine_mg_l", _by_name("make_up_chlorine_mg_l"))
        if chlorine:
            dangers["make_up_chlorine_mg_l"] = "Make-up water must hold no chlorine: it destroys the membrane."
        return dangers, unusual

    def _mixed(self) -> list[tuple[int, str]]:
        """Chemicals that must not be used, or not in one cleaning; told at the last bath that brings them in."""
        found: list[tuple[int, str]] = []
        names: list[str] = []
        for n in self._baths():
            names.append(self.text(f"bath{n}.chemical"))
            told = {why for _, why in found}
            found += [(n, why) for why in dangers_of(tuple(names)) if why not in told]
        return found


def _by_name(name: str) -> RecordField:
    return next(one for one in HEAD if one.name == name)


def _step_findings(membrane: Membrane, elements: int, step: Mapping[str, Any]) -> list[tuple[str, Finding]]:
    found: list[tuple[str, Finding]] = []
    for when in ("start", "end"):
        checked = check_conditions(membrane, ph=step[f"ph_{when}"], temperature_c=step[f"temperature_{when}_c"])
        found += [(f"ph_{when}" if one.field == "ph" else f"temperature_{when}_c", one) for one in checked]
    pressure_in, pressure_out = step["pressure_in_bar"], step["pressure_out_bar"]
    drop = pressure_in - pressure_out if pressure_in is not None and pressure_out is not None else None
    checked = check_conditions(membrane, pressure_bar=pressure_in, pressure_drop_bar=drop, elements=elements)
    found += [(FIELD_OF[one.field], one) for one in checked]
    return found
