"""An assessment as a document: the JSON of `assess --json`, of the store and of the pages (keys: docs/files.md)."""

import math
from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from analytics.assess import MEMBRANE_MODEL, STANDARD_METHOD
from analytics.assessment import Assessment
from analytics.condition.day_table import Counts
from analytics.condition.helpful_meter import most_helpful_meter
from analytics.decisions.calibrations import reminders
from analytics.decisions.cleaning_window import CleaningWindow
from analytics.judgement.cause import Cause
from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Equation
from analytics.judgement.observed import Seen
from analytics.judgement.separating import separating_check
from analytics.judgement.thermometer import ThermometerCheck
from server.assessments.daily_series import daily_series
from server.assessments.grounds import grounds_document
from server.assessments.judged_document import (
    cleaning_document,
    indicator_document,
    run_fact_document,
    step_document,
    trend_document,
)
from server.assessments.plain import day_text, instant, number

FORMAT = "skidbook-assessment-1"


def assessment_document(assessment: Assessment, *, series: bool) -> dict[str, Any]:
    """The assessment as plain dictionaries, lists, numbers and text; NaN is null.

    Parameters
    ----------
    assessment : Assessment
    series : bool
        Also give every indicator by day.
    """
    document = {
        "format": FORMAT,
        "version": assessment.version,
        "method": assessment.method,
        "site": assessment.plant.site.name,
        "train": assessment.plant.train.name,
        "as_of": instant(assessment.as_of),
        "span": _span(assessment.span),
        "verdict": _verdict(assessment),
        "reference": _reference(assessment),
        **_membranes(assessment),
        **_causes(assessment),
        "cleaning": _cleaning(assessment.cleaning),
        "cleanings": [cleaning_document(one) for one in assessment.cleanings.cleanings],
        "balances": [_balance(equation) for equation in assessment.balances],
        "readings": _readings(assessment.counts),
        "missing": [{"quantity": m.quantity, "effect": m.effect} for m in assessment.missing],
        "helpful_meter": _helpful_meter(assessment),
        "notes": list(assessment.notes),
    }
    return document | ({"series": daily_series(assessment)} if series else {})


def _span(span: tuple[datetime, datetime] | None) -> dict[str, str] | None:
    return None if span is None else {"first": instant(span[0]), "last": instant(span[1])}


def _verdict(assessment: Assessment) -> dict[str, Any]:
    return {
        "level": assessment.verdict.level,
        "headline": assessment.verdict.headline,
        "reasons": list(assessment.verdict.reasons),
        "grounds": grounds_document(assessment.grounds),
    }


def _membranes(assessment: Assessment) -> dict[str, Any]:
    """What the membranes did, by both methods."""
    by_standard = assessment.by_standard
    return {
        "indicators": [indicator_document(one, _method(assessment, one)) for one in assessment.indicators],
        "trends": [trend_document(trend) for trend in assessment.trends],
        "runs": [
            {"start": day_text(run.start), "end": day_text(run.end), "opened_by": run.opened_by, "stage": run.stage}
            for run in assessment.runs
        ],
        "run_facts": [run_fact_document(one) for one in assessment.run_facts],
        "steps": [step_document(one) for one in assessment.steps],
        "standard": {
            "indicators": [indicator_document(one, STANDARD_METHOD) for one in by_standard.indicators],
            "trends": [trend_document(trend) for trend in by_standard.trends],
        },
        "disagreement": assessment.disagreement,
        "learned": [
            {"scope": one.scope, "what": one.what, "unit": one.unit, "before": number(one.before),
             "after": number(one.after), "error": number(one.error)}
            for one in (assessment.model.learned if assessment.model else ())
        ],
    }  # fmt: skip


def _causes(assessment: Assessment) -> dict[str, Any]:
    """What may have caused it, the meters among that."""
    check = separating_check(assessment.causes)
    return {
        "causes": [_cause(cause) for cause in assessment.causes],
        "separating_check": None if check is None else asdict(check),
        "observed": _observed(assessment.seen),
        "meters": [
            {"quantity": m.quantity, "bias": number(m.bias), "low": number(m.low), "high": number(m.high),
             "suspect": m.suspect, "evidence": m.evidence, "reading_c": number(m.reading_c)}
            for m in assessment.meters
        ],
        "thermometer": _thermometer(assessment.thermometer),
        "calibrations_due": list(reminders(assessment.calibrations)),
    }  # fmt: skip


def _thermometer(found: ThermometerCheck) -> dict[str, Any]:
    departure, following = found.departure, found.following
    return {
        "departure_c": None if departure is None else number(departure.degrees),
        "departs": departure is not None and departure.stands_apart,
        "follows_per_c": None if following is None else number(following.per_degree),
        "unknown": found.unknown,
        "sentences": [one.words for one in (departure, following) if one is not None],
    }


def _readings(counts: Counts) -> dict[str, Any]:
    return {
        "total": counts.total,
        "used": counts.used,
        "set_aside": dict(counts.set_aside),
        "values_set_aside": {name: dict(by) for name, by in counts.values_set_aside.items()},
    }


def _cause(one: Cause) -> dict[str, Any]:
    return {
        "cause": one.cause,
        "stage": one.stage,
        "probability": number(one.probability),
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
        {"place": place, "what": what, "change": number(change), "error": number(error)}
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
        "drift": number(drift.now),
        "error": number(drift.error),
        "days": drift.days,
        "tolerance": equation.tolerance,
        "holds": not equation.broken,
        "meters": list(equation.moves),
    }


def _cleaning(window: CleaningWindow) -> dict[str, Any]:
    return {
        "advice": window.advice,
        "scope": window.scope,
        "name": window.name,
        "stage": window.stage,
        "earliest": day_text(window.earliest),
        "aim": day_text(window.aim),
        "latest": day_text(window.latest),
        "cause": window.cause,
        "reasons": list(window.reasons),
    }


def _reference(assessment: Assessment) -> dict[str, Any] | None:
    period = assessment.reference
    if period is None:
        return None
    train = assessment.log.conditions[0]
    return {
        "start": day_text(period.start),
        "end": day_text(period.end),
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
