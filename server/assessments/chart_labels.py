"""Where the words of a chart stand: titles, limits, names at the ends of lines, numbered events. Nothing overlaps."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from server.assessments.chart_parts import Part, beyond
from server.assessments.history import Curve, Limit, Mark, Panel, Reach, Timeline
from server.display import counted

LINE_HEIGHT = 15
WIDE_PLOT = 850
"""Width of the plot that is assumed when wide labels are placed; a wider one only has more room. [px]"""
NARROW_PLOT = 250


@dataclass(frozen=True)
class Shape:
    """Sizes of a figure. [px]"""

    top: int
    title: int
    plot: int
    bottom: int = 40
    left: int = 54
    right: int = 96

    def height(self, panels: int) -> int:
        return self.top + panels * (self.title + self.plot) + self.bottom


@dataclass(frozen=True)
class Placed:
    """One panel with its axis, its scale, and where it lies in a figure of a height (bottom and top, 0 to 1)."""

    panel: Panel
    axis: str
    low: float
    high: float
    bottom: float
    top: float
    height: int

    def pixels(self, value: float) -> float:
        """Height of a value above the bottom of the panel. [px]"""
        return (value - self.low) / (self.high - self.low) * self.height


def panel_limits(panel: Panel) -> list[Limit]:
    """Limits of a panel, equal ones once; the one that will be reached goes before its equal."""
    found: dict[float, Limit] = {}
    of_curves = [curve.limit for curve in panel.curves if curve.limit]
    for limit in sorted((*of_curves, *panel.limits), key=lambda limit: limit.reach is None):
        found.setdefault(limit.value, limit)
    return list(found.values())


def panel_labels(panel: Placed, timeline: Timeline, *, titles: bool, narrow: bool, left: int) -> list[Part]:
    """Words of one panel; its title stands `left` of the plot."""
    labels = []
    outside = beyond(panel.panel.curves, panel.low, panel.high)
    if titles:
        title = f"<b>{panel.panel.title}</b> <span style='font-size:12px'>{panel.panel.unit(narrow=narrow)}</span>"
        labels.append(_text(title, x=0, y=panel.top, yshift=9, xshift=-left, colour="--ink", size=14.5))
    if outside:
        off = f"{counted(outside, 'day')} off the scale"
        labels.append(_text(off, x=1, y=panel.top, yshift=9 if titles else 3, xanchor="right", size=12))
    for limit in panel_limits(panel.panel):
        if narrow:
            labels.append(_limit_label_inside(limit, panel))
        elif reach := limit.reach_by(timeline.last):
            labels.append(_reach_label(limit, reach, panel, timeline))
    return labels + (_narrow_end_labels(panel, timeline) if narrow else _wide_end_labels(panel))


def _reach_label(limit: Limit, reach: Reach, panel: Placed, timeline: Timeline) -> Part:
    span = (timeline.last - timeline.first).days or 1
    middle = reach.likely or reach.earliest
    late = (middle - timeline.first).days / span > 0.75
    where: Part = {"x": 1, "xanchor": "right"} if late else {"x": middle.isoformat(), "xref": "x", "xanchor": "center"}
    below = limit.value < 1
    return _text(
        f"<b>{reach.text}</b>", y=limit.value, yref=panel.axis, yanchor="top" if below else "bottom",
        yshift=-5 if below else 5, colour="--ink", size=12.5, bgcolor="--paper/c0", **where,
    )  # fmt: skip


def _limit_label_inside(limit: Limit, panel: Placed) -> Part:
    """Beyond its line, as limits are passed; on the near side where the title of the panel would be touched."""
    below = limit.value < 1 or panel.height - panel.pixels(limit.value) < LINE_HEIGHT
    return _text(
        limit.text, x=0, y=limit.value, yref=panel.axis, yanchor="top" if below else "bottom", xshift=4,
        yshift=-2 if below else 2, colour="--ink", size=12.5,
    )  # fmt: skip


def _wide_end_labels(panel: Placed) -> list[Part]:
    """Right of the plot: the limits and, where there are several curves, their names."""
    wanted = [(panel.pixels(limit.value), limit.text, "--ink") for limit in panel_limits(panel.panel)]
    return _stacked(panel, wanted + _curve_names(panel), xanchor="left", xshift=8)


def _narrow_end_labels(panel: Placed, timeline: Timeline) -> list[Part]:
    """Inside the plot at its right end: when limits are reached and, where there are several curves, their names."""
    wanted = [(height + LINE_HEIGHT / 2, text, colour) for height, text, colour in _curve_names(panel)]
    for limit in panel_limits(panel.panel):
        if reach := limit.reach_by(timeline.last):
            bar, beside = panel.pixels(limit.value), -0.8 * LINE_HEIGHT if limit.value < 1 else 0.8 * LINE_HEIGHT
            wanted = [(_off_the_bar(height, bar, beside), text, colour) for height, text, colour in wanted]
            wanted += [(bar + beside, f"<b>{reach.short}</b>", "--ink"), (bar, "", "--ink")]
    return _stacked(panel, wanted, xanchor="right", xshift=-2)


def _off_the_bar(height: float, bar: float, beside: float) -> float:
    """Height of a name that stays off the bar on a limit and off the days that stand beside it: on its other side."""
    return bar - beside if abs(height - bar - beside / 2) < 1.5 * LINE_HEIGHT else height


def _curve_names(panel: Placed) -> list[tuple[float, str, str]]:
    curves = panel.panel.curves if len(panel.panel.curves) > 1 else ()
    return [(panel.pixels(_end_value(curve)), curve.label, curve.colour) for curve in curves]


def _stacked(panel: Placed, wanted: list[tuple[float, str, str]], **side: Any) -> list[Part]:
    """Texts at heights above the bottom of a panel, moved apart where they would touch."""
    wanted = sorted(wanted)
    heights = spread_out([height for height, _, _ in wanted], LINE_HEIGHT, panel.height)
    return [
        _text(text, x=1, y=panel.bottom, yanchor="middle", yshift=height, colour=colour, **side)
        for (_, text, colour), height in zip(wanted, heights, strict=True)
        if text
    ]


def _end_value(curve: Curve) -> float:
    if curve.forecast:
        return curve.forecast.end_value
    if curve.trend:
        return curve.trend[-1].end_value
    known = curve.days[curve.days == curve.days]
    return float(known[-1])


def spread_out(heights: Sequence[float], least: float, room: float) -> list[float]:
    """Move rising heights apart until each has room for its text, as little as needed and inside the panel. [px]"""
    moved = [min(max(height, 0.0), room) for height in heights]
    for _ in range(40):
        for n in range(len(moved) - 1):
            short = least - (moved[n + 1] - moved[n])
            if short > 0:
                moved[n] = max(0.0, moved[n] - short / 2)
                moved[n + 1] = moved[n] + least
    return moved


def mark_labels(timeline: Timeline, shape: Shape, panels: int, *, narrow: bool) -> list[Part]:
    """Numbers of the events at the top; those too close share one; a name beside it where there is room."""
    width = NARROW_PLOT if narrow else WIDE_PLOT
    span = (timeline.last - timeline.first).days or 1
    labels: list[Part] = []
    groups = grouped_marks(timeline.marks, timeline.first, width / span)
    for n, group in enumerate(groups):
        number = str(group[0].number) if len(group) == 1 else f"{group[0].number}–{group[-1].number}"
        labels.append(
            _text(number, x=_middle(group).isoformat(), xref="x", y=1, yanchor="top", yshift=-3, xanchor="center",
                  colour="--ink", size=12)
            | {"bgcolor": "--paper", "bordercolor": "--quiet", "borderwidth": 1, "borderpad": 2.5}
        )  # fmt: skip
        after = groups[n + 1][0].day if n + 1 < len(groups) else timeline.last
        room = (after - group[-1].day).days * width / span - 34
        if not narrow and len(group) == 1 and len(group[0].label) * 6.6 < room:
            labels.append(
                _text(
                    group[0].label,
                    x=group[0].day.isoformat(),
                    xref="x",
                    y=1,
                    yanchor="top",
                    yshift=-4,
                    xshift=13,
                    size=12.5,
                )
            )
    return labels


def grouped_marks(marks: Sequence[Mark], first: date, pixels_per_day: float, least: float = 26.0) -> list[list[Mark]]:
    """Put marks that would touch into one group."""
    groups: list[list[Mark]] = []
    for mark in marks:
        if groups and (mark.day - groups[-1][-1].day).days * pixels_per_day < least:
            groups[-1].append(mark)
        else:
            groups.append([mark])
    return groups


def _middle(group: Sequence[Mark]) -> date:
    return group[0].day + (group[-1].day - group[0].day) / 2


def _text(text: str, *, y: float, x: Any = None, colour: str = "--quiet", size: float = 13, **more: Any) -> Part:
    return {
        "text": text, "x": x, "y": y, "xref": "paper", "yref": "paper", "xanchor": "left", "yanchor": "bottom",
        "showarrow": False, "font": {"color": colour, "size": size}, "align": "left", **more,
    }  # fmt: skip
