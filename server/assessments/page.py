"""The train page as typed values: everything that the template shows, already in words and in the reader's units."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from analytics.events import Event
from analytics.judgement.words import all_of
from analytics.plant import Plant
from analytics.quantities import COLUMNS, QUANTITIES
from server.assessments.evidence import (
    AsideRow,
    Causes,
    GaugeValue,
    IndicatorRow,
    MeterRow,
    MissingRow,
    MonthTable,
    RunRow,
    aside_rows,
    causes_of,
    compare_words,
    gauge_values,
    indicator_rows,
    learned_words,
    meter_rows,
    missing_rows,
    month_table,
    run_rows,
)
from server.assessments.figures import KeyFigure, key_figures, stage_attention
from server.assessments.graphs import Charts, train_charts
from server.assessments.history import Mark, history_from_series
from server.assessments.in_brief import BriefLine, in_brief
from server.assessments.levels import Level, level_of
from server.assessments.questions import Question, questions_of
from server.assessments.water import Drawing, WaterScene
from server.assessments.water_level import level_drawing
from server.assessments.water_upright import upright_drawing
from server.display import ago, counted, day, days_between, moment, number, sentence, uncapitalized, with_unit
from server.readings.queries import LatestValue
from server.templating import Frame

MOST_REASONS = 3
WIDE_DRAWING = 1_100
"""A drawing wider than this takes the whole width of the page, its heading above it. [px]"""


@dataclass(frozen=True)
class LatestReading:
    """The newest value of every column, in canonical units, and when the newest of all was read."""

    values: Mapping[str, float]
    taken_at: datetime | None

    @classmethod
    def of(cls, latest: Mapping[str, LatestValue]) -> "LatestReading":
        """Take the newest value of each column."""
        newest = max((value.taken_at for value in latest.values()), default=None)
        return cls({name: value.value for name, value in latest.items()}, newest)


@dataclass(frozen=True)
class ReferenceWords:
    """Which days the train is compared with, and the conditions of those days."""

    days: str
    rests_on: str
    conditions: str


@dataclass(frozen=True)
class EventRow:
    """One event beside the chart; `number` is empty for one that is not marked there."""

    number: str
    day: str
    title: str
    detail: str


@dataclass(frozen=True)
class WaterPart:
    """The way of the water, lying and upright; `wide` when the lying one takes the whole width of the page."""

    title: str
    level: Drawing
    upright: Drawing
    wide: bool
    gauges: tuple[GaugeValue, ...]


@dataclass(frozen=True)
class Evidence:
    """What the verdict rests on."""

    indicators: tuple[IndicatorRow, ...]
    causes: Causes | None
    meters: tuple[MeterRow, ...]
    runs: tuple[RunRow, ...]
    aside: tuple[AsideRow, ...]
    total: str
    values_aside: tuple[str, ...]
    reference: ReferenceWords | None
    learned: tuple[str, ...]
    missing: tuple[MissingRow, ...]
    helpful_meter: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class TrainPage:
    """Everything that the page of one train shows; a calm one folds its evidence."""

    frame: Frame
    site: str
    train: str
    level: Level
    headline: str
    brief: tuple[BriefLine, ...]
    reasons: tuple[str, ...]
    more_reasons: tuple[str, ...]
    last_reading: str
    last_reading_at: str
    outdated: bool
    calm: bool
    cleaning_due: bool
    method: str
    disagreement: str
    figures: tuple[KeyFigure, ...]
    water: WaterPart
    charts: Charts
    compare_words: str
    questions: tuple[Question, ...]
    events: tuple[EventRow, ...]
    months: MonthTable | None
    evidence: Evidence


@dataclass(frozen=True)
class EmptyTrainPage:
    """A train without readings: what to do first."""

    frame: Frame
    site: str
    train: str
    train_id: int
    due: bool = False


def train_page(
    frame: Frame,
    plant: Plant,
    document: Mapping[str, Any],
    series: Mapping[str, Any],
    *,
    latest: LatestReading,
    events: Sequence[Event],
    now: datetime,
    outdated: bool = False,
) -> TrainPage:
    """Put the page of a train together.

    Parameters
    ----------
    frame : Frame
        With the reader's units.
    document, series : mapping
        As `assessment_document` writes them.
    """
    zone, stages = ZoneInfo(plant.site.timezone), len(plant.train.stages)
    history = history_from_series(series)
    charts = train_charts(document, history, events, zone, stages)
    verdict, level = document["verdict"], level_of(document["verdict"]["level"])
    reasons = [reason for reason in verdict["reasons"] if reason != verdict["headline"]]
    return TrainPage(
        frame=frame,
        site=plant.site.name,
        train=plant.train.name,
        level=level,
        headline=verdict["headline"],
        brief=in_brief(document, frame.units),
        reasons=tuple(reasons[:MOST_REASONS]),
        more_reasons=tuple(reasons[MOST_REASONS:]),
        last_reading=ago(latest.taken_at, now) if latest.taken_at else "",
        last_reading_at=moment(latest.taken_at, zone) if latest.taken_at else "",
        outdated=outdated,
        calm=level.name == "steady",
        cleaning_due=(document.get("cleaning") or {}).get("advice") in ("now", "plan"),
        method=document["method"],
        disagreement=document.get("disagreement", ""),
        figures=key_figures(document),
        water=_water(plant, latest, frame.units, stage_attention(document)),
        charts=charts,
        compare_words=compare_words(document, history, frame.units) if charts.compare else "",
        questions=questions_of(document),
        events=event_rows(charts.marks),
        months=month_table(history, stages),
        evidence=_evidence(document, frame.units),
    )


def _water(plant: Plant, latest: LatestReading, units: str, attention: Mapping[int, str]) -> WaterPart:
    scene = WaterScene(plant.train, latest.values, units, attention)
    level = level_drawing(scene)
    return WaterPart(
        title=_scene_title(plant, attention),
        level=level,
        upright=upright_drawing(scene),
        wide=level.width > WIDE_DRAWING,
        gauges=gauge_values(latest.values, units),
    )


def _evidence(document: Mapping[str, Any], units: str) -> Evidence:
    return Evidence(
        indicators=indicator_rows(document),
        causes=causes_of(document),
        meters=meter_rows(document, units),
        runs=run_rows(document),
        aside=aside_rows(document),
        total=counted(document["readings"]["total"], "reading"),
        values_aside=_values_aside(document),
        reference=_reference(document, units),
        learned=learned_words(document),
        missing=missing_rows(document),
        helpful_meter=(document.get("helpful_meter") or {}).get("sentence", ""),
        notes=tuple(document["notes"]),
    )


def _scene_title(plant: Plant, attention: Mapping[int, str]) -> str:
    stages = [
        f"stage {n} with {counted(stage.vessels, 'vessel')} of {counted(stage.elements_per_vessel, 'element')}"
        for n, stage in enumerate(plant.train.stages, start=1)
    ]
    marked = [f"stage {n}: {text}" for n, text in attention.items()]
    return f"The way of the water: {all_of(stages)}.{' Marked: ' + all_of(marked) + '.' if marked else ''}"


def event_rows(marks: Sequence[Mark]) -> tuple[EventRow, ...]:
    """Events that are numbered on the chart."""
    return tuple(EventRow(str(m.number), day(m.day), m.label, m.detail) for m in marks)


def _reference(document: Mapping[str, Any], units: str) -> ReferenceWords | None:
    reference = document.get("reference")
    if not reference:
        return None
    days = days_between(date.fromisoformat(reference["start"]), date.fromisoformat(reference["end"]))
    rests = f"{counted(reference['readings'], 'reading')} on {counted(reference['days'], 'day')}"
    chosen = {"plant file": "Chosen in the plant file"}.get(reference["chosen"], f"Chosen: {reference['chosen']}")
    return ReferenceWords(days, f"{chosen}; {rests}.", _conditions(reference["conditions"], units))


def _conditions(conditions: Mapping[str, float], units: str) -> str:
    """Those conditions that are quantities somebody reads from a gauge."""
    known = [
        f"{uncapitalized(COLUMNS[name].label)} {with_unit(value, COLUMNS[name], units)}"
        for name, value in conditions.items()
        if name in COLUMNS
    ]
    return all_of(known)


def _values_aside(document: Mapping[str, Any]) -> tuple[str, ...]:
    rows = []
    for name, reasons in document["readings"]["values_set_aside"].items():
        label = QUANTITIES[name].label if name in QUANTITIES else sentence(name)
        listed = all_of([f"{reason} ({number(count)})" for reason, count in reasons.items()])
        rows.append(f"{label}: {listed}")
    return tuple(rows)
