"""Indicators, trends, runs and steps as parts of a document."""

import math
from typing import Any

from analytics.decisions.cleaning_history import JudgedCleaning
from analytics.judgement.explained import ExplainedStep, step_words
from analytics.judgement.limits import Indicator
from analytics.judgement.run_facts import RunFact
from analytics.judgement.trend import Segment, Trend
from server.assessments.grounds import today_document
from server.assessments.plain import day_text, exact, number


def run_fact_document(one: RunFact) -> dict[str, Any]:
    """What a run did to one indicator."""
    numbers = (
        "start_level", "start_low", "start_high", "end_level", "lasting_loss", "given_back",
    )  # fmt: skip
    per_30_days = {"change_per_30_days": one.slope, "change_low": one.slope_low, "change_high": one.slope_high}
    return {
        "scope": one.scope,
        "name": one.name,
        "start": day_text(one.start),
        "end": day_text(one.end),
        "opened_by": one.opened_by,
        "days": one.days,
        "growth": one.growth,
        "valid": one.valid,
        "why": one.why,
        "lasting_loss_why": one.lasting_loss_why,
        "given_back_why": one.given_back_why,
        **{name: number(getattr(one, name)) for name in numbers},
        **{name: number(30 * slope) for name, slope in per_30_days.items()},
    }


def cleaning_document(one: JudgedCleaning) -> dict[str, Any]:
    """What became of one cleaning, by the indicator that had the best reason for it."""
    governing = one.result.governing
    before, after, share = (
        (governing.before, governing.after, governing.efficiency) if governing else (None, None, None)
    )
    return {
        "day": day_text(one.days.first),
        "stage": one.days.stage,
        "result": one.result.quality,
        "scope": governing.scope if governing else "",
        "name": governing.name if governing else "",
        "before": number(before.value if before else None),
        "after": number(after.value if after else None),
        "given_back": number(share.value if share else None),
        "given_back_low": number(share.low if share else None),
        "given_back_high": number(share.high if share else None),
        "days_past_limit": one.delay_days,
    }


def step_document(one: ExplainedStep) -> dict[str, Any]:
    """A day from which all stands elsewhere."""
    return {
        "day": day_text(one.step.day),
        "stage": one.stage,
        "strength": number(one.step.strength),
        "moved": [{"what": jump.column, "change": number(math.expm1(jump.size))} for jump in one.moved],
        "explained_by": one.explained_by,
        "answered": one.answered,
        "likely": one.likely,
        "why": one.why,
        "words": step_words(one),
    }


def indicator_document(indicator: Indicator, method: str) -> dict[str, Any]:
    """Where an indicator stands, by one method."""
    reach = indicator.reaches_limit
    return {
        "scope": indicator.scope,
        "name": indicator.name,
        "method": method,
        "value": number(indicator.value),
        "low": number(indicator.low),
        "high": number(indicator.high),
        "change_per_30_days": number(indicator.change_per_30_days),
        "change_low": number(indicator.change_low),
        "change_high": number(indicator.change_high),
        "warn": indicator.warn,
        "limit": indicator.limit,
        "too_late": indicator.too_late,
        "season_allowance": exact(indicator.allowance),
        "closure": exact(indicator.closure),
        "standing": indicator.standing,
        "reaches_limit": None
        if reach is None
        else {"earliest": day_text(reach.earliest), "likely": day_text(reach.likely), "latest": day_text(reach.latest)},
        "temperature_corrected": indicator.temperature_corrected,
        "days": indicator.days,
        "days_needed": indicator.days_needed,
    }


def trend_document(trend: Trend) -> dict[str, Any]:
    """A trend with its pieces, and what of it is true today."""
    return {
        "scope": trend.scope,
        "name": trend.name,
        "segments": [_segment(segment) for segment in trend.segments],
        "forecast": None if trend.forecast is None else _segment(trend.forecast),
        "today": today_document(trend),
    }


def _segment(segment: Segment) -> dict[str, Any]:
    return {
        "start": day_text(segment.start),
        "end": day_text(segment.end),
        **{
            name: number(getattr(segment, name))
            for name in ("value_start", "value_end", "low_start", "low_end", "high_start", "high_end")
        },
    }
