"""The page of the meters: how far each is off, what each balance says, over time, and when it was last looked after."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from analytics.judgement.meter_history import BalanceHistory, MeterHistories, MeterHistory, Stretch, meter_histories
from analytics.judgement.words import all_of
from analytics.quantities import COLUMNS
from server.assessments.behind import Behind
from server.assessments.evidence import MissingRow, missing_rows
from server.assessments.graphs import MarkedCharts, drift_charts
from server.assessments.history import Curve, Floats, History, Limit, Panel, Piece
from server.assessments.meter_words import in_question, meter_name, off_by
from server.assessments.page import EventRow, event_rows
from server.assessments.reconciled import reconciled_words
from server.display import THIN, counted, day, number, percent, sentence, short_day, signed, uncapitalized
from server.templating import Frame

Document = Mapping[str, Any]
RAW = "raw_"
LOOKED_AFTER = ("meter-calibration", "meter-replacement")
MOST_CURVES = 4
"""Meters that are drawn one by one when several are in question."""
DEPARTS = (
    "A warm or a cold year departs too, and leaves normalized flow and salt passage alone; a thermometer that reads too"
    " warm lowers both in all stages by 3 to 4 % a degree."
)
NO_BALANCE = "no balance holds it"
ALL_HOLD = "No meter is accused: the balances hold."
NONE_THERE = "No balance can be drawn up with the meters there are, so none of them can be held against the others."


@dataclass(frozen=True)
class MeterLine:
    """One meter: what it would be off by if it alone were, what is said of it, and what was wrong with its values."""

    name: str
    bias: str
    interval: str
    suspicion: str
    balances: str
    lost: str


@dataclass(frozen=True)
class BalanceLine:
    """One balance that the meters must keep."""

    name: str
    drift: str
    allowed: str
    holds: str
    meters: str


@dataclass(frozen=True)
class StretchLine:
    """One stretch of weeks with the bias of every meter that is drawn."""

    days: str
    values: tuple[str, ...]


@dataclass(frozen=True)
class CareLine:
    """One time that a meter was calibrated or replaced."""

    day: str
    title: str
    detail: str


@dataclass(frozen=True)
class MetersPage:
    """Everything about the meters of one train."""

    frame: Frame
    site: str
    train: str
    headline: str
    evidence: tuple[str, ...]
    charts: MarkedCharts
    events: tuple[EventRow, ...]
    drawn: tuple[str, ...]
    stretches: tuple[StretchLine, ...]
    meters: tuple[MeterLine, ...]
    balances: tuple[BalanceLine, ...]
    reconciled: str
    thermometer: tuple[str, ...]
    lost: str
    derived: tuple[str, ...]
    care: tuple[CareLine, ...]
    due: tuple[str, ...]
    helpful: str
    missing: tuple[MissingRow, ...]


def meters_page(found: Behind, days: pd.DataFrame) -> MetersPage:
    """Put the page together from the stored answer and the days of the train."""
    document = found.document
    histories = _histories(found, days)
    drawn = _drawn(document, histories)
    charts = drift_charts(
        [
            ("bias", "If it alone were off", [_meter_panel(one, found.history) for one in drawn]),
            ("balances", "What the balances say", [_balance_panel(one, found.history) for one in histories.balances]),
        ],
        document, found.history, found.events, found.zone,
    )  # fmt: skip
    return MetersPage(
        frame=found.frame,
        site=found.site,
        train=found.train,
        headline=_headline(found, histories),
        evidence=tuple(dict.fromkeys(f"{sentence(one['evidence'])}." for one in document["meters"] if one["evidence"])),
        charts=charts,
        events=event_rows(charts.marks),
        drawn=tuple(meter_name(one.quantity) for one in drawn),
        stretches=_stretches(drawn),
        meters=_meters(document, histories, days),
        balances=balance_lines(document),
        reconciled=reconciled_words(document, days, found.frame.units),
        thermometer=_thermometer(document),
        lost=_lost(document),
        derived=_derived(document),
        care=_care(found),
        due=tuple(document.get("calibrations_due", ())),
        helpful=(document.get("helpful_meter") or {}).get("sentence", ""),
        missing=missing_rows(document),
    )


def _histories(found: Behind, days: pd.DataFrame) -> MeterHistories:
    reference = found.document.get("reference")
    if not reference or not len(days):
        return MeterHistories((), ())
    period = (pd.Timestamp(reference["start"]), pd.Timestamp(reference["end"]))
    return meter_histories(days, found.plant.train, period)


def _headline(found: Behind, histories: MeterHistories) -> str:
    document = found.document
    suspects = [one for one in document["meters"] if one["suspect"]]
    if suspects:
        return f"The {in_question(suspects[:1])} seems to be off by {off_by(suspects[0], found.frame.units, 0)}."
    if document["meters"]:
        return f"{sentence(in_question(document['meters']))} is off, and the balances do not tell which."
    return ALL_HOLD if histories.balances else NONE_THERE


def _drawn(document: Document, histories: MeterHistories) -> list[MeterHistory]:
    """The meters in question; where none is, those that the balances know best."""
    named = [one["quantity"] for one in document["meters"]]
    if any(one["suspect"] for one in document["meters"]):
        named = [one["quantity"] for one in document["meters"] if one["suspect"]]
    there = {one.quantity: one for one in histories.meters}
    chosen = [there[name] for name in named if name in there]
    sharp = sorted(histories.meters, key=lambda one: one.stretches[-1].high - one.stretches[-1].low)
    return (chosen or ([] if named else sharp))[:MOST_CURVES]


def _meter_panel(one: MeterHistory, history: History) -> Panel:
    nothing = np.full(history.days, np.nan)
    curve = Curve("", "--permeate", nothing, trend=_pieces(one.stretches))
    return Panel(f"{meter_name(one.quantity)} meter", (curve,), drift=True)


def _balance_panel(one: BalanceHistory, history: History) -> Panel:
    curve = Curve("", "--quiet", 1 + _on_grid(one.days, history), trend=_pieces(one.stretches))
    allowed = f"allowed {number(100 * one.tolerance)}{THIN}%"
    limits = (Limit(1 + one.tolerance, allowed), Limit(1 - one.tolerance, allowed))
    return Panel(sentence(one.name), (curve,), limits, drift=True)


def _pieces(stretches: Sequence[Stretch]) -> tuple[Piece, ...]:
    return tuple(
        Piece(
            one.first.date(),
            one.last.date(),
            *(1 + value for value in (one.value,) * 2 + (one.low,) * 2 + (one.high,) * 2),
        )
        for one in stretches
    )


def _on_grid(days: pd.Series, history: History) -> Floats:
    grid = pd.date_range(pd.Timestamp(history.first), periods=history.days, freq="D")
    return days.reindex(grid).to_numpy(dtype=np.float64)


def _stretches(drawn: Sequence[MeterHistory]) -> tuple[StretchLine, ...]:
    """The chart of the meters as a table, the latest weeks first."""
    by_day = [{(s.first, s.last): s for s in one.stretches} for one in drawn]
    spans = sorted({span for one in by_day for span in one}, reverse=True)
    return tuple(
        StretchLine(
            f"{short_day(first.date())} to {short_day(last.date())}",
            tuple(_bias_words(one[first, last]) if (first, last) in one else "" for one in by_day),
        )
        for first, last in spans
    )


def _bias_words(one: Stretch) -> str:
    return f"{percent(one.value)} ({_span(one)})"


def _span(one: Stretch) -> str:
    return f"{signed(100 * one.low, 1)} to {signed(100 * one.high, 1)}{THIN}%"


def _meters(document: Document, histories: MeterHistories, days: pd.DataFrame) -> tuple[MeterLine, ...]:
    """Every meter of the log in the order of the water, those in question first."""
    accused = {one["quantity"]: one for one in document["meters"]}
    there = {
        str(name).removeprefix(RAW) for name in days.columns if str(name).startswith(RAW) and days[name].notna().any()
    }
    lost = document["readings"]["values_set_aside"]
    metered = [quantity.name for column, quantity in COLUMNS.items() if column in there]
    known = {one.quantity: one.stretches[-1] for one in histories.meters}
    lines = []
    for name in sorted(dict.fromkeys([*metered, *lost]), key=lambda name: name not in accused):
        bias = known.get(name)
        holding = [one.name for one in histories.balances if name in one.meters]
        lines.append(
            MeterLine(
                name=meter_name(name),
                bias=percent(bias.value) if bias else "",
                interval=_span(bias) if bias else "",
                suspicion=_suspicion(accused.get(name)),
                balances=all_of(holding) if holding else NO_BALANCE,
                lost=all_of([f"{reason} {number(count)}" for reason, count in lost.get(name, {}).items()]),
            )
        )
    return tuple(lines)


def _suspicion(one: Mapping[str, Any] | None) -> str:
    if one is None:
        return ""
    return "suspected" if one["suspect"] else "one of several"


def balance_lines(document: Document) -> tuple[BalanceLine, ...]:
    """Balances in words; a document from before has none."""
    return tuple(
        BalanceLine(
            name=sentence(one["name"]),
            drift=f"{signed(100 * one['drift'], 1)}{THIN}% over {counted(one['days'], 'day')}",
            allowed=f"{number(100 * one['tolerance'])}{THIN}%",
            holds="Holds" if one["holds"] else "Does not hold",
            meters=all_of([uncapitalized(meter_name(name)) for name in one.get("meters", [])]),
        )
        for one in document.get("balances", [])
    )


def _thermometer(document: Document) -> tuple[str, ...]:
    """The thermometer against the season and normalized flow; a document from before has nothing of it."""
    found = document.get("thermometer", {})
    unknown = found.get("unknown", "")
    said = [f"{sentence(text)}." for text in found.get("sentences", ())]
    if found.get("departs"):
        said.insert(1, DEPARTS)
    return (*said, *([f"Not known yet: {unknown}."] if unknown else []))


def _lost(document: Document) -> str:
    """Whole readings that were set aside for what their meters showed."""
    of_meters = (
        "clipped",
        "frozen value",
        "out of range",
        "spike",
        "order of pressures",
        "flow balance",
        "salt balance",
    )
    aside = document["readings"]["set_aside"]
    listed = [f"{reason} {number(aside[reason])}" for reason in of_meters if aside.get(reason)]
    return f"Whole readings set aside for what their meters showed: {all_of(listed)}." if listed else ""


def _derived(document: Document) -> tuple[str, ...]:
    """What is worked out and what is taken as given, as the answer notes it."""
    begins = ("Worked out by balance", "Taken from the plant file", "The permeate of", "Pressure between")
    return tuple(note for note in document["notes"] if note.startswith(begins))


def _care(found: Behind) -> tuple[CareLine, ...]:
    """Calibrations and replacements that were written down, the latest first."""
    told = sorted((e for e in found.events if e.kind in LOOKED_AFTER), key=lambda event: event.time, reverse=True)
    titles = {"meter-calibration": "Calibrated", "meter-replacement": "Replaced"}
    return tuple(CareLine(day(_local(found, e.time)), titles[e.kind], e.detail) for e in told)


def _local(found: Behind, time: Any) -> date:
    return date.fromisoformat(f"{time.astimezone(found.zone):%Y-%m-%d}")
