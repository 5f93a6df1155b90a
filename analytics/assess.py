"""The order of it all: readings in, one frozen assessment out. No other module knows the order of the steps."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np
import pandas as pd

import analytics
from analytics.condition.daily import daily_medians, days_out_of_line
from analytics.condition.fit import StageFit, fit_membranes
from analytics.condition.membrane_model import ModelDays, model_days
from analytics.condition.meter_noise import meter_noise
from analytics.condition.normalized import NormalizedLog, normalize_log
from analytics.condition.reference import ReferencePeriod
from analytics.condition.screen import (
    RULES,
    flow_imbalance,
    salt_imbalance,
)
from analytics.condition.standard_drift import Waters, standard_drift
from analytics.condition.streams import Missing
from analytics.events import Event
from analytics.judgement.causes import Cause, Context, likely_causes
from analytics.judgement.context import context_of
from analytics.judgement.dangers import find_dangers
from analytics.judgement.disagreement import explain, largest_difference
from analytics.judgement.explained import ExplainedStep, as_events
from analytics.judgement.judged import Judged, judge_days
from analytics.judgement.limits import Indicator
from analytics.judgement.log_steps import steps_of_log
from analytics.judgement.meters import BalanceDrift, Meter, balance_drift, suspect_meters
from analytics.judgement.runs import Run
from analytics.judgement.season import Season, against_last_year, recent_season
from analytics.judgement.trend import Trend
from analytics.judgement.verdict import Verdict, no_verdict, reach_verdict
from analytics.judgement.words import percent_change
from analytics.plant import Plant
from analytics.quantities import COLUMNS, QUANTITIES

STALE_DAYS = 30
CONTEXT_DAYS = 90
"""How far back chlorine, SDI and the like are looked at for a cause; common practice, no source."""
DISAGREEMENT_DAYS = 10
"""Days whose medians stand for today where the two methods are compared; common practice, no source."""
OUT_OF_LINE = "day out of line"
MEMBRANE_MODEL, STANDARD_METHOD = "membrane model", "standard method"
STANDARD_PREFIX = "standard_"


@dataclass(frozen=True)
class Counts:
    """Readings in all, used, and set aside by reason; `used` and the reasons add up to `total`."""

    total: int
    used: int
    set_aside: Mapping[str, int]
    values_set_aside: Mapping[str, Mapping[str, int]]


@dataclass(frozen=True)
class Assessment:
    """The answer, with everything it rests on.

    `daily`, `indicators` and `trends` are of the best method that the data allow: the membrane model for the columns
    named in `modelled`, the standard method for the rest. `by_standard` judges all by the standard method, whose days
    stand in `daily` under `standard_<scope>_<indicator>` where the model's took their place. `disagreement` says in one
    sentence why the two differ; empty where they agree.
    """

    plant: Plant
    as_of: datetime
    version: str
    log: NormalizedLog
    method: str
    modelled: tuple[str, ...]
    daily: pd.DataFrame
    daily_set_aside: pd.DataFrame
    indicators: tuple[Indicator, ...]
    trends: tuple[Trend, ...]
    runs: tuple[Run, ...]
    by_standard: Judged
    model: ModelDays | None
    meters: tuple[Meter, ...]
    verdict: Verdict
    counts: Counts
    missing: tuple[Missing, ...]
    notes: tuple[str, ...]
    causes: tuple[Cause, ...] = ()
    steps: tuple[ExplainedStep, ...] = ()
    events: tuple[Event, ...] = field(default=())
    disagreement: str = ""

    @property
    def readings(self) -> pd.DataFrame:
        return self.log.readings

    @property
    def reason(self) -> pd.Series:
        return self.log.reason

    @property
    def normalized(self) -> pd.DataFrame:
        return self.log.normalized

    @property
    def reference(self) -> ReferencePeriod | None:
        return self.log.reference


def assess(
    plant: Plant, readings: pd.DataFrame, events: Sequence[Event] = (), as_of: datetime | None = None
) -> Assessment:
    """Say what has changed, where, and what should be done.

    Parameters
    ----------
    plant : Plant
    readings : DataFrame
        See `normalize_log`.
    events : sequence of Event
    as_of : datetime, optional
        UTC; nothing later is looked at. The last reading when not given.

    Returns
    -------
    Assessment
    """
    if as_of is not None:
        readings = readings[readings.index <= pd.Timestamp(as_of)]
    events = tuple(sorted((e for e in events if as_of is None or e.time <= as_of), key=lambda e: e.time))
    log = normalize_log(plant, readings)
    now = pd.Timestamp(as_of) if as_of is not None else _last(readings)
    standard = daily_medians(log.indicators, log.days, log.used)
    names = [name for name in standard.columns if not name.endswith(("_spread", "_count"))]
    fits = _fits(log)
    model = _model(log, fits, events)
    modelled = () if model is None else tuple(name for name in model.daily.columns if name in names)
    daily = standard if model is None else _best(standard, model, modelled)
    aside = pd.DataFrame({name: days_out_of_line(daily[name]) for name in names}, index=daily.index)
    steps = steps_of_log(log, daily[names].mask(aside), events)
    breaks = (*events, *as_events(steps, plant.site.timezone))
    if steps and model is not None:
        model = _model(log, fits, breaks) or model
        daily = _best(standard, model, modelled)
    corrected = log.balance.feed_temperature_c is not None
    season = _season(log)
    judged = judge_days(
        daily[names].mask(aside),
        plant,
        breaks,
        season=season,
        temperature_corrected=corrected,
        modelled=modelled,
        levels=None if model is None else model.level,
        errors=None if model is None else model.error,
    )
    by_standard = judged
    if modelled:
        by_standard = judge_days(
            standard[names].mask(aside), plant, breaks, season=season, temperature_corrected=corrected
        )
    meters = _meters(log)
    return Assessment(
        plant=plant,
        as_of=now.to_pydatetime(),
        version=analytics.__version__,
        log=log,
        method=MEMBRANE_MODEL if "train_permeate_flow" in modelled else STANDARD_METHOD,
        modelled=modelled,
        daily=daily,
        daily_set_aside=aside,
        indicators=judged.indicators,
        trends=judged.trends,
        runs=judged.runs,
        by_standard=by_standard,
        model=model,
        meters=meters,
        verdict=_verdict(log, judged.indicators, meters, now),
        counts=_counts(log),
        missing=log.balance.missing,
        notes=(*_notes(log, judged.trends), *_last_year(log, daily), *(() if model is None else model.shared)),
        events=events,
        disagreement=_disagreement(log, model, judged, by_standard),
        steps=steps,
        causes=_causes(log, judged, meters, steps, modelled="train_permeate_flow" in modelled),
    )


def _causes(
    log: NormalizedLog, judged: Judged, meters: tuple[Meter, ...], steps: Sequence[ExplainedStep], *, modelled: bool
) -> tuple[Cause, ...]:
    train = log.plant.train
    return likely_causes(
        judged.indicators,
        judged.trends,
        meters,
        _context(log),
        stages=len(train.stages),
        first_share=train.stages[0].area_m2 / train.area_m2,
        modelled=modelled,
        steps=[one.step for one in steps],
    )


def _context(log: NormalizedLog) -> Context:
    """What else the log says about causes, from the reference period and from the last weeks."""
    if log.reference is None or not log.used.any():
        return Context()
    since = log.days[log.used][-1] - pd.Timedelta(days=CONTEXT_DAYS)
    recent = log.used & (log.days > since)
    columns = {c: log.readings[c].to_numpy() for c in log.readings.columns if c in COLUMNS}
    return context_of(columns, log.balance.train.feed_tds_mg_l, recent=recent, reference=log.reference.within)


def _fits(log: NormalizedLog) -> tuple[StageFit, ...]:
    """Readings fitted by the membrane model, where temperature is known and there is a reference to relate it to."""
    if log.balance.feed_temperature_c is None or log.reference is None:
        return ()
    return tuple(fit_membranes(log.balance, log.plant, used=log.used))


def _model(log: NormalizedLog, fits: Sequence[StageFit], events: Sequence[Event]) -> ModelDays | None:
    """The membrane model by day; its level may break where a run ends."""
    temperature = log.balance.feed_temperature_c
    if temperature is None or log.reference is None or not fits:
        return None
    breaks = {
        scope: [
            pd.Timestamp(event.time).tz_convert(log.plant.site.timezone).tz_localize(None).floor("D")
            for event in events
            if event.ends_run and (event.stage is None or scope in ("train", f"stage{event.stage}"))
        ]
        for scope in log.plant.train.scopes
    }
    return model_days(
        fits,
        log.forces,
        temperature,
        log.plant,
        days=log.days,
        used=log.used,
        reference=log.reference.within,
        breaks=breaks,
        floors=meter_noise(log.readings[log.reference.within], log.plant),
    )


def _disagreement(log: NormalizedLog, model: ModelDays | None, judged: Judged, by_standard: Judged) -> str:
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


def _best(standard: pd.DataFrame, model: ModelDays, modelled: Sequence[str]) -> pd.DataFrame:
    """The model's days where it has an answer; the standard method's beside them, under `standard_`."""
    beside = standard[list(modelled)].add_prefix(STANDARD_PREFIX)
    return pd.concat([standard.assign(**{name: model.daily[name] for name in modelled}), beside], axis=1)


def _last(readings: pd.DataFrame) -> pd.Timestamp:
    return pd.Timestamp(readings.index.max()) if len(readings) else pd.Timestamp(0, tz="UTC")


def _season(log: NormalizedLog) -> Season:
    """How much warmer the water is than in the reference, and how fast it warms, over the last weeks."""
    temperature = log.balance.feed_temperature_c
    if temperature is None or log.reference is None:
        return Season(0.0, 0.0)
    daily = pd.Series(temperature, index=log.days)[log.used].groupby(level=0).median()
    return recent_season(daily, reference_c=float(np.median(temperature[log.reference.within])))


def _meters(log: NormalizedLog) -> tuple[Meter, ...]:
    if log.reference is None:
        return ()
    columns = {c: log.readings[c].to_numpy() for c in log.readings.columns if c in COLUMNS}
    period = (pd.Timestamp(log.reference.start), pd.Timestamp(log.reference.end))
    drifts: list[BalanceDrift | None] = []
    for imbalance in (flow_imbalance(columns), salt_imbalance(columns, log.plant)):
        if imbalance is None:
            drifts.append(None)
            continue
        daily = pd.Series(imbalance, index=log.days)[log.used].groupby(level=0).median()
        drifts.append(balance_drift(daily, reference=period))
    train = log.conditions[0]
    share = 1 - train["recovery"] * train["salt_passage"] if train["salt_passage"] == train["salt_passage"] else 1.0
    return suspect_meters(drifts[0], drifts[1], recovery=train["recovery"], concentrate_share=share)


def _verdict(
    log: NormalizedLog, indicators: tuple[Indicator, ...], meters: tuple[Meter, ...], now: pd.Timestamp
) -> Verdict:
    used_days = log.days[log.used]
    if not len(log.reason):
        return no_verdict("there are no readings")
    if not len(used_days):
        return no_verdict(f"none of the {len(log.reason)} readings can be used")
    today = now.tz_convert(log.plant.site.timezone).tz_localize(None).floor("D")
    age = (today - used_days[-1]).days
    if age > STALE_DAYS:
        return no_verdict(f"the last usable reading is {age} days old")
    if log.reference is None:
        return no_verdict(log.no_reference)
    dangers = find_dangers(_latest(log), log.plant.train)
    return reach_verdict(indicators, dangers=dangers, meters=meters, today=today.date())


def _latest(log: NormalizedLog) -> dict[str, float]:
    """Medians of the latest day with used readings."""
    rows = log.used & (log.days == log.days[log.used][-1])
    columns = {c: log.readings[c] for c in log.readings.columns if c in COLUMNS}
    index = log.readings.index
    columns |= {n: pd.Series(v, index) for n, v in log.columns.items() if n.endswith("_pressure_drop_bar")}
    if len(log.plant.train.stages) == 1 and "train_pressure_drop_bar" in columns:
        columns["stage1_pressure_drop_bar"] = columns["train_pressure_drop_bar"]
    return {name: float(series[rows].median()) for name, series in columns.items()}


def _counts(log: NormalizedLog) -> Counts:
    by_reason = log.reason.value_counts()
    return Counts(
        total=len(log.reason),
        used=int(by_reason.get("", 0)),
        set_aside={rule: int(by_reason[rule]) for rule in RULES if rule in by_reason.index},
        values_set_aside=log.values_set_aside,
    )


def _notes(log: NormalizedLog, trends: tuple[Trend, ...]) -> tuple[str, ...]:
    notes = list(log.notes)
    if log.balance.assumed:
        notes.append(f"Taken from the plant file, not metered: {_listed(log.balance.assumed)}.")
    if log.balance.derived:
        notes.append(f"Worked out by balance, not metered: {_listed(log.balance.derived)}.")
    if log.balance.feed_temperature_c is None:
        notes.append("Feed temperature is not measured: flow and salt passage are not corrected for temperature.")
    if any(stage.membrane.temperature_correction == "fitted" for stage in log.plant.train.stages):
        notes.append("The standard method uses the two-slope temperature curve; the membrane model learns its slope.")
    short = [trend for trend in trends if np.isnan(trend.slope)]
    if short:
        notes.append(
            f"No slope yet: the present run has {min(t.days for t in short)} days with readings; 21 are needed."
        )
    return tuple(notes)


def _last_year(log: NormalizedLog, daily: pd.DataFrame) -> list[str]:
    """Without temperature, the same season a year earlier is what a level can be compared with."""
    if log.balance.feed_temperature_c is not None:
        return []
    notes = []
    for name, label in (("train_permeate_flow", "permeate flow"), ("train_salt_passage", "salt passage")):
        ratio = against_last_year(daily[name]) if name in daily.columns else None
        if ratio is not None:
            notes.append(
                f"Against the same weeks a year earlier, {label} at the same pressure is {percent_change(ratio)};"
                " water that was warmer or colder then would show in this too."
            )
    return notes


def _listed(names: Sequence[str]) -> str:
    return ", ".join(_in_words(name) for name in dict.fromkeys(names))


def _in_words(name: str) -> str:
    """A quantity in the middle of a sentence: "stage 2 permeate TDS"."""
    if name in QUANTITIES:
        label = QUANTITIES[name].label
        return label[:1].lower() + label[1:]
    return name.replace("stage", "stage ").replace("_", " ").replace("tds", "TDS")
