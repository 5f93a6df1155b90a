"""The chart of cost per day against the interval between cleanings, as Plotly reads it. It computes nothing."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from analytics.decisions.cleaning_interval import CleaningInterval
from server.assessments.chart_labels import LINE_HEIGHT, spread_out
from server.assessments.chart_parts import packed
from server.display import number

Part = dict[str, Any]
POINTS = 240
WIDE_HEIGHT, NARROW_HEIGHT = 330, 290
TOP, BOTTOM, NAMES_WIDTH = 34, 46, 64
"""Margins of the plot; the names of the lines stand right of it. [px]"""


def interval_figure(found: CleaningInterval, *, limit_days: float | None, currency: str) -> Part:
    """Draw the curve and its two parts, the flat band, and the limit."""
    last = _last_day(found, limit_days)
    shown = found.days <= last
    places = np.unique(np.geomspace(1, shown.sum(), POINTS).astype(int)) - 1
    days = found.days[places]
    top = 2.2 * found.optimum_cost if found.planned_cost < 2 * found.optimum_cost else 1.25 * found.planned_cost
    data = [
        _line(days, found.cleaning_cost[places], "--permeate", 1.4, "1px,3px", "the cleaning"),
        _line(days, found.fouling_cost[places], "--concentrate", 1.4, "6px,3px", "the fouling"),
        _line(days, found.cost[places], "--ink", 2.6, "solid", "both"),
        _point(found.planned_days, found.planned_cost),
    ]
    return {
        "data": data,
        "layout": _layout(found, limit_days, last, top, currency, narrow=False),
        "narrow": _layout(found, limit_days, last, top, currency, narrow=True),
    }


def _last_day(found: CleaningInterval, limit_days: float | None) -> float:
    wanted = max(2 * found.optimum_days, found.flat_to_days * 1.2, 1.6 * (limit_days or 0), 60.0)
    return float(min(wanted, found.days[-1]))


def _line(x: Any, y: Any, colour: str, width: float, dash: str, name: str) -> Part:
    return {
        "type": "scatter", "mode": "lines", "x": packed(x), "y": packed(y), "name": name, "showlegend": False,
        "line": {"color": colour, "width": width, "dash": dash},
        "hovertemplate": f"every %{{x:.0f}} days: %{{y:.2f}} a day<extra>{name}</extra>",
    }  # fmt: skip


def _point(x: float, y: float) -> Part:
    return {
        "type": "scatter", "mode": "markers", "x": [round(x, 1)], "y": [round(y, 4)], "showlegend": False,
        "marker": {"size": 11, "color": "--paper", "line": {"color": "--ink", "width": 2.4}}, "hoverinfo": "skip",
    }  # fmt: skip


def _layout(
    found: CleaningInterval, limit_days: float | None, last: float, top: float, currency: str, *, narrow: bool
) -> Part:
    height = NARROW_HEIGHT if narrow else WIDE_HEIGHT
    shapes: list[Part] = [_band(found.flat_from_days, min(found.flat_to_days, last))]
    middle = min((found.flat_from_days + min(found.flat_to_days, last)) / 2, last * 0.8)
    labels = [_label(middle, top, "within 5 % of the best", "center", 8), *_names(found, last, top, height)]
    if limit_days is not None and limit_days <= last:
        shapes.append(_upright(limit_days))
        side = "left" if limit_days < last / 2 else "right"
        labels.append(_label(limit_days, top, f" limit, {number(limit_days)} days ", side, -10))
    return {
        "height": height, "margin": {"l": 56, "r": NAMES_WIDTH, "t": TOP, "b": BOTTOM},
        "font": {"family": "--sans", "size": 13, "color": "--quiet"},
        "paper_bgcolor": "rgba(0,0,0,0)", "plot_bgcolor": "rgba(0,0,0,0)", "showlegend": False,
        "hovermode": "closest", "dragmode": False, "shapes": shapes, "annotations": labels,
        "hoverlabel": {"bgcolor": "--sheet", "bordercolor": "--quiet", "font": {"color": "--ink", "family": "--sans"}},
        "xaxis": {
            "range": [0, last], "fixedrange": True, "showgrid": False, "zeroline": False, "showline": True,
            "linecolor": "--line", "ticks": "outside", "ticklen": 5, "tickcolor": "--line",
            "nticks": 5 if narrow else 10,
            "title": {"text": "days between cleanings", "standoff": 8},
        },
        "yaxis": {
            "range": [0, top], "fixedrange": True, "showgrid": True, "gridcolor": "--faint", "zeroline": False,
            "ticks": "", "nticks": 6, "title": {"text": f"{currency or 'money'} a day", "standoff": 6},
        },
    }  # fmt: skip


def _names(found: CleaningInterval, last: float, top: float, height: int) -> list[Part]:
    """Names of the lines at their ends, right of the plot, moved apart where they would touch."""
    lines = (("cleaning", found.cleaning_cost), ("fouling", found.fouling_cost), ("both", found.cost))
    ends = sorted((float(np.interp(last, found.days, cost)), name) for name, cost in lines)
    room = height - TOP - BOTTOM
    heights = [min(value / top, 1) * room for value, _ in ends]
    moved = spread_out(heights, LINE_HEIGHT, room)
    return [
        _label(last, min(value, top), name, "left", to - at) | {"xshift": 6, "yanchor": "middle"}
        for (value, name), at, to in zip(ends, heights, moved, strict=True)
    ]


def _band(start: float, end: float) -> Part:
    return {
        "type": "rect", "xref": "x", "x0": start, "x1": end, "yref": "paper", "y0": 0, "y1": 1, "layer": "below",
        "line": {"width": 0}, "fillcolor": "--faint",
    }  # fmt: skip


def _upright(x: float) -> Part:
    return {
        "type": "line", "xref": "x", "x0": x, "x1": x, "yref": "paper", "y0": 0, "y1": 1,
        "line": {"color": "--ink", "width": 1.2}, "layer": "above",
    }  # fmt: skip


def _label(x: float, y: float, text: str, side: str, lift: float) -> Part:
    return {
        "xref": "x", "yref": "y", "x": x, "y": y, "text": text, "showarrow": False, "xanchor": side, "yshift": lift,
        "font": {"size": 12, "color": "--quiet"},
    }  # fmt: skip


def chart_words(found: CleaningInterval, days: Sequence[float | None], currency: str) -> str:
    """What the chart says, for whoever does not see it."""
    limit = f" The limit comes after {number(days[0])} days." if days[0] is not None else ""
    return (
        f"Cost per day is lowest with a cleaning every {number(found.optimum_days)} days, "
        f"{number(found.optimum_cost, 2)} {currency} a day; from {number(found.flat_from_days)} to "
        f"{number(found.flat_to_days)} days it is within 5 % of that.{limit}"
    )
