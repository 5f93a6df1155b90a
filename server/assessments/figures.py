"""Key figures: the indicators that matter, each with its interval, its limit, and where it stands between them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.assessments.levels import INDICATORS, SHORT_INDICATORS, scope_words
from server.display import THIN, number, percent_change, sentence, signed

SCALE_FROM, SCALE_TO = -0.35, 1.35
"""Ends of the small scale of a figure, in allowances: 0 is the reference, 1 the limit."""


@dataclass(frozen=True)
class Scale:
    """Places on the small scale of a figure, from its left end. [%]"""

    reference: float
    limit: float
    low: float
    high: float
    now: float


@dataclass(frozen=True)
class KeyFigure:
    """One indicator in large type; `over` when it is past its warning, without a scale when it is not judged."""

    title: str
    value: str
    change: str
    interval: str
    limit: str
    trend: str
    over: bool
    scale: Scale | None


def key_figures(document: Mapping[str, Any]) -> tuple[KeyFigure, ...]:
    """The indicators that matter, in large type."""
    return tuple(_figure(entry) for entry in shown_indicators(document["indicators"]))


def shown_indicators(entries: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Flow and salt passage of the train (of its stages where there is no train), pressure drop of each stage."""
    shown: list[Mapping[str, Any]] = []
    for name in INDICATORS:
        of_train = [e for e in entries if e["name"] == name and e["scope"] == "train"]
        of_stages = [e for e in entries if e["name"] == name and e["scope"] != "train"]
        shown += of_train or of_stages if name != "pressure_drop" else of_stages or of_train
    return shown


def figure_title(entry: Mapping[str, Any]) -> str:
    """Such as "Permeate flow" of the train, or "Pressure drop, stage 1"."""
    where = "" if entry["scope"] == "train" else f", {scope_words(entry['scope'])}"
    return f"{sentence(INDICATORS[entry['name']])}{where}"


def _figure(entry: Mapping[str, Any]) -> KeyFigure:
    return KeyFigure(
        title=figure_title(entry),
        value=number(entry["value"], 2),
        change=percent_change(entry["value"]),
        interval=f"{number(entry['low'], 2)} to {number(entry['high'], 2)}",
        limit=number(entry["limit"], 2),
        trend=trend_words(entry),
        over=is_over(entry),
        scale=_scale(entry) if is_judged(entry) else None,
    )


def trend_words(entry: Mapping[str, Any]) -> str:
    """Change in 30 days as points of a hundred, or that none can be told."""
    if not entry["temperature_corrected"]:
        return "not corrected for temperature"
    if entry["change_per_30_days"] is None:
        return "too few days for a trend"
    if entry["change_low"] * entry["change_high"] <= 0:
        return "no clear change"
    return f"{signed(100 * entry['change_per_30_days'], 1)}{THIN}% in 30 days"


def _scale(entry: Mapping[str, Any]) -> Scale:
    def place(ratio: float) -> float:
        allowance = float((ratio - 1) / (entry["limit"] - 1))
        share = (allowance - SCALE_FROM) / (SCALE_TO - SCALE_FROM)
        return round(100 * min(max(share, 0.0), 1.0), 2)

    low, high = sorted((place(entry["low"]), place(entry["high"])))
    return Scale(place(1.0), place(entry["limit"]), low, high, place(entry["value"]))


def stage_attention(document: Mapping[str, Any]) -> dict[int, str]:
    """Stages past a warning, with what is past it: "flow −19 %; salt passage +22 %"."""
    found: dict[int, list[str]] = {}
    for entry in document["indicators"]:
        if entry["scope"] == "train" or not is_over(entry):
            continue
        words = f"{SHORT_INDICATORS[entry['name']]} {percent_change(entry['value'], 0)}"
        found.setdefault(int(entry["scope"].removeprefix("stage")), []).append(words)
    return {stage: "; ".join(words) for stage, words in sorted(found.items())}


def is_judged(entry: Mapping[str, Any]) -> bool:
    """Flow and salt passage are judged only when they are corrected for temperature."""
    return bool(entry["temperature_corrected"]) or entry["name"] == "pressure_drop"


def is_over(entry: Mapping[str, Any]) -> bool:
    """Whether an indicator is past its warning, as far as it can be judged."""
    return is_judged(entry) and entry.get("standing", "fine") != "fine"
