"""All charts of the pages of a train, written out as JSON beside the boxes in which the page's script draws them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import orjson
from markupsafe import Markup

from analytics.events import Event
from server.assessments.chart_parts import value_range
from server.assessments.charts import changes_figure, small_figure
from server.assessments.history import Curve, History, Mark, Panel, Timeline
from server.assessments.levels import INDICATORS, scope_words
from server.assessments.panels import (
    Document,
    indicator_panel,
    main_panels,
    scope_panels,
    stage_panel,
    stage_scopes,
    timeline,
)
from server.display import number, percent, sentence


@dataclass(frozen=True)
class ChartBox:
    """One chart: its name in the page, its heading, what it says in words, and its figure as JSON."""

    name: str
    title: str
    words: str
    figure: Markup
    panels: int = 0


@dataclass(frozen=True)
class MarkedCharts:
    """Some charts over one time axis, and the events that are numbered on them."""

    boxes: tuple[ChartBox, ...] = ()
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True)
class Charts:
    """The charts of one train, and the events that are numbered on them."""

    changes: ChartBox | None
    stages: tuple[ChartBox, ...]
    compare: tuple[ChartBox, ...]
    marks: tuple[Mark, ...]
    has_reach: bool
    has_standard: bool


def train_charts(document: Document, history: History, events: Sequence[Event], zone: ZoneInfo, stages: int) -> Charts:
    """Draw everything that there are values for."""
    if not history.days:
        return Charts(None, (), (), (), False, False)
    panels = main_panels(document, history, stages)
    axis = timeline(document, history, events, zone, panels)
    plain = Timeline(axis.first, axis.last, axis.reference)
    past = Timeline(axis.first, min(axis.last, history.last), axis.reference)
    by_stage = [stage_panel(document, history, name, stages) for name in ("permeate_flow", "salt_passage")]
    return Charts(
        changes=_stack("changes", "What has changed", panels, axis) if panels else None,
        stages=tuple(_small(f"stage-{n}", panel, plain) for n, panel in enumerate(by_stage) if panel),
        compare=_compare(document, history, panels, past),
        marks=axis.marks,
        has_reach=any(curve.limit and curve.limit.reach_by(axis.last) for panel in panels for curve in panel.curves),
        has_standard=any(curve.other for panel in panels for curve in panel.curves),
    )


def _stack(name: str, title: str, panels: Sequence[Panel], axis: Timeline) -> ChartBox:
    words = "Relative to the reference. " + " ".join(_panel_words(panel) for panel in panels)
    return ChartBox(name, title, words, figure_json(changes_figure(panels, axis)), len(panels))


def run_charts(
    document: Document, history: History, events: Sequence[Event], zone: ZoneInfo, stages: int
) -> MarkedCharts:
    """Draw all indicators that are judged: of the train, and of each stage."""
    if not history.days:
        return MarkedCharts()
    scopes = ("train", *stage_scopes(document))
    stacks = {scope: scope_panels(document, history, scope, stages) for scope in scopes}
    stacks = {scope: stack for scope, stack in stacks.items() if stack}
    axis = timeline(document, history, events, zone, [panel for stack in stacks.values() for panel in stack])
    boxes = [
        _stack(f"runs-{scope}", sentence(scope_words(scope)), stack, axis) for scope, stack in stacks.items() if stack
    ]
    return MarkedCharts(tuple(boxes), axis.marks)


def cause_charts(
    document: Document, history: History, events: Sequence[Event], zone: ZoneInfo, stages: int
) -> MarkedCharts:
    """Draw what the causes are weighed by: each indicator stage by stage, or of the train where no more is known."""
    if not history.days:
        return MarkedCharts()
    panels = [panel for name in INDICATORS if (panel := indicator_panel(document, history, name, stages))]
    axis = timeline(document, history, events, zone, panels)
    return MarkedCharts((_stack("causes", "What was seen", panels, axis),) if panels else (), axis.marks)


def _small(name: str, panel: Panel, axis: Timeline) -> ChartBox:
    return ChartBox(name, panel.title, _panel_words(panel), figure_json(small_figure(panel, axis)))


def drift_charts(
    stacks: Sequence[tuple[str, str, Sequence[Panel]]], document: Document, history: History, events: Sequence[Event],
    zone: ZoneInfo,
) -> MarkedCharts:  # fmt: skip
    """Draw stacks of drifts (name, title, panels) over one time axis."""
    stacks = [stack for stack in stacks if stack[2]]
    if not history.days or not stacks:
        return MarkedCharts()
    axis = timeline(document, history, events, zone, [panel for _, _, panels in stacks for panel in panels])
    return MarkedCharts(tuple(_stack(name, title, panels, axis) for name, title, panels in stacks), axis.marks)


def _panel_words(panel: Panel) -> str:
    if panel.drift:
        ends = [curve.trend[-1].end_value for curve in panel.curves if curve.trend]
        return f"{panel.title} now {percent(ends[0] - 1)}." if ends else f"{panel.title}: days only."
    parts = []
    for curve in panel.curves:
        who = panel.title if len(panel.curves) == 1 else f"{panel.title} of {curve.label}"
        if curve.trend:
            parts.append(f"{who} now {number(curve.trend[-1].end_value, 2)}, {curve.limit.text if curve.limit else ''}")
    return "; ".join(part.rstrip(", ") for part in parts) + "." if parts else f"{panel.title}: days only, no trend."


def _compare(
    document: Mapping[str, Any], history: History, panels: Sequence[Panel], axis: Timeline
) -> tuple[ChartBox, ...]:
    """Permeate flow as read against normalized, on one scale."""
    raw = history.of("raw_permeate_flow_m3h")
    usual = ((document.get("reference") or {}).get("conditions") or {}).get("permeate_flow_m3h")
    flow = next((p for p in panels if p.title.startswith(sentence(INDICATORS["permeate_flow"]))), None)
    if raw is None or not usual or flow is None or len(flow.curves) != 1:
        return ()
    curve = flow.curves[0]
    as_read = Panel("As read from the gauge", (Curve("as read", "--quiet", raw / usual),))
    normalized = Panel("Normalized", (Curve("normalized", "--permeate", curve.days, trend=curve.trend),))
    ranges = [value_range(panel.curves) for panel in (as_read, normalized)]
    scale = (min(low for low, _ in ranges), max(high for _, high in ranges))
    low, high = (number(value, 2) for value in np.nanpercentile(raw / usual, [5, 95]))
    words = f"As read, permeate flow lay mostly between {low} and {high} of the reference."
    figures = [figure_json(small_figure(panel, axis, scale)) for panel in (as_read, normalized)]
    return (
        ChartBox("as-read", as_read.title, words, figures[0]),
        ChartBox("normalized", normalized.title, _panel_words(normalized), figures[1]),
    )


def figure_json(figure: Mapping[str, Any]) -> Markup:
    """A figure as JSON that may stand inside a script element: nothing in it can end the element."""
    text = orjson.dumps(figure).decode()
    return Markup(text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))
