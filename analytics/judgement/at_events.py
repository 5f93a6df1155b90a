"""What salt passage did at logged interventions: damage by a cleaning comes with it, as do leaks with a move."""

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from analytics.events import Event
from analytics.judgement.explained import local_day
from analytics.judgement.words import plain_date, scope_name

BEFORE_DAYS, FROM_DAYS, TO_DAYS = 14, 3, 17
"""Days before an intervention, and days after it, whose medians are compared: alkaline cleanings leave salt passage
high for some days. Common practice, no source. [d]"""
LEAST_VALUES = 4
LEAST_RISE, CLEAR, STILL = 0.06, 4.0, 0.5
"""A rise of the logarithm that counts, in standard errors too, and the share of it that must still be there. [-]"""
MEDIAN_ERROR = 1.2533
COMES_WITH: Mapping[str, tuple[str, float, str]] = {
    "cleaning": ("hydrolysis", 5.0, "cleaning"),
    "element-replacement": ("seal-leak", 5.0, "exchange of elements"),
    "element-move": ("seal-leak", 5.0, "move of elements"),
}
"""Kind of event: the cause that begins with it by published tables of symptoms (hydrolysis in a cleaning out of range
of pH or temperature, leaks after loading), the factor on that cause (judgement, no source), and its name in words."""


def damage_at_events(daily: pd.DataFrame, events: Sequence[Event], timezone: str) -> dict[str, tuple[float, str]]:
    """Factors on causes whose beginning somebody has logged, each with its sentence.

    Parameters
    ----------
    daily : DataFrame
        `<scope>_<indicator>` by local day, days out of line NaN. [-]
    events : sequence of Event
    timezone : str
    """
    found: dict[str, tuple[float, str]] = {}
    columns = [str(column) for column in daily.columns if _is_salt(str(column))]
    for event in events:
        if event.kind not in COMES_WITH:
            continue
        cause, factor, name = COMES_WITH[event.kind]
        day = local_day(event, timezone)
        rises = {column: _rise(daily[column].dropna(), day) for column in columns}
        column = max(rises, key=lambda one: rises[one], default="")
        if column and rises[column] > 0:
            percent = f"{100 * np.expm1(rises[column]):.0f}"
            where = scope_name(column.removesuffix("_salt_passage"))
            found[cause] = (
                factor, f"Salt passage of {where} rose by {percent} % with the {name} of {plain_date(day.date())}."
            )  # fmt: skip
    return found


def _is_salt(column: str) -> bool:
    return column.endswith("_salt_passage") and not column.startswith("standard_")


def _rise(known: pd.Series, day: pd.Timestamp) -> float:
    """By how much the logarithm rose over an intervention, and stayed; zero where it did not, or is not known. [-]"""
    logs = np.log(known[known > 0])
    days = (pd.DatetimeIndex(logs.index) - day).days
    before, after = logs[(days < 0) & (days >= -BEFORE_DAYS)], logs[(days >= FROM_DAYS) & (days <= TO_DAYS)]
    if min(len(before), len(after)) < LEAST_VALUES:
        return 0.0
    rise, now = float(after.median() - before.median()), float(logs.iloc[-BEFORE_DAYS:].median() - before.median())
    error = MEDIAN_ERROR * float(np.hypot(before.std() / len(before) ** 0.5, after.std() / len(after) ** 0.5))
    return rise if rise > max(LEAST_RISE, CLEAR * error) and now > STILL * rise else 0.0
