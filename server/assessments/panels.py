"""From an assessment document to what charts draw: panels of curves, the time axis, the numbered events."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta, tzinfo
from typing import Any

import numpy as np

from analytics.assess import STANDARD_METHOD
from analytics.events import Event
from server.assessments.figures import is_judged
from server.assessments.history import Curve, History, Limit, Mark, Panel, Piece, Reach, Timeline, pieces
from server.assessments.levels import INDICATORS, KINDS, MARKED_KINDS, scope_words
from server.assessments.water import pass_number
from server.display import day, days_between, number, sentence, short_day

Document = Mapping[str, Any]
MOST_FORECAST = 0.4
LEAST_FORECAST = timedelta(days=60)
"""Share of the history, and least length, that a forecast may take of the time axis."""


def stage_scopes(document: Document) -> list[str]:
    """Stages that have an indicator, in the order of the water."""
    return sorted({entry["scope"] for entry in document["indicators"]} - {"train"})


def main_panels(document: Document, history: History, stages: int) -> list[Panel]:
    """The three indicators: of the train where there is one, else of its stages; pressure drop of each stage."""
    panels = []
    for name, label in INDICATORS.items():
        scopes = [scope for scope in _scopes(stages) if history.of(f"{scope}_{name}") is not None]
        if name != "pressure_drop" and "train" in scopes:
            scopes = ["train"]
        elif len(scopes) > 1:
            scopes = [scope for scope in scopes if scope != "train"]
        judged = _entry(document["indicators"], "train", name) is not None
        if scopes == ["train"] and name == "pressure_drop" and stages > 1 and not judged:
            continue  # of a train of several stages it is no single power of flow: only the model can judge it
        if scopes:
            panels.append(panel(document, history, name, scopes, stages, sentence(label)))
    return panels


def stage_panel(document: Document, history: History, name: str, stages: int) -> Panel | None:
    """One indicator of all stages that have it, when there are at least two."""
    scopes = [scope for scope in _scopes(stages)[1:] if history.of(f"{scope}_{name}") is not None]
    return panel(document, history, name, scopes, stages, sentence(INDICATORS[name])) if len(scopes) > 1 else None


def indicator_panel(document: Document, history: History, name: str, stages: int) -> Panel | None:
    """One indicator of the stages that have it, of the train where none has, and None where nothing is known of it."""
    scopes = [scope for scope in _scopes(stages) if history.of(f"{scope}_{name}") is not None]
    scopes = [scope for scope in scopes if scope != "train"] or scopes
    return panel(document, history, name, scopes, stages, sentence(INDICATORS[name])) if scopes else None


def scope_panels(document: Document, history: History, scope: str, stages: int) -> list[Panel]:
    """Every indicator that is judged of the train or of one stage."""
    return [
        panel(document, history, name, [scope], stages, sentence(label))
        for name, label in INDICATORS.items()
        if history.of(f"{scope}_{name}") is not None and _entry(document["indicators"], scope, name) is not None
    ]


def _scopes(stages: int) -> list[str]:
    return ["train", *(f"stage{n}" for n in range(1, stages + 1))]


def panel(document: Document, history: History, name: str, scopes: Sequence[str], stages: int, title: str) -> Panel:
    """One indicator of some scopes."""
    curves = [_curve(document, history, name, scope, stages) for scope in scopes]
    if len(curves) == 1:
        curves = [replace(curves[0], other=_by_standard(document, name, scopes[0]))]
    if any(entry and not is_judged(entry) for entry in (_entry(document["indicators"], s, name) for s in scopes)):
        title = f"{title}, not corrected for temperature"
    limits = {curve.limit.value for curve in curves if curve.limit}
    if len(limits) > 1:
        curves = [
            replace(curve, limit=replace(curve.limit, text=f"{curve.limit.text}, {curve.label}"))
            if curve.limit
            else curve
            for curve in curves
        ]
    return Panel(title, tuple(curves))


def _curve(document: Document, history: History, name: str, scope: str, stages: int) -> Curve:
    key = f"{scope}_{name}"
    trend = _entry(document["trends"], scope, name)
    indicator = _entry(document["indicators"], scope, name)
    days = history.columns[key]
    aside = history.of(f"set_aside_{key}")
    moving = indicator is not None and indicator["change_per_30_days"] is not None
    forecast = pieces([trend["forecast"]]) if moving and trend and trend.get("forecast") else ()
    return Curve(
        label=scope_words(scope),
        colour=_colour(scope, stages),
        days=days if aside is None else np.where(np.isfinite(aside), np.nan, days),
        aside=aside,
        trend=tuple(p for p in pieces(trend["segments"]) if history.any_between(days, p.start, p.end)) if trend else (),
        forecast=_cut(forecast[0], _forecast_end(document)) if forecast else None,
        limit=_limit(indicator) if indicator and is_judged(indicator) else None,
    )


def _by_standard(document: Document, name: str, scope: str) -> tuple[Piece, ...]:
    """The trend by the standard method, where another one answers."""
    indicator = _entry(document["indicators"], scope, name)
    trend = _entry(document.get("standard", {}).get("trends", []), scope, name)
    if indicator is None or trend is None or indicator.get("method", STANDARD_METHOD) == STANDARD_METHOD:
        return ()
    return pieces(trend["segments"])


def _entry(entries: Sequence[Mapping[str, Any]], scope: str, name: str) -> Mapping[str, Any] | None:
    return next((e for e in entries if e["scope"] == scope and e["name"] == name), None)


def _colour(scope: str, stages: int) -> str:
    return "--permeate" if scope == "train" else f"--pass-{pass_number(int(scope.removeprefix('stage')), stages)}"


def _limit(indicator: Mapping[str, Any]) -> Limit:
    return Limit(indicator["limit"], f"limit {number(indicator['limit'], 2)}", reach_of(indicator))


def reach_of(indicator: Mapping[str, Any]) -> Reach | None:
    """When an indicator reaches its limit, where that could be said."""
    found = indicator.get("reaches_limit")
    if not found:
        return None
    earliest, likely, latest = (_date(found.get(key)) for key in ("earliest", "likely", "latest"))
    if earliest is None:
        return None
    text = days_between(earliest, latest) if latest else f"from {day(earliest)}"
    short = f"{short_day(earliest)} – {short_day(latest)}" if latest else f"from {short_day(earliest)}"
    return Reach(earliest, likely, latest, text, short)


def _date(text: str | None) -> date | None:
    return date.fromisoformat(text[:10]) if text else None


def _last_day(document: Document) -> date:
    return date.fromisoformat(document["as_of"][:10])


def _forecast_end(document: Document) -> date:
    """Where forecasts are cut, so that the past keeps most of the time axis."""
    last = _last_day(document)
    first = _date((document.get("span") or {}).get("first")) or last
    return last + max((last - first) * MOST_FORECAST, LEAST_FORECAST)


def _cut(piece: Piece, end: date) -> Piece:
    """Shorten a straight piece to end no later than a day."""
    if piece.end <= end:
        return piece
    share = (end - piece.start) / (piece.end - piece.start)

    def at(start: float, stop: float) -> float:
        return start + (stop - start) * share

    return replace(
        piece, end=end, end_value=at(piece.start_value, piece.end_value), end_low=at(piece.start_low, piece.end_low),
        end_high=at(piece.start_high, piece.end_high),
    )  # fmt: skip


def timeline(
    document: Document, history: History, events: Sequence[Event], zone: tzinfo, panels: Sequence[Panel]
) -> Timeline:
    """The time axis of all charts: the days that there are, the forecasts, and the reach of the limits."""
    ends = [history.first + timedelta(days=max(history.days - 1, 0)), _last_day(document)]
    curves = [curve for panel in panels for curve in panel.curves]
    ends += [curve.forecast.end for curve in curves if curve.forecast]
    wanted = [c.limit.reach.latest or c.limit.reach.earliest for c in curves if c.limit and c.limit.reach]
    ends += [min(end, _forecast_end(document)) for end in wanted]
    reference = document.get("reference")
    period = (date.fromisoformat(reference["start"]), date.fromisoformat(reference["end"])) if reference else None
    return Timeline(history.first, max(ends), period, marks(events, zone, history.first))


def marks(events: Sequence[Event], zone: tzinfo, first: date) -> tuple[Mark, ...]:
    """Number the events that stand on a chart, oldest first."""
    shown = [(event, event.time.astimezone(zone).date()) for event in sorted(events, key=lambda event: event.time)]
    shown = [(event, day) for event, day in shown if event.kind in MARKED_KINDS and day >= first]
    return tuple(Mark(n, day, event_title(event), event.detail) for n, (event, day) in enumerate(shown, start=1))


def event_title(event: Event) -> str:
    """Kind of an event and where it happened: "Cleaning, stage 2"."""
    return f"{KINDS[event.kind]}, stage {event.stage}" if event.stage else KINDS[event.kind]
