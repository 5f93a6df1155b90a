"""The charts of the train page, as dictionaries that Plotly draws. They take what was found out and compute nothing.

Each figure holds `data`, the `layout` for a wide box, and in `narrow` the parts of the layout that differ on a phone.
Panels lie one above the other over one time axis; everything is labelled where it is.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from server.assessments.chart_labels import Placed, Shape, mark_labels, panel_labels, panel_limits
from server.assessments.chart_parts import (
    Part,
    curve_traces,
    date_ticks,
    ratio_ticks,
    reach_bar,
    value_range,
)
from server.assessments.history import Limit, Mark, Panel, Timeline

WIDE_STACK = Shape(top=0, title=42, plot=168)
NARROW_STACK = Shape(top=0, title=42, plot=142, left=50, right=10)
SMALL = Shape(top=0, title=20, plot=210, left=46, right=72)
SMALL_NARROW = Shape(top=0, title=20, plot=170, left=46, right=10)


def changes_figure(panels: Sequence[Panel], timeline: Timeline) -> Part:
    """Draw panels over one time axis, with events on top."""
    top = 30 if timeline.marks else 0
    return _figure(panels, timeline, replace(WIDE_STACK, top=top), replace(NARROW_STACK, top=top), titles=True)


def small_figure(panel: Panel, timeline: Timeline, scale: tuple[float, float] | None = None) -> Part:
    """Draw one panel without title, on a scale of its own or on a given one. [-]"""
    return _figure([panel], timeline, SMALL, SMALL_NARROW, titles=False, scale=scale)


def _figure(
    panels: Sequence[Panel], timeline: Timeline, wide: Shape, narrow: Shape, *, titles: bool,
    scale: tuple[float, float] | None = None,
) -> Part:  # fmt: skip
    placed = _place(panels, wide, scale)
    data: list[Part] = []
    for panel in placed:
        for curve in panel.panel.curves:
            data += curve_traces(curve, timeline.first, panel.axis)
        for limit in panel_limits(panel.panel):
            if reach := limit.reach_by(timeline.last):
                end = min(reach.latest or timeline.last, timeline.last)
                data += reach_bar(reach.earliest, end, reach.likely, limit.value, panel.axis)
    return {
        "data": data,
        "layout": _layout(placed, timeline, wide, titles=titles, narrow=False),
        "narrow": _layout(_place(panels, narrow, scale), timeline, narrow, titles=titles, narrow=True),
    }


def _place(panels: Sequence[Panel], shape: Shape, scale: tuple[float, float] | None) -> list[Placed]:
    inner = shape.height(len(panels)) - shape.bottom
    placed = []
    for n, panel in enumerate(panels):
        top = shape.top + n * (shape.title + shape.plot) + shape.title
        low, high = scale or value_range(panel.curves, panel.limits)
        axis = "y" if n == 0 else f"y{n + 1}"
        placed.append(Placed(panel, axis, low, high, 1 - (top + shape.plot) / inner, 1 - top / inner, shape.plot))
    return placed


def _layout(placed: list[Placed], timeline: Timeline, shape: Shape, *, titles: bool, narrow: bool) -> Part:
    pad = timedelta(days=max(1, (timeline.last - timeline.first).days // 120))
    annotations: list[Part] = []
    shapes = _reference_shapes(placed, timeline)
    for panel in placed:
        shapes += [_limit_line(limit, panel.axis) for limit in panel_limits(panel.panel)]
        annotations += panel_labels(panel, timeline, titles=titles, narrow=narrow, left=shape.left)
    for mark in timeline.marks:
        shapes.append(_mark_line(mark, placed))
    annotations += mark_labels(timeline, shape, len(placed), narrow=narrow)
    layout = {
        "height": shape.height(len(placed)),
        "margin": {"l": shape.left, "r": shape.right, "t": 0, "b": shape.bottom},
        "font": {"family": "--sans", "size": 13, "color": "--quiet"},
        "paper_bgcolor": "rgba(0,0,0,0)", "plot_bgcolor": "rgba(0,0,0,0)", "showlegend": False,
        "hovermode": "closest", "dragmode": False, "shapes": shapes, "annotations": annotations,
        "hoverlabel": {"bgcolor": "--sheet", "bordercolor": "--quiet", "font": {"color": "--ink", "family": "--sans"}},
        "xaxis": _time_axis(timeline, pad, placed[-1].axis, 4 if narrow or not titles else 9),
    }  # fmt: skip
    for panel in placed:
        layout[f"yaxis{panel.axis[1:]}"] = _value_axis(panel)
    return layout


def _time_axis(timeline: Timeline, pad: timedelta, anchor: str, most: int) -> Part:
    return {
        "type": "date", "range": [(timeline.first - pad).isoformat(), (timeline.last + pad).isoformat()],
        "anchor": anchor, "fixedrange": True, "showgrid": False, "zeroline": False, "showline": True,
        "linecolor": "--line", "ticks": "outside", "ticklen": 5, "tickcolor": "--line", "tickangle": 0,
        "tickmode": "array", **date_ticks(timeline.first, timeline.last, most),
    }  # fmt: skip


def _value_axis(panel: Placed) -> Part:
    return {
        "domain": [panel.bottom, panel.top], "range": [panel.low, panel.high], "fixedrange": True,
        "showgrid": True, "gridcolor": "--faint", "gridwidth": 1, "zeroline": False,
        "ticks": "", "tickmode": "array", **ratio_ticks(panel.low, panel.high, drift=panel.panel.drift),
    }  # fmt: skip


def _limit_line(limit: Limit, axis: str) -> Part:
    return {
        "type": "line", "xref": "paper", "x0": 0, "x1": 1, "yref": axis, "y0": limit.value, "y1": limit.value,
        "line": {"color": "--ink", "width": 1.1}, "layer": "above",
    }  # fmt: skip


def _reference_shapes(placed: list[Placed], timeline: Timeline) -> list[Part]:
    if not timeline.reference:
        return []
    start, end = timeline.reference
    return [
        {
            "type": "rect", "xref": "x", "x0": start.isoformat(), "x1": (end + timedelta(days=1)).isoformat(),
            "yref": "paper", "y0": panel.bottom, "y1": panel.top, "layer": "below", "line": {"width": 0},
            "fillcolor": "--faint",
        }
        for panel in placed
    ]  # fmt: skip


def _mark_line(mark: Mark, placed: list[Placed]) -> Part:
    day = mark.day.isoformat()
    return {
        "type": "line", "xref": "x", "x0": day, "x1": day, "yref": "paper", "y0": placed[-1].bottom, "y1": 1,
        "line": {"color": "--quiet", "width": 1, "dash": "1px,3px"}, "layer": "below",
    }  # fmt: skip
