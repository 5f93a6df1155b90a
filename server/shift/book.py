"""The rule book of a train as its pages need it, and what the rules say about a form."""

import dataclasses
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from analytics.condition.plausible import Entry, Finding, check_entry
from analytics.condition.recent import recent_of
from analytics.condition.rule_book import RuleBook, rule_book
from analytics.condition.typed_number import plain_number
from analytics.decisions.entry_limits import entry_limits
from analytics.quantities import COLUMNS
from analytics.units import to_canonical
from server.display import UNIT_SYMBOLS
from server.plants.models import Train
from server.plants.queries import plant_of
from server.shift.forms import ShiftForm
from server.shift.page import in_gauge_unit
from server.shift.queries import log_fields, recent_readings, trains_of_site


def book_of(session: Session, train: Train, units: Mapping[str, str] | None = None) -> RuleBook:
    """The rules of a train now, for the fields of its log; `units` are those of a form, where it has others."""
    plant = plant_of(session, train.id)
    recent = recent_of(recent_readings(session, train.id), plant.train.meters)
    gauges = {field.column: field.unit for field in log_fields(session, train) if not field.hidden}
    fields = gauges | dict(units or {})
    limits = entry_limits(plant, recent, frozenset(fields))
    return rule_book(plant, recent, fields, UNIT_SYMBOLS, limits=limits, shown=_shown(recent.reading, gauges))


def _shown(reading: Mapping[str, float], gauges: Mapping[str, str]) -> dict[str, float]:
    """The values of a reading as the page shows them beside their gauges, in canonical units."""
    shown = {}
    for name, gauge in gauges.items():
        text = plain_number(in_gauge_unit(reading[name], name, gauge)) if name in reading else None
        if text is not None:
            shown[name] = float(to_canonical(float(text), gauge, COLUMNS[name].unit))
    return shown


def page_data(session: Session, train: Train, person: str, now: datetime) -> dict[str, Any]:
    """What the script of the page needs to check without a connection."""
    return {
        "train": train.id,
        "place": f"{train.site.name} · {train.name}",
        "person": person,
        "zone": train.site.timezone,
        "now_s": now.timestamp(),
        "siblings": [f"/trains/{number}/shift" for number in trains_of_site(session, train.site_id)],
        "book": book_of(session, train).table(),
    }


def findings_of(book: RuleBook, form: ShiftForm, zone: ZoneInfo, now: datetime) -> tuple[Finding, ...]:
    """What is odd about a form without errors."""
    taken_at = form.taken_at(zone)
    assert taken_at is not None  # the form was checked
    return check_entry(book, Entry(form.values, form.state, taken_at.timestamp(), now.timestamp()))


def unanswered(findings: tuple[Finding, ...], form: ShiftForm) -> tuple[Finding, ...]:
    """Findings that the person has not said anything to: a reason where one is wanted, else that they are meant.

    What is only told wants no answer.
    """
    return tuple(
        finding
        for finding in findings
        if finding.severity != "tell"
        and (finding.columns[0] not in form.reasons if finding.severity == "confirm" else not form.confirmed)
    )


def as_documents(findings: tuple[Finding, ...]) -> list[dict[str, Any]]:
    """Findings as plain documents, as the script of the page makes them."""
    return [dataclasses.asdict(finding) | {"columns": list(finding.columns)} for finding in findings]


def with_reasons(form: ShiftForm) -> str:
    """The remark of a form, with the reasons for which values were kept: they belong to the reading."""
    kept = [
        f"{COLUMNS[name].label} {form.values[name]} {form.units[name]} confirmed: {reason}"
        for name, reason in form.reasons.items()
    ]
    return "\n".join(part for part in (form.remark, *kept) if part)
