"""From a normalized log to its table of days, with the membrane model fitted on the way."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.day_table import day_table
from analytics.condition.fit import StageFit, can_be_fitted, fit_rows
from analytics.condition.metered_train import part_of
from analytics.condition.normalized import NormalizedLog
from analytics.condition.parameter_days import closure_columns
from analytics.condition.stretches import find_stretches

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class FittedDays:
    """The membrane model at each reading, and the table of days made from all readings.

    Attributes
    ----------
    fits : tuple of StageFit
        Readings of one stretch have one answer. Empty where temperature is not known, where there is no reference to
        relate it to, or where the train's flows and pressures are not known.
    table : DataFrame
        See `day_table`.
    """

    fits: tuple[StageFit, ...]
    table: pd.DataFrame


def fitted_days(log: NormalizedLog, rows: Flags) -> FittedDays:
    """Work out the days of some readings.

    Parameters
    ----------
    log : NormalizedLog
    rows : bool array
        Readings of the days that are wanted. The reference is fitted, too.
    """
    used, balance = log.used & rows, log.balance
    if balance.feed_temperature_c is None or log.reference is None or not can_be_fitted(balance):
        return FittedDays((), day_table(log, (), None, rows))
    times = pd.DatetimeIndex(log.readings.index)
    stretches = find_stretches(balance, log.days, times, used | (log.used & log.reference.within))
    metered = stretches.means(balance, log.plant)
    fits = fit_rows(metered, log.plant, stretches.rows, len(used), stretches.of_row)
    wanted = np.flatnonzero(rows[stretches.rows[stretches.starts]])
    closures = closure_columns(part_of(metered, wanted), stretches.days[wanted], log.plant) if len(wanted) else None
    return FittedDays(fits, day_table(log, fits, closures, rows))
