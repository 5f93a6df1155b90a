"""The steps of a log: what is looked at together, by day."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analytics.condition.normalized import NormalizedLog
from analytics.condition.screen import flow_imbalance, salt_imbalance
from analytics.events import Event
from analytics.judgement.explained import ExplainedStep, explain_steps, local_day
from analytics.judgement.steps import detect_steps
from analytics.quantities import COLUMNS


def steps_of_log(log: NormalizedLog, daily: pd.DataFrame, events: Sequence[Event]) -> tuple[ExplainedStep, ...]:
    """Find the steps of a log, and what explains them.

    Parameters
    ----------
    log : NormalizedLog
    daily : DataFrame
        `<scope>_<indicator>` by local day, days out of line NaN. [-]
    events : sequence of Event

    Notes
    -----
    The balances of flow and salt are looked at beside the indicators: a meter that was exchanged moves them.
    """
    if not len(daily):
        return ()
    timezone = log.plant.site.timezone
    cuts = [local_day(event, timezone) for event in events if event.ends_run]
    steps = detect_steps(daily.join(daily_balances(log).add(1.0)), cuts)
    return explain_steps(steps, events, _operation(log), timezone=timezone) if steps else ()


def daily_balances(log: NormalizedLog) -> pd.DataFrame:
    """`flow_balance` and `salt_balance` by local day: (in - out) / in, as far as they are metered. [-]"""
    columns = {c: log.readings[c].to_numpy() for c in log.readings.columns if c in COLUMNS}
    found = {"flow_balance": flow_imbalance(columns), "salt_balance": salt_imbalance(columns, log.plant)}
    known = {name: values for name, values in found.items() if values is not None}
    return pd.DataFrame(known, index=log.days)[log.used].groupby(level=0).median()


def _operation(log: NormalizedLog) -> pd.DataFrame:
    """How the train was run, by day: what may have been set to another value."""
    train = log.balance.train
    columns = {"feed_tds_mg_l": train.feed_tds_mg_l, "permeate_flow_m3h": train.permeate_flow_m3h}
    known = {name: values for name, values in columns.items() if values is not None}
    if train.permeate_flow_m3h is not None and train.feed_flow_m3h is not None:
        fed = np.where(train.feed_flow_m3h > 0, train.feed_flow_m3h, np.nan)
        known["recovery"] = train.permeate_flow_m3h / fed
    return pd.DataFrame(known, index=log.days)[log.used].groupby(level=0).median()
