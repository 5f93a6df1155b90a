"""What a verdict was worked out from, as a part of a document, and read back from it."""

from collections.abc import Mapping
from dataclasses import asdict, fields
from datetime import date
from typing import Any

from analytics.judgement.grounds import Danger, Grounds
from analytics.judgement.limits import Indicator, judge_indicator
from analytics.judgement.meters import Meter
from analytics.judgement.trend import Trend
from analytics.plant import Limits
from server.assessments.plain import day_text, exact

Document = Mapping[str, Any]
BIASES = ("bias", "low", "high")
LEVELS_AND_SLOPES = ("value", "low", "high", "slope", "slope_low", "slope_high", "growth")


def grounds_document(grounds: Grounds) -> dict[str, Any]:
    """Everything beside the indicators, by the names of `Grounds`."""
    doubted = grounds.doubted
    return asdict(grounds) | {
        "today": day_text(grounds.today),
        "dangers": [asdict(one) for one in grounds.dangers],
        "meters": [_meter_document(one) for one in grounds.meters],
        "doubted": None if doubted is None else _meter_document(doubted),
        "nothing": exact(grounds.nothing),
    }


def _meter_document(meter: Meter) -> dict[str, Any]:
    return asdict(meter) | {name: exact(getattr(meter, name)) for name in BIASES}


def grounds_of(document: Document) -> Grounds | None:
    """The same, read back; None of an answer that was kept without."""
    kept = document["verdict"].get("grounds")
    if kept is None:
        return None
    return Grounds(
        **kept
        | {
            "today": date.fromisoformat(kept["today"]),
            "dangers": tuple(Danger(**one) for one in kept["dangers"]),
            "meters": tuple(_meter(one) for one in kept["meters"]),
            "doubted": kept["doubted"] and _meter(kept["doubted"]),
        }
    )


def today_document(trend: Trend) -> dict[str, Any]:
    """Level and slope of a trend to so many digits that an indicator can be judged from them again."""
    return {
        **{name: exact(getattr(trend, name)) for name in LEVELS_AND_SLOPES},
        "days": trend.days,
        "first": day_text(trend.first),
        "last": day_text(trend.last),
        "recent": [exact(level) for level in trend.recent],
    }


def indicators_under(document: Document, limits: Limits) -> list[Indicator]:
    """The indicators of a document, judged by these limits."""
    trends = {(one["scope"], one["name"]): one for one in document["trends"]}
    return [
        judge_indicator(
            _trend(trends[entry["scope"], entry["name"]]),
            limits,
            temperature_corrected=entry["temperature_corrected"],
            drift=entry["season_allowance"],
            closure=entry["closure"],
        )
        for entry in document["indicators"]
    ]


def limits_of(document: Document) -> Limits:
    """The limits that the indicators of a document were judged by, the usual ones for the rest."""
    known = {field.name for field in fields(Limits)}
    found = {
        f"{entry['name']}_{kind}": entry[key]
        for entry in document["indicators"]
        for kind, key in (("warn", "warn"), ("clean", "limit"), ("too_late", "too_late"))
    }
    return Limits(**{name: value for name, value in found.items() if name in known})


def _meter(kept: Mapping[str, Any]) -> Meter:
    return Meter(**dict(kept) | {name: _number(kept[name]) for name in BIASES})


def _trend(kept: Mapping[str, Any]) -> Trend:
    today = kept["today"]
    numbers: dict[str, Any] = {name: _number(today[name]) for name in LEVELS_AND_SLOPES}
    return Trend(
        scope=kept["scope"],
        name=kept["name"],
        days=today["days"],
        first=date.fromisoformat(today["first"]),
        last=date.fromisoformat(today["last"]),
        segments=(),
        forecast=None,
        recent=tuple(today["recent"]),
        **numbers,
    )


def _number(kept: float | None) -> float:
    return float("nan") if kept is None else kept
