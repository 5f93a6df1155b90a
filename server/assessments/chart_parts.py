"""The parts of a chart as Plotly reads them: traces, axes, labels. Built by hand, so that plotly is not imported.

A colour is the name of a token of the style sheet (`--permeate`), with a transparency after a slash
(`--permeate/2e`, or the name of a token that holds one): the page's script looks it up when it draws.
"""

import base64
import math
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np

from server.assessments.history import Curve, Floats, Limit, Piece
from server.display import number, percent

Part = dict[str, Any]
MOST_POINTS = 2_000
DAY_MS = 86_400_000
HOVER = "%{x|%-d %B %Y}: %{y:.3f}<extra></extra>"


def packed(values: Floats) -> Part:
    """Numbers as a typed array in base64: a third of the size of their text."""
    return {"dtype": "f4", "bdata": base64.b64encode(np.asarray(values, dtype="<f4").tobytes()).decode()}


def thinned(values: Floats, most: int = MOST_POINTS) -> tuple[Floats, float]:
    """Keep the lowest and the highest of each bucket, in their order; also return days per point kept."""
    if values.size <= most:
        return values, 1.0
    bucket = math.ceil(2 * values.size / most)
    padded = np.concatenate([values, np.full(-values.size % bucket, np.nan)]).reshape(-1, bucket)
    empty = ~np.isfinite(padded).any(axis=1)
    filled = np.where(np.isfinite(padded), padded, np.nan)
    filled[empty] = 0.0
    low, high = np.nanargmin(filled, axis=1), np.nanargmax(filled, axis=1)
    rows = np.arange(len(padded))
    ends = np.stack([filled[rows, np.minimum(low, high)], filled[rows, np.maximum(low, high)]], axis=1)
    ends[empty] = np.nan
    return ends.ravel(), bucket / 2


def dots(values: Floats, first: date, axis: str, colour: str) -> Part:
    """Days as faint dots."""
    kept, step = thinned(values)
    return _points(kept, first, step, axis) | {
        "marker": {"color": f"{colour}/--dot", "size": 4, "line": {"width": 0}},
        "hovertemplate": HOVER,
    }


def crosses(values: Floats, first: date, axis: str) -> Part:
    """Days set aside as crosses."""
    kept, step = thinned(values)
    return _points(kept, first, step, axis) | {
        "marker": {"symbol": "x-thin", "size": 6, "line": {"color": "--quiet", "width": 1.2}},
        "hovertemplate": HOVER.replace("<extra>", ", set aside<extra>"),
    }


def _points(values: Floats, first: date, step: float, axis: str) -> Part:
    return _trace(axis) | {"mode": "markers", "x0": first.isoformat(), "dx": step * DAY_MS, "y": packed(values)}


def _trace(axis: str) -> Part:
    return {"type": "scatter", "xaxis": "x", "yaxis": axis, "showlegend": False}


def band(pieces: Sequence[Piece], axis: str, colour: str, alpha: str) -> Part:
    """The interval of pieces as an area."""
    x: list[str | None] = []
    y: list[float | None] = []
    for piece in pieces:
        start, end = piece.start.isoformat(), piece.end.isoformat()
        x += [start, end, end, start, None]
        y += [*map(_short, (piece.start_low, piece.end_low, piece.end_high, piece.start_high)), None]
    return _trace(axis) | {
        "mode": "lines", "x": x, "y": y, "fill": "toself", "fillcolor": f"{colour}/{alpha}",
        "line": {"width": 0}, "hoverinfo": "skip",
    }  # fmt: skip


def line(pieces: Sequence[Piece], axis: str, colour: str, *, width: float = 2.4, dotted: bool = False) -> Part:
    """The middle of pieces as a line."""
    x: list[str | None] = []
    y: list[float | None] = []
    for piece in pieces:
        x += [piece.start.isoformat(), piece.end.isoformat(), None]
        y += [_short(piece.start_value), _short(piece.end_value), None]
    look = {"color": colour, "width": width, "dash": "2px,3px" if dotted else "solid"}
    return _trace(axis) | {"mode": "lines", "x": x, "y": y, "line": look, "hoverinfo": "skip"}


def reach_bar(start: date, end: date, likely: date | None, value: float, axis: str) -> list[Part]:
    """The dates between which a limit is reached, as a bar that lies on the limit."""
    x = [start.isoformat(), max(end, start + timedelta(days=1)).isoformat()]
    y = [_short(value)] * 2
    bar = _trace(axis) | {"mode": "lines", "x": x, "y": y, "line": {"color": "--ink", "width": 7}, "hoverinfo": "skip"}
    if likely is None:
        return [bar]
    notch = {"symbol": "line-ns", "size": 6, "line": {"color": "--paper", "width": 2}}
    point = {"mode": "markers", "x": [likely.isoformat()], "y": y[:1], "marker": notch, "hoverinfo": "skip"}
    return [bar, _trace(axis) | point]


def curve_traces(curve: Curve, first: date, axis: str) -> list[Part]:
    """Everything of one curve, the faintest first."""
    traces = [dots(curve.days, first, axis, curve.colour)]
    if curve.aside is not None:
        traces.append(crosses(curve.aside, first, axis))
    if curve.forecast:
        traces.append(band([curve.forecast], axis, curve.colour, "--fan"))
        traces.append(line([curve.forecast], axis, curve.colour, width=1.6, dotted=True))
    if curve.other:
        traces.append(line(curve.other, axis, "--quiet", width=1.2))
    if curve.trend:
        traces.append(band(curve.trend, axis, curve.colour, "--band"))
        traces.append(line(curve.trend, axis, curve.colour))
    return traces


def value_range(curves: Sequence[Curve], limits: Sequence[Limit] = ()) -> tuple[float, float]:
    """Lowest and highest ratio that a panel shows: nearly all days, all trends, the limits, some of the fan. [-]"""
    seen: list[float] = [1.0, *(limit.value for limit in limits)]
    for curve in curves:
        known = curve.days[np.isfinite(curve.days)]
        if known.size:
            seen += np.percentile(known, [0.5, 99.5]).tolist()
        else:
            seen += [value for piece in curve.trend for value in (piece.start_low, piece.start_high)]
        seen += [value for piece in (*curve.trend, *curve.other) for value in (piece.start_value, piece.end_value)]
        seen += [curve.limit.value] if curve.limit else []
        seen += [curve.forecast.end_value] if curve.forecast else []
    low, high = min(seen), max(seen)
    fans = [end for curve in curves if curve.forecast for end in (curve.forecast.end_low, curve.forecast.end_high)]
    span = max(high - low, 0.04)
    low, high = max(min([low, *fans]), low - span / 4), min(max([high, *fans]), high + span / 4)
    return low - 0.06 * span, high + 0.06 * span


def beyond(curves: Sequence[Curve], low: float, high: float) -> int:
    """How many days lie outside the range."""
    return sum(int(((curve.days < low) | (curve.days > high)).sum()) for curve in curves)


def ratio_ticks(low: float, high: float, *, drift: bool = False) -> Part:
    """Ticks at round ratios, three to six of them; of a drift, as what they are away from one in per cent."""
    step = next(step for step in (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 1e9) if (high - low) / step <= 5)
    values = [round(step * n, 2) for n in range(math.ceil(low / step), math.floor(high / step) + 1)]
    texts = [percent(value - 1, 0) if drift else number(value, 2) for value in values]
    return {"tickvals": values, "ticktext": texts}


def date_ticks(first: date, last: date, most: int) -> Part:
    """Ticks at the start of months, at most `most` of them; the year stands under the first and where it changes."""
    months = (last.year - first.year) * 12 + last.month - first.month
    if months < 3:
        return _day_ticks(first, last, most)
    step = next(step for step in (1, 2, 3, 6, 12, 24, 60, 120, 1200) if months / step <= most)
    values, texts, year = [], [], 0
    start = math.ceil((first.year * 12 + first.month - (first.day == 1)) / step) * step
    for n in range(start, 12 * last.year + last.month, step):
        tick = date(n // 12, n % 12 + 1, 1)
        values.append(tick.isoformat())
        name = str(tick.year) if step >= 12 else f"{tick:%b}"
        texts.append(f"{name}<br>{tick.year}" if step < 12 and tick.year != year else name)
        year = tick.year
    return {"tickvals": values, "ticktext": texts}


def _day_ticks(first: date, last: date, most: int) -> Part:
    step = next(step for step in (1, 2, 7, 14, 28, 56) if (last - first).days / step <= most)
    days = [first + timedelta(days=n) for n in range(0, (last - first).days + 1, step)]
    return {"tickvals": [d.isoformat() for d in days], "ticktext": [f"{d.day} {d:%b}" for d in days]}


def _short(value: float) -> float:
    return round(value, 4)
