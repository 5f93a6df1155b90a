"""From a normalized log to its table of days, with the membrane model fitted on the way."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.day_table import ASIDE, LOST, day_table
from analytics.condition.fit import StageFit, can_be_fitted, fit_rows
from analytics.condition.metered_train import part_of
from analytics.condition.normalized import NormalizedLog, normalize_screened
from analytics.condition.osmotic_start import OsmoticStart, osmotic_start_of, with_osmotic_start
from analytics.condition.parameter_days import closure_columns
from analytics.condition.screened_log import LONG, ROWS_AT_ONCE, ScreenedLog
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


@dataclass(frozen=True)
class WorkedLog(FittedDays):
    """The same with the log: of all readings, or, of a long log, of the reference and of the last days. Its plant has
    the share of the osmotic law that the model begins with."""

    log: NormalizedLog
    osmotic_start: OsmoticStart


def work_out_days(screened: ScreenedLog, renewed: Flags, *, last_days: int) -> WorkedLog:
    """Normalize a log and work out its days; a long one part by part.

    Parameters
    ----------
    screened : ScreenedLog
    renewed : bool array
        Readings of the days that are wanted.
    last_days : int
        Days before the last used reading that the log must hold in any case. [d]
    """
    if len(renewed) <= LONG:
        whole = normalize_screened(screened)
        law = osmotic_start_of(whole)
        whole = _with_start(whole, law)
        days = fitted_days(whole, renewed)
        return WorkedLog(days.fits, days.table, whole, law)
    reference = np.flatnonzero(screened.reference.within) if screened.reference is not None else np.zeros(0, np.int64)
    tables: list[pd.DataFrame] = []
    start: OsmoticStart | None = None
    for first, last in pairwise(_cuts(screened, last_days)):
        rows = np.union1d(reference, np.arange(first, last))
        log = normalize_screened(screened.part(rows))
        start = osmotic_start_of(log) if start is None else start
        log = _with_start(log, start)
        found = fitted_days(log, (rows >= first) & (rows < last) & renewed[rows])
        tables.append(found.table)
    table = pd.concat(tables)
    counts = [name for name in table.columns if str(name).startswith((ASIDE, LOST))]
    return WorkedLog(found.fits, table.fillna(dict.fromkeys(counts, 0.0)), log, start or OsmoticStart())


def _with_start(log: NormalizedLog, start: OsmoticStart) -> NormalizedLog:
    """The standard method keeps to the law, the model does not."""
    return log if start.share == 1.0 else replace(log, plant=with_osmotic_start(log.plant, start.share))


def _cuts(screened: ScreenedLog, last_days: int) -> list[int]:
    """Where to part a log: between days, the last ones together."""
    days = screened.days
    last = days[screened.used][-1] if screened.used.any() else days[-1]
    recent = int(days.searchsorted(last - pd.Timedelta(days=last_days)))
    begins = np.flatnonzero(np.diff(days.asi8, prepend=days.asi8[:1] - 1))
    wanted = begins[np.unique(begins.searchsorted(np.arange(0, recent, ROWS_AT_ONCE)).clip(max=len(begins) - 1))]
    return sorted({0, *wanted[wanted < recent].tolist(), recent, len(days)})


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
