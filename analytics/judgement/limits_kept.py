"""Were the limits of the elements kept? Day by day, for whoever has to show it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.plant import Train

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class LimitKept:
    """One limit over the days on which it could be looked at; `first` and `last` are days above it, or None."""

    name: str
    unit: str
    limit: float
    days: int
    days_over: int
    highest: float
    first: date | None
    last: date | None


def limits_kept(days: pd.DatetimeIndex, columns: Mapping[str, Array], train: Train) -> tuple[LimitKept, ...]:
    """Hold daily medians against the limits of the element models and that of chlorine.

    Parameters
    ----------
    days : DatetimeIndex
    columns : mapping of arrays
        Daily medians in canonical columns, and `stageN_pressure_drop_bar`; what is not metered is absent or NaN.
    train : Train

    Returns
    -------
    tuple of LimitKept
        Only what was metered on some day.
    """
    membranes = [stage.membrane for stage in train.stages]
    found = [
        _limit("feed pressure", "bar", min(m.max_pressure_bar for m in membranes), "feed_pressure_bar"),
        _limit("feed temperature", "degC", min(m.max_temperature_c for m in membranes), "feed_temperature_c"),
        _limit("free chlorine in the feed", "mg/L", train.limits.max_free_chlorine_mg_l, "feed_free_chlorine_mg_l"),
    ]
    for number, stage in enumerate(train.stages, start=1):
        element = stage.membrane.max_dp_element_bar * stage.elements_per_vessel
        lower = min(stage.membrane.max_dp_vessel_bar, element)
        found.append(_limit(f"pressure drop of stage {number}", "bar", lower, f"stage{number}_pressure_drop_bar"))
    judged = (_judge(one, days, columns.get(column)) for one, column in found)
    return tuple(one for one in judged if one is not None)


def _limit(name: str, unit: str, limit: float, column: str) -> tuple[LimitKept, str]:
    return LimitKept(name, unit, limit, 0, 0, float("nan"), None, None), column


def _judge(one: LimitKept, days: pd.DatetimeIndex, values: Array | None) -> LimitKept | None:
    if values is None or not np.isfinite(values).any():
        return None
    known = np.isfinite(values)
    over = days[known & (np.nan_to_num(values, nan=-np.inf) > one.limit)]
    return LimitKept(
        one.name,
        one.unit,
        one.limit,
        int(known.sum()),
        len(over),
        float(values[known].max()),
        over[0].date() if len(over) else None,
        over[-1].date() if len(over) else None,
    )
