"""The order of it all: readings in, one frozen assessment out. No other module knows the order of the steps."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
import pandas as pd

import analytics
from analytics.assessment import Assessment
from analytics.condition.day_table import RAW, TEMPERATURE, Counts, counts_of, used_days, walked_days, with_days
from analytics.condition.fitted_days import WorkedLog, work_out_days
from analytics.condition.membrane_model import model_notes
from analytics.condition.normalized import NormalizedLog
from analytics.condition.osmotic_start import osmotic_start_note
from analytics.condition.screened_log import LogBasis, ScreenedLog, screen_log
from analytics.decisions.cleaning_history import CleaningHistory, cleanings_of_log
from analytics.decisions.cleaning_window import beyond_cleaning
from analytics.decisions.oxidant_record import oxidants_of
from analytics.events import Event
from analytics.judgement.at_events import damage_at_events
from analytics.judgement.balances import equations_of_days
from analytics.judgement.both_methods import BothMethods, both_methods, disagreement_of, reference_temperature
from analytics.judgement.cause import Weighed, accused_gauge, doubted_gauge
from analytics.judgement.causes import likely_causes
from analytics.judgement.context import CONTEXT_DAYS, context_of_log
from analytics.judgement.dangers import find_dangers
from analytics.judgement.explained import other_steps, renewals
from analytics.judgement.gauges import pressure_gauges
from analytics.judgement.grounds import Grounds
from analytics.judgement.judged import STALE_DAYS
from analytics.judgement.meters import suspect_meters
from analytics.judgement.new_elements import reference_notes
from analytics.judgement.notes import last_year, log_notes
from analytics.judgement.observed import Layout, first_share_of, observe, osmotic_shares
from analytics.judgement.thermometer import check_thermometer
from analytics.judgement.verdict import reach_verdict
from analytics.judgement.vessel_rounds import VesselReadings
from analytics.plant import Plant
from analytics.quantities import COLUMNS

MEMBRANE_MODEL, STANDARD_METHOD = "membrane model", "standard method"


@dataclass(frozen=True)
class KnownDays:
    """What an earlier assessment of the same log, plant and program has found, so that only some days are done anew.

    Attributes
    ----------
    basis : LogBasis
    table : DataFrame
        `Assessment.days`.
    first : datetime
        The first reading of the whole log.
    renewed : DatetimeIndex
        Local days whose readings have changed, and those around them that the screen may see otherwise for it.
    """

    basis: LogBasis
    table: pd.DataFrame
    first: datetime
    renewed: pd.DatetimeIndex


def assess(
    plant: Plant,
    readings: pd.DataFrame,
    events: Sequence[Event] = (),
    as_of: datetime | None = None,
    known: KnownDays | None = None,
    rounds: Sequence[VesselReadings] = (),
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
    known : KnownDays, optional
        What is known of the log already. `readings` need then hold no more than those of the reference period, of the
        last `CONTEXT_DAYS` before the last used one, and of the days to renew with some more around them.
    rounds : sequence of VesselReadings
        Of the single vessels, for the causes.

    Returns
    -------
    Assessment
    """
    if as_of is not None:
        readings = readings[readings.index <= pd.Timestamp(as_of)]
    events = tuple(sorted((e for e in events if as_of is None or e.time <= as_of), key=lambda e: e.time))
    rounds = [one for one in rounds if as_of is None or one.time <= as_of]
    screened = screen_log(plant, readings, None if known is None else known.basis)
    days = screened.days
    renewed = np.ones(len(days), dtype=bool) if known is None else np.asarray(days.isin(known.renewed))
    found = work_out_days(screened, renewed, last_days=CONTEXT_DAYS + 1)
    table = found.table if known is None else with_days(known.table, found.table, known.renewed)
    now = pd.Timestamp(as_of) if as_of is not None else _last(readings)
    answer = _judge_log(screened, found, table, events, now, _span(readings, known), rounds)
    note = osmotic_start_note(found.osmotic_start)
    return replace(answer, plant=plant, notes=(*answer.notes, note)) if note else answer


def _judge_log(
    screened: ScreenedLog,
    found: WorkedLog,
    table: pd.DataFrame,
    events: tuple[Event, ...],
    now: pd.Timestamp,
    span: tuple[datetime, datetime] | None,
    rounds: Sequence[VesselReadings],
) -> Assessment:
    """From the table of days to the answer."""
    log = found.log
    plant, days, counts = log.plant, used_days(table), counts_of(table)
    both = both_methods(log, found.fits, days, events)
    model, judged = both.model, both.judged
    weighed = _weigh(log, days, both, events, rounds)
    cleanings = cleanings_of_log(plant, events, judged.trends, both.daily, both.aside)
    grounds = _grounds(log, counts, table, weighed, cleanings, now, events)
    return Assessment(
        plant=plant,
        as_of=now.to_pydatetime(),
        version=analytics.__version__,
        screened=screened,
        log=log,
        days=table,
        span=span,
        method=MEMBRANE_MODEL if "train_permeate_flow" in both.modelled else STANDARD_METHOD,
        modelled=both.modelled,
        daily=both.daily,
        daily_set_aside=both.aside,
        indicators=judged.indicators,
        trends=judged.trends,
        runs=judged.runs,
        by_standard=both.by_standard,
        model=model,
        meters=weighed.meters,
        verdict=reach_verdict(judged.indicators, grounds),
        grounds=grounds,
        counts=counts,
        missing=log.balance.missing,
        cleanings=cleanings,
        notes=_notes(found, both, days),
        events=events,
        references=both.references,
        disagreement=disagreement_of(log, model, judged, both.by_standard),
        steps=both.steps,
        run_facts=both.run_facts,
        balances=weighed.balances,
        causes=weighed.causes,
        seen=weighed.seen,
        thermometer=weighed.thermometer,
    )


def _notes(found: WorkedLog, both: BothMethods, days: pd.DataFrame) -> tuple[str, ...]:
    """What stands beside the answer."""
    return (
        *log_notes(found.log, both.judged.trends, both.beyond_use),
        *last_year(found.log, both.daily),
        *model_notes(both.model, found.fits, days=len(days)),
        *reference_notes(both.references),
    )


def _weigh(
    log: NormalizedLog, days: pd.DataFrame, both: BothMethods, events: Sequence[Event],
    rounds: Sequence[VesselReadings],
) -> Weighed:  # fmt: skip
    """Balances first; a gauge that no balance holds is one of the causes."""
    train, context = log.plant.train, context_of_log(log, days, events, rounds)
    balances = equations_of_days(days, train, log.reference, context.feed_salinity_change)
    meters = suspect_meters(balances)
    measured = [str(c).removeprefix(RAW) for c in days.columns if str(c).startswith(RAW) and days[c].notna().any()]
    thermometer = check_thermometer(days.get(TEMPERATURE), _train_flow(days, both))
    layout = Layout(
        stages=len(train.stages),
        first_share=first_share_of(train),
        modelled=both.modelled,
        osmotic=osmotic_shares(log.conditions),
        metered=[COLUMNS[column].name for column in measured if column in COLUMNS],
        feed_temperature_c=reference_temperature(log),
        departure=thermometer.departure,
    )
    daily = both.daily.mask(both.aside.reindex(columns=both.daily.columns, fill_value=False))
    damage = damage_at_events(daily, events, log.plant.site.timezone)
    causes = likely_causes(
        both.judged.indicators,
        meters,
        replace(context, factors={**context.factors, **damage}),
        layout,
        daily=daily,
        cuts=renewals(both.steps, events, log.plant.site.timezone),
        steps=other_steps(both.steps),
        balances=balances,
        gauges=pressure_gauges(log, days),
    )
    seen = observe(both.judged.indicators, layout, balances, context.feed_salinity_change)
    return Weighed(balances, meters or accused_gauge(causes), causes, seen, thermometer)


def _train_flow(days: pd.DataFrame, both: BothMethods) -> pd.Series | None:
    """By the standard method, whose correction for temperature is the plant's; days out of line NaN."""
    name = "train_permeate_flow"
    return days[name].mask(both.aside[name]) if name in days and name in both.aside else None


def _last(readings: pd.DataFrame) -> pd.Timestamp:
    return pd.Timestamp(readings.index.max()) if len(readings) else pd.Timestamp(0, tz="UTC")


def _span(readings: pd.DataFrame, known: KnownDays | None) -> tuple[datetime, datetime] | None:
    if not len(readings):
        return None
    first = readings.index.min().to_pydatetime() if known is None else known.first
    return first, readings.index.max().to_pydatetime()


def _grounds(
    log: NormalizedLog,
    counts: Counts,
    table: pd.DataFrame,
    weighed: Weighed,
    cleanings: CleaningHistory,
    now: pd.Timestamp,
    events: Sequence[Event],
) -> Grounds:
    """What the verdict rests on beside the indicators."""
    today = now.tz_convert(log.plant.site.timezone).tz_localize(None).floor("D")
    unknown = _unknown(log, counts, used_days(table), today)
    if unknown:
        return Grounds(today.date(), unknown=unknown)
    return Grounds(
        today.date(),
        dangers=find_dangers(_latest(log), log.plant.train, oxidants_of(walked_days(table), events, log.plant)),
        meters=weighed.meters,
        doubted=doubted_gauge(weighed.causes),
        root_cause=cleanings.programme.root_cause,
        beyond_cleaning=beyond_cleaning(weighed.causes),
        nothing=sum(cause.probability for cause in weighed.causes if cause.cause == "none"),
    )


def _unknown(log: NormalizedLog, counts: Counts, days: pd.DataFrame, today: pd.Timestamp) -> str:
    """Why nothing can be compared; empty where it can."""
    if not counts.total:
        return "there are no readings"
    if not counts.used:
        return f"none of the {counts.total} readings can be used"
    age = (today - days.index[-1]).days
    if age > STALE_DAYS:
        return f"the last usable reading is {age} days old"
    return log.no_reference if log.reference is None else ""


def _latest(log: NormalizedLog) -> dict[str, float]:
    """Medians of the latest day with used readings."""
    rows = log.used & (log.days == log.days[log.used][-1])
    columns = {c: log.readings[c] for c in log.readings.columns if c in COLUMNS}
    index = log.readings.index
    columns |= {n: pd.Series(v, index) for n, v in log.columns.items() if n.endswith("_pressure_drop_bar")}
    if len(log.plant.train.stages) == 1 and "train_pressure_drop_bar" in columns:
        columns["stage1_pressure_drop_bar"] = columns["train_pressure_drop_bar"]
    return {name: float(series[rows].median()) for name, series in columns.items()}
