"""The train page as typed values: everything that the template shows, already in words and in the reader's units."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from analytics.events import Event
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
from server.assessments.graphs import ChartBox, Charts, train_charts
from server.assessments.history import history_from_series
from server.assessments.levels import Level, level_of
from server.assessments.water import Drawing, WaterScene
from server.assessments.water_level import level_drawing
from server.assessments.water_upright import upright_drawing
from server.display import ago, counted, day, days_between, in_list, moment, number, sentence, uncapitalized, with_unit
from server.readings.queries import LatestValue
from server.templating import Frame

MOST_REASONS = 4
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
class TrainPage:
    """Everything that the page of one train shows."""

    frame: Frame
    site: str
    train: str
    level: Level
    headline: str
    reasons: tuple[str, ...]
    more_reasons: tuple[str, ...]
    last_reading: str
    last_reading_at: str
    outdated: bool
    calm: bool
    figures: tuple[KeyFigure, ...]
    scene_title: str
    level_drawing: Drawing
    wide_drawing: bool
    upright_drawing: Drawing
    gauges: tuple[GaugeValue, ...]
    changes: ChartBox | None
    has_reach: bool
    has_standard: bool
    stage_charts: tuple[ChartBox, ...]
    compare_charts: tuple[ChartBox, ...]
    compare_words: str
    events: tuple[EventRow, ...]
    months: MonthTable | None
    indicators: tuple[IndicatorRow, ...]
    causes: Causes | None
    method: str
    learned: tuple[str, ...]
    meters: tuple[MeterRow, ...]
    runs: tuple[RunRow, ...]
    aside: tuple[AsideRow, ...]
    total: str
    values_aside: tuple[str, ...]
    reference: ReferenceWords | None
    missing: tuple[MissingRow, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class EmptyTrainPage:
    """A train without readings: what to do first."""

    frame: Frame
    site: str
    train: str
    train_id: int


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
    zone = ZoneInfo(plant.site.timezone)
    stages = len(plant.train.stages)
    history = history_from_series(series)
    verdict, level = document["verdict"], level_of(document["verdict"]["level"])
    charts = train_charts(document, history, events, zone, stages)
    attention = stage_attention(document)
    scene = WaterScene(plant.train, latest.values, frame.units, attention)
    drawing = level_drawing(scene)
    reasons = [reason for reason in verdict["reasons"] if reason != verdict["headline"]]
    return TrainPage(
        frame=frame,
        site=plant.site.name,
        train=plant.train.name,
        level=level,
        headline=verdict["headline"],
        reasons=tuple(reasons[:MOST_REASONS]),
        more_reasons=tuple(reasons[MOST_REASONS:]),
        last_reading=ago(latest.taken_at, now) if latest.taken_at else "",
        last_reading_at=moment(latest.taken_at, zone) if latest.taken_at else "",
        outdated=outdated,
        calm=level.name == "steady",
        figures=key_figures(document),
        scene_title=_scene_title(plant, attention),
        level_drawing=drawing,
        wide_drawing=drawing.width > WIDE_DRAWING,
        upright_drawing=upright_drawing(scene),
        gauges=gauge_values(latest.values, frame.units),
        changes=charts.changes,
        has_reach=charts.has_reach,
        has_standard=charts.has_standard,
        stage_charts=charts.stages,
        compare_charts=charts.compare,
        compare_words=compare_words(document, history, frame.units) if charts.compare else "",
        events=_event_rows(charts),
        months=month_table(history, stages),
        indicators=indicator_rows(document),
        causes=causes_of(document),
        method=document["method"],
        learned=learned_words(document),
        meters=meter_rows(document),
        runs=run_rows(document),
        aside=aside_rows(document),
        total=counted(document["readings"]["total"], "reading"),
        values_aside=_values_aside(document),
        reference=_reference(document, frame.units),
        missing=missing_rows(document),
        notes=tuple(document["notes"]),
    )


def _scene_title(plant: Plant, attention: Mapping[int, str]) -> str:
    stages = [
        f"stage {n} with {counted(stage.vessels, 'vessel')} of {counted(stage.elements_per_vessel, 'element')}"
        for n, stage in enumerate(plant.train.stages, start=1)
    ]
    marked = [f"stage {n}: {text}" for n, text in attention.items()]
    return f"The way of the water: {in_list(stages)}.{' Marked: ' + in_list(marked) + '.' if marked else ''}"


def _event_rows(charts: Charts) -> tuple[EventRow, ...]:
    """Events that are numbered on the chart."""
    return tuple(EventRow(str(m.number), day(m.day), m.label, m.detail) for m in charts.marks)


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
    return in_list(known)


def _values_aside(document: Mapping[str, Any]) -> tuple[str, ...]:
    rows = []
    for name, reasons in document["readings"]["values_set_aside"].items():
        label = QUANTITIES[name].label if name in QUANTITIES else sentence(name)
        listed = in_list([f"{reason} ({number(count)})" for reason, count in reasons.items()])
        rows.append(f"{label}: {listed}")
    return tuple(rows)
