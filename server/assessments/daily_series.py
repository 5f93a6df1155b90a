"""Every indicator by day, for the charts and for whoever asks for the series."""

from typing import Any

from analytics.assessment import Assessment
from analytics.condition.day_table import RAW
from analytics.condition.standard import INDICATORS
from server.assessments.plain import day_text, number, numbers

AS_READ = ("permeate_flow_m3h", "feed_pressure_bar", "feed_temperature_c")
"""Columns whose daily medians stand in the series as they were read, beside the normalized ones."""


def daily_series(assessment: Assessment) -> dict[str, Any]:
    """Every indicator by day and scope; a day out of line, or without an answer, is null.

    What a day is worth by the membrane model is its smooth level, which the days before and after it hold up and which
    breaks at interventions and steps; `unsmoothed` has the day by itself, `error` the level's standard error. By the
    standard method it is the median of the day. The days out of line stand in `set_aside` as [place in `day`, value by
    itself]; `raw` holds medians of used readings as read.
    """
    daily, aside, model = assessment.daily, assessment.daily_set_aside, assessment.model
    result: dict[str, Any] = {"day": [day_text(day) for day in daily.index]}
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
                alone[column] = numbers(values)
                errors[column] = numbers(model.error[column].reindex(daily.index).where(values.notna()))
                values = model.level[column].reindex(daily.index).where(values.notna())
            result[scope][name] = numbers(values)
    result |= {"unsmoothed": alone, "error": errors, "raw": _as_read(assessment)}
    result["set_aside"] = {
        name: [[int(n), number(daily[name].iloc[n])] for n in out.to_numpy().nonzero()[0]]
        for name, out in aside.items()
        if out.any()
    }
    return result


def _as_read(assessment: Assessment) -> dict[str, list[float | None]]:
    by_day = assessment.days.reindex(assessment.daily.index)
    return {name: numbers(by_day[f"{RAW}{name}"]) for name in AS_READ if f"{RAW}{name}" in by_day.columns}
