"""The steps of a log: what is looked at together, by day."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analytics.condition.day_table import FEED_TDS, FLOW_BALANCE, PERMEATE_FLOW, RECOVERY, SALT_BALANCE
from analytics.events import Event
from analytics.judgement.explained import ExplainedStep, explain_steps, local_day
from analytics.judgement.steps import CLEAR, detect_steps

BALANCES = {FLOW_BALANCE: "flow_balance", SALT_BALANCE: "salt_balance"}
OPERATION = {FEED_TDS: "feed_tds_mg_l", PERMEATE_FLOW: "permeate_flow_m3h", RECOVERY: "recovery"}
"""What stands in the table of days, and what it is called where steps are looked for: balances of what goes in less
what comes out, and how the train was run, which may have been set to another value."""

BEFORE_DAYS, STAYS_FROM, STAYS_TO, LEAST_LATER = 14, 15, 45, 5
MOST_OF_IT = 0.5
"""Days before a step of the feed, and after it, whose medians are compared, how many values that takes, and the share
of the step that must be left; rain washes out within a fortnight or so. Judgement, no source. [d, -]"""


def steps_of_log(
    days: pd.DataFrame, daily: pd.DataFrame, events: Sequence[Event], timezone: str
) -> tuple[ExplainedStep, ...]:
    """Find the steps of a log, and what explains them.

    Parameters
    ----------
    days : DataFrame
        From `day_table`, the days with used readings.
    daily : DataFrame
        `<scope>_<indicator>` by local day, days out of line NaN. [-]
    events : sequence of Event
    timezone : str

    Notes
    -----
    The balances of flow and salt are looked at beside the indicators: a meter that was exchanged moves them.
    """
    if not len(daily):
        return ()
    cuts = [local_day(event, timezone) for event in events if event.ends_run]
    steps = detect_steps(daily.join(_named(days, BALANCES).add(1.0)), cuts)
    return explain_steps(steps, events, _named(days, OPERATION), timezone=timezone) if steps else ()


def feed_step(days: pd.DataFrame, *, after: pd.Timestamp) -> float:
    """Largest share by which the feed carries more salt, or less, from one day to the next, and stays so: another
    source does, rain does not. Zero without one. [-]"""
    if FEED_TDS not in days.columns:
        return 0.0
    found = detect_steps(_named(days, {FEED_TDS: "feed_tds_mg_l"}), together=CLEAR)
    steps = [step for step in found if step.day > after]
    tds = days[FEED_TDS].dropna()
    jumps = [jump.size for step in steps for jump in step.jumps if _stays(tds, step.day, jump.size)]
    return float(np.expm1(max(jumps, key=abs, default=0.0)))


def _stays(tds: pd.Series, day: pd.Timestamp, jump: float) -> bool:
    """Whether most of a step is still there some weeks later; it is taken to be where the days do not reach so far."""
    ages = (pd.DatetimeIndex(tds.index) - day).days
    before, later = tds[(ages < 0) & (ages >= -BEFORE_DAYS)], tds[(ages >= STAYS_FROM) & (ages <= STAYS_TO)]
    if not len(before) or len(later) < LEAST_LATER:
        return True
    return float(np.log(later.median() / before.median())) / jump > MOST_OF_IT


def _named(days: pd.DataFrame, names: dict[str, str]) -> pd.DataFrame:
    return days[[name for name in names if name in days.columns]].rename(columns=names)
