"""Days and judgement by the best method that the data allow, and by the standard method alone."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.condition.daily import days_out_of_line
from analytics.condition.day_table import TEMPERATURE, parameter_days
from analytics.condition.fit import StageFit
from analytics.condition.membrane_model import ModelDays, model_days
from analytics.condition.meter_noise import meter_noise
from analytics.condition.normalized import NormalizedLog
from analytics.condition.reference_run import ReferenceTrain
from analytics.condition.standard_drift import Waters, standard_drift
from analytics.events import Event
from analytics.judgement.closure import beyond_use
from analytics.judgement.disagreement import explain, largest_difference
from analytics.judgement.explained import ExplainedStep, as_events, local_day
from analytics.judgement.judged import Judged, describe_runs, judge_days
from analytics.judgement.log_steps import steps_of_log
from analytics.judgement.new_elements import NewReference, over_new_elements
from analytics.judgement.observed import osmotic_shares
from analytics.judgement.run_facts import RunFact
from analytics.judgement.season import Season, recent_season

DISAGREEMENT_DAYS = 10
"""Days whose medians stand for today where the two methods are compared; common practice, no source."""
STANDARD_PREFIX = "standard_"


@dataclass(frozen=True)
class BothMethods:
    """Days and judgement by the best method for each indicator, and by the standard method alone; `run_facts` are of
    the best."""

    daily: pd.DataFrame
    aside: pd.DataFrame
    model: ModelDays | None
    modelled: tuple[str, ...]
    steps: tuple[ExplainedStep, ...]
    judged: Judged
    by_standard: Judged
    run_facts: tuple[RunFact, ...]
    references: tuple[NewReference, ...]
    beyond_use: tuple[str, ...]


def both_methods(
    log: NormalizedLog, fits: tuple[StageFit, ...], days: pd.DataFrame, events: tuple[Event, ...]
) -> BothMethods:
    """Judge each indicator by the model where it has an answer, and all by the standard method beside.

    Parameters
    ----------
    log : NormalizedLog
    fits : tuple of StageFit
        Empty where the model has no answer.
    days : DataFrame
        `used_days` of the table of days.
    events : tuple of Event
        Steps that nobody logged are found here and split the runs, too.

    Returns
    -------
    BothMethods
    """
    by_hand = [name for name in log.indicators if name in days.columns]
    standard = days[[f"{name}{part}" for part in ("", "_spread", "_count") for name in by_hand]]
    model = _model(log, fits, days, events)
    modelled = () if model is None else tuple(str(name) for name in model.daily.columns)
    daily = _best(standard, model, modelled)
    names = [*by_hand, *(name for name in modelled if name not in by_hand)]
    aside = pd.DataFrame({name: days_out_of_line(daily[name]) for name in names}, index=daily.index)
    osmotic = osmotic_shares(log.conditions)
    beyond, beyond_standard = (beyond_use(names, known, osmotic) for known in (modelled, ()))
    told = [name for name in names if name not in beyond]
    steps = steps_of_log(days, daily[told].mask(aside), events, log.plant.site.timezone)
    breaks = (*events, *as_events(steps, log.plant.site.timezone))
    if steps and model is not None:
        again = _model(log, fits, days, breaks)
        model = again if again is not None and set(modelled) <= set(again.daily.columns) else model
    references: tuple[NewReference, ...] = ()
    if log.reference is not None:
        after = pd.Timestamp(log.reference.end)
        renewed = over_new_elements(standard, model, events, log.plant, names=by_hand, after=after)
        standard, model, references = renewed.standard, renewed.model, renewed.references
    daily = _best(standard, model, modelled)
    in_line = daily[told].mask(aside)
    judged = _judged(log, days, in_line, breaks, model, modelled)
    corrected = log.balance.feed_temperature_c is not None
    facts = describe_runs(in_line, judged.trends, log.plant, breaks, temperature_corrected=corrected)
    told_by_standard = [name for name in by_hand if name not in beyond_standard]
    by_standard = _judged(log, days, standard[told_by_standard].mask(aside), breaks) if modelled else judged
    return BothMethods(daily, aside, model, modelled, steps, judged, by_standard, facts, references, beyond)


def _judged(
    log: NormalizedLog,
    days: pd.DataFrame,
    daily: pd.DataFrame,
    breaks: Sequence[Event],
    model: ModelDays | None = None,
    modelled: tuple[str, ...] = (),
) -> Judged:
    """Judge the days of some indicators, by the levels of the model where there is one."""
    return judge_days(
        daily,
        log.plant,
        breaks,
        season=_season(log, days),
        temperature_corrected=log.balance.feed_temperature_c is not None,
        modelled=modelled,
        levels=None if model is None else model.level,
        errors=None if model is None else model.error,
        osmotic=osmotic_shares(log.conditions),
    )


def _model(
    log: NormalizedLog, fits: tuple[StageFit, ...], days: pd.DataFrame, events: Sequence[Event]
) -> ModelDays | None:
    """The membrane model by day."""
    if not fits or log.reference is None:
        return None
    within, temperature = log.reference.within, log.balance.feed_temperature_c
    breaks = {
        scope: [
            local_day(event, log.plant.site.timezone)
            for event in events
            if event.ends_run and (event.stage is None or scope in ("train", f"stage{event.stage}"))
        ]
        for scope in log.plant.train.scopes
    }
    stages = log.forces[1:] or log.forces[:1]
    return model_days(
        parameter_days(days, log, fits),
        fits,
        ReferenceTrain.at_reference(fits, stages, log.forces[0], temperature, log.plant, within),
        log.plant,
        breaks=breaks,
        floors=meter_noise(log.readings[within], log.plant),
    )


def disagreement_of(log: NormalizedLog, model: ModelDays | None, judged: Judged, by_standard: Judged) -> str:
    """Why the two methods differ today, in one sentence."""
    difference = largest_difference(judged.indicators, by_standard.indicators)
    if model is None or log.reference is None or difference is None:
        return ""
    latest = model.level.index[-1] - pd.Timedelta(days=DISAGREEMENT_DAYS)
    then = Waters.of(log.balance, log.reference.within)
    now = Waters.of(log.balance, log.used & (log.days > latest))
    if then is None or now is None:
        return ""
    days = np.asarray(model.level.index > latest)
    return explain(difference, standard_drift(model, log.plant, then, now, days, list(log.readings.columns)), then, now)


def _best(standard: pd.DataFrame, model: ModelDays | None, modelled: Sequence[str]) -> pd.DataFrame:
    """The model's days where it has an answer; the standard method's beside them, under `standard_`."""
    if model is None:
        return standard
    beside = standard[[name for name in modelled if name in standard.columns]].add_prefix(STANDARD_PREFIX)
    return pd.concat([standard.assign(**{name: model.daily[name] for name in modelled}), beside], axis=1)


def _season(log: NormalizedLog, days: pd.DataFrame) -> Season:
    """How much warmer the water is than in the reference, and how fast it warms, over the last weeks."""
    reference = reference_temperature(log)
    if np.isnan(reference):
        return Season(0.0, 0.0)
    return recent_season(days[TEMPERATURE], reference_c=reference)


def reference_temperature(log: NormalizedLog) -> float:
    """Median of the feed in the reference period; NaN where it is not known. [degC]"""
    temperature = log.balance.feed_temperature_c
    if temperature is None or log.reference is None:
        return float("nan")
    return float(np.median(temperature[log.reference.within]))
