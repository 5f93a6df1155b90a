"""What the verdict would be with other limits: worked out from the stored answer, nothing is changed."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from analytics.judgement.limits import Indicator, standing
from analytics.judgement.trend import Trend, reaches
from analytics.judgement.verdict import Verdict, no_verdict, reach_verdict

Document = Mapping[str, Any]
WARN_SHARE = 0.7
"""Of the way to the limit: where a warning stands beside it, as in the defaults (0.93 beside 0.90). [-]"""
NAN = float("nan")


@dataclass(frozen=True)
class Slider:
    """One limit that can be tried: per cent of change from the reference."""

    name: str
    label: str
    least: int
    most: int
    value: int


SLIDERS = (
    Slider("permeate_flow", "Loss of permeate flow", 5, 30, 10),
    Slider("salt_passage", "Rise of salt passage", 5, 60, 15),
    Slider("pressure_drop", "Rise of pressure drop", 5, 60, 15),
)


def sliders_of(document: Document, asked: Mapping[str, str]) -> tuple[Slider, ...]:
    """The sliders at what is asked for, else at the limits of the plant."""
    now = {entry["name"]: round(100 * abs(entry["limit"] - 1)) for entry in document["indicators"]}
    return tuple(replace(one, value=_asked(asked.get(one.name, ""), one, now.get(one.name))) for one in SLIDERS)


def _asked(text: str, slider: Slider, now: int | None) -> int:
    try:
        value = int(text)
    except ValueError:
        value = now if now is not None else slider.value
    return min(max(value, slider.least), slider.most)


def verdict_with(document: Document, sliders: tuple[Slider, ...]) -> Verdict:
    """The verdict with other limits, from levels and slopes as they were found; meters and dangers left out."""
    if not document["indicators"]:
        return no_verdict("nothing could be compared")
    limits = {one.name: one.value / 100 for one in sliders}
    today = date.fromisoformat(document["as_of"][:10])
    return reach_verdict(
        [_indicator(entry, limits[entry["name"]], today) for entry in document["indicators"]], today=today
    )


def _indicator(entry: Mapping[str, Any], change: float, today: date) -> Indicator:
    sign = -1 if entry["limit"] < 1 else 1
    limit, warn = 1 + sign * change, 1 + sign * WARN_SHARE * change
    too_late = min(entry["too_late"], limit) if sign < 0 else max(entry["too_late"], limit)
    allowance = entry.get("season_allowance") or 0.0
    moves = entry["change_per_30_days"] is not None
    slope, slowest, fastest = (
        entry[key] / 30 if moves else NAN for key in ("change_per_30_days", "change_low", "change_high")
    )
    trend = Trend(
        scope=entry["scope"],
        name=entry["name"],
        value=entry["value"],
        low=entry["low"],
        high=entry["high"],
        slope=slope,
        slope_low=slowest,
        slope_high=fastest,
        days=entry["days"],
        first=today,
        last=today,
        segments=(),
        forecast=None,
    )
    return Indicator(
        scope=entry["scope"],
        name=entry["name"],
        value=entry["value"],
        low=entry["low"],
        high=entry["high"],
        change_per_30_days=entry["change_per_30_days"],
        change_low=entry["change_low"],
        change_high=entry["change_high"],
        warn=warn,
        limit=limit,
        too_late=too_late,
        allowance=allowance,
        standing=standing(entry["value"] - allowance, warn=warn, clean=limit, too_late=too_late),
        reaches_limit=reaches(trend, limit) if moves else None,
        temperature_corrected=entry["temperature_corrected"],
        days=entry["days"],
    )
