"""An assessment as a document: the JSON of `assess --json`, of the store and of the pages (keys: docs/files.md)."""

import math
from collections.abc import Mapping
from dataclasses import asdict
from datetime import UTC, date, datetime
from typing import Any

import numpy as np
import pandas as pd

from analytics.assess import MEMBRANE_MODEL, STANDARD_METHOD, Assessment
from analytics.condition.day_table import RAW
from analytics.condition.helpful_meter import most_helpful_meter
from analytics.condition.standard import INDICATORS
from analytics.decisions.cleaning_window import CleaningWindow
from analytics.judgement.causes import Cause
from analytics.judgement.explained import ExplainedStep, step_words
from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Equation
from analytics.judgement.observed import Seen
from analytics.judgement.run_facts import RunFact
from analytics.judgement.separating import separating_check
from analytics.judgement.trend import Segment, Trend

FORMAT = "skidbook-assessment-1"
AS_READ = ("permeate_flow_m3h", "feed_pressure_bar", "feed_temperature_c")
"""Columns whose daily medians stand in the series as they were read, beside the normalized ones."""


def assessment_document(assessment: Assessment, *, series: bool) -> dict[str, Any]:
    """The assessment as plain dictionaries, lists, numbers and text; NaN is null.

    Parameters
    ----------
    assessment : Assessment
    series : bool
        Also give every indicator by day.
    """
    span = assessment.span
    document: dict[str, Any] = {
        "format": FORMAT,
        "version": assessment.version,
        "method": assessment.method,
        "site": assessment.plant.site.name,
        "train": assessment.plant.train.name,
        "as_of": _instant(assessment.as_of),
        "span": None if span is None else {"first": _instant(span[0]), "last": _instant(span[1])},
        "verdict": {
            "level": assessment.verdict.level,
            "headline": assessment.verdict.headline,
            "reasons": list(assessment.verdict.reasons),
        },
        "reference": _reference(assessment),
        "indicators": [
            _indicator(indicator, _method(assessment, indicator)) for indicator in assessment.indicators
        ],
        "trends": [_trend(trend) for trend in assessment.trends],
        "runs": [
            {"start": _day(run.start), "end": _day(run.end), "opened_by": run.opened_by, "stage": run.stage}
            for run in assessment.runs
        ],
        "run_facts": [_run_fact(one) for one in assessment.run_facts],
        "steps": [_step(one) for one in assessment.steps],
        "standard": {
            "indicators": [_indicator(indicator, STANDARD_METHOD) for indicator in assessment.by_standard.indicators],
            "trends": [_trend(trend) for trend in assessment.by_standard.trends],
        },
        "disagreement": assessment.disagreement,
        "learned": [
            {"scope": one.scope, "what": one.what, "unit": one.unit, "before": _number(one.before),
             "after": _number(one.after), "error": _number(one.error)}
            for one in (assessment.model.learned if assessment.model else ())
        ],
        "causes": [_cause(cause) for cause in assessment.causes],
        "separating_check": None if (check := separating_check(assessment.causes)) is None else asdict(check),
        "observed": _observed(assessment.seen),
        "meters": [
            {"quantity": m.quantity, "bias": _number(m.bias), "low": _number(m.low), "high": _number(m.high),
             "suspect": m.suspect, "evidence": m.evidence}
            for m in assessment.meters
        ],
        "cleaning": _cleaning(assessment.cleaning),
        "balances": [_balance(equation) for equation in assessment.balances],
        "readings": {
            "total": assessment.counts.total,
            "used": assessment.counts.used,
            "set_aside": dict(assessment.counts.set_aside),
            "values_set_aside": {name: dict(by) for name, by in assessment.counts.values_set_aside.items()},
        },
        "missing": [{"quantity": m.quantity, "effect": m.effect} for m in assessment.missing],
        "helpful_meter": _helpful_meter(assessment),
        "notes": list(assessment.notes),
    }  # fmt: skip
    if series:
        document["series"] = daily_series(assessment)
    return document


def _cause(one: Cause) -> dict[str, Any]:
    return {
        "cause": one.cause,
        "stage": one.stage,
        "probability": _number(one.probability),
        "evidence": list(one.evidence),
        "next_check": one.next_check,
        "minutes": one.minutes,
        "remedy": one.remedy,
    }


def _observed(seen: Seen | None) -> list[dict[str, Any]]:
    if seen is None:
        return []
    rows = zip(seen.names, seen.changes.tolist(), seen.errors.tolist(), strict=True)
    return [
        {"place": place, "what": what, "change": _number(change), "error": _number(error)}
        for (place, what), change, error in rows
    ]


def _helpful_meter(assessment: Assessment) -> dict[str, Any] | None:
    judged = {(one.scope, one.name) for one in assessment.indicators}
    found = most_helpful_meter(assessment.plant, assessment.log.levels.metered, judged)
    if found is None:
        return None
    gains = [{"scope": scope, "name": name} for scope, name in found.gains]
    return {"column": found.column, "gains": gains, "next_best": found.next_best, "sentence": found.sentence}


def _balance(equation: Equation) -> dict[str, Any]:
    drift = equation.drift
    return {
        "name": equation.name,
        "drift": _number(drift.now),
        "error": _number(drift.error),
        "days": drift.days,
        "tolerance": equation.tolerance,
        "holds": not equation.broken,
        "meters": list(equation.moves),
    }


def _run_fact(one: RunFact) -> dict[str, Any]:
    numbers = (
        "start_level", "start_low", "start_high", "end_level", "lasting_loss", "given_back",
    )  # fmt: skip
    per_30_days = {"change_per_30_days": one.slope, "change_low": one.slope_low, "change_high": one.slope_high}
    return {
        "scope": one.scope,
        "name": one.name,
        "start": _day(one.start),
        "end": _day(one.end),
        "opened_by": one.opened_by,
        "days": one.days,
        "growth": one.growth,
        "valid": one.valid,
        "why": one.why,
        "lasting_loss_why": one.lasting_loss_why,
        "given_back_why": one.given_back_why,
        **{name: _number(getattr(one, name)) for name in numbers},
        **{name: _number(30 * slope) for name, slope in per_30_days.items()},
    }


def _step(one: ExplainedStep) -> dict[str, Any]:
    return {
        "day": _day(one.step.day),
        "stage": one.stage,
        "strength": _number(one.step.strength),
        "moved": [{"what": jump.column, "change": _number(math.expm1(jump.size))} for jump in one.moved],
        "explained_by": one.explained_by,
        "answered": one.answered,
        "likely": one.likely,
        "why": one.why,
        "words": step_words(one),
    }


def _cleaning(window: CleaningWindow) -> dict[str, Any]:
    return {
        "advice": window.advice,
        "scope": window.scope,
        "name": window.name,
        "stage": window.stage,
        "earliest": _day(window.earliest),
        "aim": _day(window.aim),
        "latest": _day(window.latest),
        "cause": window.cause,
        "reasons": list(window.reasons),
    }


def daily_series(assessment: Assessment) -> dict[str, Any]:
    """Every indicator by day and scope; a day out of line, or without an answer, is null.

    What a day is worth by the membrane model is its smooth level, which the days before and after it hold up and which
    breaks at interventions and steps; `unsmoothed` has the day by itself, `error` the level's standard error. By the
    standard method it is the median of the day. The days out of line stand in `set_aside` as [place in `day`, value by
    itself]; `raw` holds medians of used readings as read.
    """
    daily, aside, model = assessment.daily, assessment.daily_set_aside, assessment.model
    result: dict[str, Any] = {"day": [_day(day) for day in daily.index]}
    alone: dict[str, list[float | None]] = {}
    errors: dict[str, list[float | None]] = {}
    for scope in assessment.plant.train.scopes:
        result[scope] = {}
        for name in INDICATORS:
            column = f"{scope}_{name}"
            if column not in daily.columns:
                continue
            values = daily[column].mask(aside[column])
            if model is not None and column in assessment.modelled:
                alone[column] = _numbers(values)
                errors[column] = _numbers(model.error[column].reindex(daily.index).where(values.notna()))
                values = model.level[column].reindex(daily.index).where(values.notna())
            result[scope][name] = _numbers(values)
    result |= {"unsmoothed": alone, "error": errors, "raw": _as_read(assessment)}
    result["set_aside"] = {
        name: [[int(n), _number(daily[name].iloc[n])] for n in out.to_numpy().nonzero()[0]]
        for name, out in aside.items()
        if out.any()
    }
    return result


def _as_read(assessment: Assessment) -> dict[str, list[float | None]]:
    by_day = assessment.days.reindex(assessment.daily.index)
    return {name: _numbers(by_day[f"{RAW}{name}"]) for name in AS_READ if f"{RAW}{name}" in by_day.columns}


def _reference(assessment: Assessment) -> dict[str, Any] | None:
    period = assessment.reference
    if period is None:
        return None
    train = assessment.log.conditions[0]
    return {
        "start": _day(period.start),
        "end": _day(period.end),
        "days": period.days,
        "readings": period.readings,
        "chosen": period.chosen,
        "conditions": _known(train.values),
        "stages": {conditions.scope: _known(conditions.values) for conditions in assessment.log.conditions[1:]},
    }


def _known(values: Mapping[str, float]) -> dict[str, float]:
    return {name: float(f"{value:.8g}") for name, value in values.items() if math.isfinite(value)}


def _method(assessment: Assessment, indicator: Indicator) -> str:
    modelled = f"{indicator.scope}_{indicator.name}" in assessment.modelled
    return MEMBRANE_MODEL if modelled else STANDARD_METHOD


def _indicator(indicator: Indicator, method: str) -> dict[str, Any]:
    reach = indicator.reaches_limit
    return {
        "scope": indicator.scope,
        "name": indicator.name,
        "method": method,
        "value": _number(indicator.value),
        "low": _number(indicator.low),
        "high": _number(indicator.high),
        "change_per_30_days": _number(indicator.change_per_30_days),
        "change_low": _number(indicator.change_low),
        "change_high": _number(indicator.change_high),
        "warn": indicator.warn,
        "limit": indicator.limit,
        "too_late": indicator.too_late,
        "season_allowance": _number(indicator.allowance),
        "standing": indicator.standing,
        "reaches_limit": None
        if reach is None
        else {"earliest": _day(reach.earliest), "likely": _day(reach.likely), "latest": _day(reach.latest)},
        "temperature_corrected": indicator.temperature_corrected,
        "days": indicator.days,
        "days_needed": indicator.days_needed,
    }


def _trend(trend: Trend) -> dict[str, Any]:
    return {
        "scope": trend.scope,
        "name": trend.name,
        "segments": [_segment(segment) for segment in trend.segments],
        "forecast": None if trend.forecast is None else _segment(trend.forecast),
    }


def _segment(segment: Segment) -> dict[str, Any]:
    return {
        "start": _day(segment.start),
        "end": _day(segment.end),
        **{
            name: _number(getattr(segment, name))
            for name in ("value_start", "value_end", "low_start", "low_end", "high_start", "high_end")
        },
    }


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(float(value), 5)


def _numbers(series: pd.Series) -> list[float | None]:
    values = series.to_numpy(dtype=np.float64)
    rounded = np.round(values, 5).astype(object)
    rounded[~np.isfinite(values)] = None
    return list(rounded.tolist())


def _instant(value: datetime) -> str:
    return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _day(value: date | datetime | None) -> str | None:
    return None if value is None else value.strftime("%Y-%m-%d")
