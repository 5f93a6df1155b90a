"""When was each meter last calibrated, and which is due?

A calibration, or another meter, is an event whose text names the meter: "Permeate flow: read 2 % low, set right".
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from analytics.events import Event
from analytics.judgement.explained import local_day
from analytics.judgement.words import all_of, plain_date
from analytics.plant import Meters
from analytics.quantities import quantity

CALIBRATES = ("meter-calibration", "meter-replacement")
CHECKS = {
    "pressure": "compare it with a reference gauge at the same place, at rest and running",
    "flow": "compare it with a portable meter, or a bucket and a watch",
    "conductivity": "compare it with a portable cell, or a standard solution",
    "temperature": "compare it with a reference thermometer in the same water",
    "ph": "calibrate it in two buffers",
    "orp": "check it in a standard solution",
}
"""How each kind is checked; common practice, no source."""
GROUPS = {
    "pressure": r"pressure (?:transmitters|meters)|(?<!level )(?<!flow )gauges",
    "flow": r"flow ?meters|flow transmitters",
    "conductivity": r"conductivity (?:meters|cells|probes)",
    "temperature": r"thermometers?|temperature (?:meters|probes|sensors)",
    "ph": r"ph (?:meters|probes|electrodes)",
    "orp": r"orp (?:meters|probes|electrodes)",
    "": r"(?:all(?: of)?(?: the)?|every|each) (?:meters?|instruments?)\b",
}
"""How people write of all meters of a kind at once; without a kind, of every meter."""
INTERVAL = {"orp": "ph"}
"""Kinds that share the interval of another."""


@dataclass(frozen=True)
class Calibration:
    """One meter: its last calibration (None where none is on record), when the next is due, and what to say of it."""

    quantity: str
    last: date | None
    due_on: date
    due: bool
    state: str


def calibrations_of(
    quantities: Sequence[str], events: Sequence[Event], meters: Meters, *, since: date, today: date, timezone: str
) -> tuple[Calibration, ...]:
    """Every meter that has an interval, those longest overdue first.

    Parameters
    ----------
    quantities : sequence of str
        Names of what is metered, such as "permeate_flow".
    events : sequence of Event
    meters : Meters
        With the intervals.
    since : date
        First day of the log: a meter without an entry counts from there.
    today : date
        Local day of the answer.
    timezone : str
        Of the site.
    """
    last: dict[str, date] = {}
    for event in sorted((e for e in events if e.kind in CALIBRATES), key=lambda e: e.time):
        day = local_day(event, timezone).date()
        last |= {name: day for name in meters_named(event.detail, quantities) if day <= today}
    kinds = {name: kind for name in quantities if (kind := _kind(name)) and _interval(kind, meters) > 0}
    found = [_calibration(name, kind, last.get(name), meters, since, today) for name, kind in kinds.items()]
    return tuple(sorted(found, key=lambda one: (one.due_on, one.quantity)))


def reminders(calibrations: Sequence[Calibration]) -> tuple[str, ...]:
    """What is due, in sentences; meters of which the same is to be said share one."""
    told: dict[str, list[str]] = {}
    for one in (one for one in calibrations if one.due):
        told.setdefault(one.state, []).append(quantity(one.quantity).label)
    return tuple(f"{_as_one(labels)}: {state}." for state, labels in told.items())


def _as_one(labels: Sequence[str]) -> str:
    """Labels in one list, which begins with the only capital letter of theirs."""
    first, *others = labels
    return all_of([first, *(f"{label[:1].lower()}{label[1:]}" for label in others)])


def meters_named(text: str, quantities: Sequence[str]) -> tuple[str, ...]:
    """The meters that a text names, by label, by name, or all of a kind; an entry that names none concerns none.

    Examples
    --------
    >>> meters_named("Conductivity meters checked", ["feed_conductivity", "permeate_conductivity", "feed_flow"])
    ('feed_conductivity', 'permeate_conductivity')
    >>> meters_named("Stage 1 permeate flow: 2 % low", ["permeate_flow", "stage1_permeate_flow", "feed_flow"])
    ('stage1_permeate_flow',)
    """
    left, named = text.lower(), []
    words = {name: (quantity(name).label.lower(), name.lower()) for name in quantities}
    for name in sorted(quantities, key=lambda one: -len(words[one][0])):  # "permeate flow" stands in longer ones
        for word in words[name]:
            if word in left:
                left = left.replace(word, " ")
                named.append(name)
                break
    together = [kind for kind, words in GROUPS.items() if re.search(words, left)]
    named += [
        name for name in quantities if name not in named and _kind(name) and {"", _kind(name)}.intersection(together)
    ]
    return tuple(named)


def _kind(name: str) -> str:
    return next((kind for kind in CHECKS if name.endswith(f"_{kind}")), "")


def _interval(kind: str, meters: Meters) -> int:
    return int(getattr(meters, f"{INTERVAL.get(kind, kind)}_calibration_days"))


def _calibration(name: str, kind: str, last: date | None, meters: Meters, since: date, today: date) -> Calibration:
    interval = _interval(kind, meters)
    due_on = (last or since) + timedelta(days=interval)
    if last is None:
        state = f"no calibration is on record since {plain_date(since)}"
    else:
        ago = (today - last).days
        state = f"last calibrated on {plain_date(last)}, {ago} {'day' if ago == 1 else 'days'} ago"
    due = due_on <= today
    what = f"every {interval} days is set: {CHECKS[kind]}" if due else f"due on {plain_date(due_on)}"
    return Calibration(name, last, due_on, due, f"{state}; {what}")
