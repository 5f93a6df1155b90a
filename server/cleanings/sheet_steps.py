"""Steps of a worksheet as they are ticked at the skid, and what of them comes back with the record."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from analytics.decisions.cleaning_steps import Step
from analytics.units import display_unit
from server.cleanings.fields import CONVERTED, HEAD_BY_NAME, STEP_BY_NAME
from server.display import THIN, unit_symbol

LONGEST_SHEET = 60_000
"""Characters that a whole sheet may have; steps, and values of each, beyond these are no sheet of ours."""
MOST_TICKED, MOST_VALUES, LONGEST_WORD, LONGEST_NOTE = 60, 12, 200, 1_000


@dataclass(frozen=True)
class MeasuredField:
    """A field of the record that is filled at the skid; `name` is its name in the form."""

    name: str
    label: str
    unit: str
    kind: str
    options: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class StepLine:
    """One step with its check-off; `key` names it in the browser."""

    key: str
    title: str
    bath: str
    what: str
    time: str
    kind: str
    measured: tuple[MeasuredField, ...]
    note: tuple[str, ...]


def sheet_key(train_id: int, stage: int | str, cause: str) -> str:
    """Under what a browser keeps the ticks and notes of a sheet."""
    return f"worksheet-{train_id}-{stage}-{cause}"


def step_lines(steps: Sequence[Step], units: str) -> tuple[StepLine, ...]:
    """All steps of a sheet, numbered."""
    return tuple(_line(n, step, units) for n, step in enumerate(steps, start=1))


def _line(n: int, step: Step, units: str) -> StepLine:
    measured = tuple(_measured(name, step.number, units) for name in step.measured)
    time = _time(step.minutes_low, step.minutes_high)
    return StepLine(f"{n}", step.title, step.bath, step.what, time, step.kind, measured, step.note)


def _measured(name: str, bath: int, units: str) -> MeasuredField:
    of_bath = name in STEP_BY_NAME
    one = STEP_BY_NAME[name] if of_bath else HEAD_BY_NAME[name]
    unit = display_unit(one.unit, units) if one.unit in CONVERTED else one.unit
    shown = "" if unit in ("", "-") else unit_symbol(unit)
    return MeasuredField(f"bath{bath}.{name}" if of_bath else name, one.label, shown, one.kind, one.options)


def _time(low: float, high: float) -> str:
    """Minutes as they are spoken of: 10 to 15 min, 1 to 15 h."""
    if high >= 60 and low >= 60:
        first, last = f"{low / 60:g}", f"{high / 60:g}"
        return f"{first}{THIN}h" if first == last else f"{first} to {last}{THIN}h"
    return f"{low:g}{THIN}min" if low == high else f"{low:g} to {high:g}{THIN}min"


def read_sheet(text: str) -> dict[str, Any] | None:
    """What a browser kept of a sheet and sent with the record; None where it is no sheet.

    {"id": its own name, "steps": [{"title", "bath", "at" (ISO 8601 or ""), "note", "values": [[label, text, unit]]}]}
    """
    if not text or len(text) > LONGEST_SHEET:
        return None
    try:
        sent = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if not isinstance(sent, Mapping) or not isinstance(sent.get("told"), list):
        return None
    steps = [_read_step(one) for one in sent["told"][:MOST_TICKED] if isinstance(one, Mapping)]
    return {"id": _word(sent.get("id"), 64), "steps": steps} if steps else None


def _read_step(sent: Mapping[str, Any]) -> dict[str, Any]:
    values = sent.get("values")
    rows = [one for one in values[:MOST_VALUES] if isinstance(one, list)] if isinstance(values, list) else []
    return {
        "title": _word(sent.get("title")),
        "bath": _word(sent.get("bath")),
        "at": _instant(_word(sent.get("at"))),
        "note": _word(sent.get("note"), LONGEST_NOTE),
        "values": [[_word(cell) for cell in (*row, "", "", "")[:3]] for row in rows],
    }


def _word(sent: Any, longest: int = LONGEST_WORD) -> str:
    return sent[:longest].replace("\x00", "") if isinstance(sent, str) else ""


def _instant(text: str) -> str:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return ""
    return text if found.tzinfo else ""
