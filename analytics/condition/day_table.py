"""All that later steps need of the readings, by local day: one row a day, so that a day can be worked out by itself.

Columns: the indicators of the standard method (`daily_medians`), medians of what was measured (`raw_<column>`), what
the membrane model is made from (`parameter_columns`), balances, and counts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.daily import daily_medians, medians_by_day
from analytics.condition.fit import StageFit
from analytics.condition.imbalance import flow_imbalance, salt_imbalance
from analytics.condition.normalized import NormalizedLog
from analytics.condition.parameter_days import ParameterDays, by_mean, parameter_columns
from analytics.condition.screen import RULES
from analytics.quantities import COLUMNS

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

RAW = "raw_"
"""Prefix of the daily medians of what was measured, in canonical units."""
READINGS, USED = "readings", "used"
ASIDE, LOST = "aside: ", "lost: "
"""Prefixes of the counts of readings set aside by rule, and of single values by quantity and rule."""
BEFORE_MEMBRANES = frozenset({
    "feed_sdi", "feed_turbidity_ntu", "feed_orp_mv", "raw_free_chlorine_mg_l", "feed_free_chlorine_mg_l",
    "antiscalant_dose_mg_l", "bisulfite_dose_mg_l", "acid_dose_mg_l", "antiscalant_tank_level_l",
    "bisulfite_tank_level_l", "raw_pressure_bar", "media_filter_inlet_pressure_bar", "media_filter_outlet_pressure_bar",
    "cartridge_inlet_pressure_bar", "cartridge_outlet_pressure_bar",
})  # fmt: skip
"""What is read on a walk of its own, without flows; no indicator is made from it."""
FLOW_BALANCE, SALT_BALANCE = "flow_imbalance", "salt_imbalance"
TEMPERATURE = "feed_temperature"
FEED_TDS, PERMEATE_FLOW, RECOVERY = "membrane_feed_tds", "permeate_made", "recovery"
"""Of the train, as completed by balances. [mg/L, m3/h, -]"""


@dataclass(frozen=True)
class Counts:
    """Readings in all, used, and set aside by reason; `used` and the reasons add up to `total`."""

    total: int
    used: int
    set_aside: Mapping[str, int]
    values_set_aside: Mapping[str, Mapping[str, int]]


def day_table(
    log: NormalizedLog, fits: Sequence[StageFit], closures: pd.DataFrame | None = None, rows: Flags | None = None
) -> pd.DataFrame:
    """One row for each local day that has a reading.

    Parameters
    ----------
    log : NormalizedLog
    fits : sequence of StageFit
        Of the same readings.
    closures : DataFrame, optional
        From `closure_columns`, of the same days.
    rows : bool array, optional
        Readings of the days that are wanted; of all when not given.
    """
    rows = np.ones(len(log.days), dtype=bool) if rows is None else rows
    used = log.used & rows
    figures, keys = _figures(log, fits), log.days[used]
    means = {name: figures.pop(name)[used] for name in list(figures) if by_mean(name)}
    walked = log.walked & rows
    before = {name: figures.pop(name) for name in list(figures) if name.removeprefix(RAW) in BEFORE_MEMBRANES}
    parts = [
        daily_medians(log.indicators, log.days, used),
        medians_by_day(figures, keys, used),
        *([medians_by_day(before, log.days[walked], walked)] if before else []),
        pd.DataFrame(means, index=keys).groupby(level=0).mean(),
    ]
    if closures is not None:
        parts.append(closures)
    table = pd.concat([_counts_by_day(log, rows), *parts], axis=1)
    table.index.name = "day"
    return table


def _figures(log: NormalizedLog, fits: Sequence[StageFit]) -> dict[str, Array]:
    columns = {str(name): log.readings[name].to_numpy() for name in log.readings.columns if name in COLUMNS}
    temperature = log.balance.feed_temperature_c
    figures = {f"{RAW}{name}": values for name, values in columns.items()}
    train = log.balance.train
    others = {
        FLOW_BALANCE: flow_imbalance(columns),
        SALT_BALANCE: salt_imbalance(columns, log.plant.train),
        TEMPERATURE: temperature,
        FEED_TDS: train.feed_tds_mg_l,
        PERMEATE_FLOW: train.permeate_flow_m3h,
        RECOVERY: log.forces[0].recovery,
    }
    figures |= {name: values for name, values in others.items() if values is not None}
    return figures | parameter_columns(fits, log.forces, temperature)


def _counts_by_day(log: NormalizedLog, rows: Flags) -> pd.DataFrame:
    days = log.days[rows]
    present, place = np.unique(days.to_numpy(), return_inverse=True)
    reasons = log.first_broken[rows]
    wanted = {READINGS: np.ones(len(days), dtype=bool), USED: reasons < 0}
    for number, rule in enumerate(RULES):
        if (broken := reasons == number).any():
            wanted[f"{ASIDE}{rule}"] = broken
    for quantity, by_reason in log.lost.items():
        for reason, lost in by_reason.items():
            if lost[rows].any():
                wanted[f"{LOST}{quantity}: {reason}"] = lost[rows]
    counts = {name: np.bincount(place[flags], minlength=len(present)) for name, flags in wanted.items()}
    return pd.DataFrame(counts, index=pd.DatetimeIndex(present), dtype=np.float64)


def with_days(table: pd.DataFrame, renewed: pd.DataFrame, days: pd.DatetimeIndex) -> pd.DataFrame:
    """A table with some of its days in place of what they were; those that have no reading any more are gone."""
    kept = table[~table.index.isin(days)]
    return pd.concat([kept, renewed]).sort_index()


def used_days(table: pd.DataFrame) -> pd.DataFrame:
    """The days that have a used reading."""
    return table[table[USED] > 0] if USED in table.columns else table


def walked_days(table: pd.DataFrame) -> pd.DataFrame:
    """The days that have a used reading, and those on which only what is before the membranes was read."""
    before = [name for name in table.columns if str(name).removeprefix(RAW) in BEFORE_MEMBRANES]
    if USED not in table.columns:
        return table
    return table[(table[USED] > 0) | table[before].notna().any(axis=1)]


def counts_of(table: pd.DataFrame) -> Counts:
    """Counts over all days."""
    sums = {str(name): int(table[name].sum()) for name in table.columns if str(name).startswith((ASIDE, LOST))}
    values: dict[str, dict[str, int]] = {}
    for name, count in sums.items():
        if name.startswith(LOST) and count:
            quantity, reason = name.removeprefix(LOST).split(": ")
            values.setdefault(quantity, {})[reason] = count
    return Counts(
        total=int(table[READINGS].sum()),
        used=int(table[USED].sum()),
        set_aside={rule: sums[f"{ASIDE}{rule}"] for rule in RULES if sums.get(f"{ASIDE}{rule}")},
        values_set_aside=values,
    )


def parameter_days(table: pd.DataFrame, log: NormalizedLog, fits: Sequence[StageFit]) -> ParameterDays:
    """What the membrane model is made from, by day and at the reference of the log, which must have one.

    Parameters
    ----------
    table : DataFrame
        From `day_table`: the days with used readings.
    log : NormalizedLog
        The readings of the reference period must be in it.
    fits : sequence of StageFit
        Of the readings of `log`.
    """
    assert log.reference is not None
    within = log.reference.within
    columns = parameter_columns(fits, log.forces, log.balance.feed_temperature_c)
    index = pd.DatetimeIndex(table.index)
    reference_days = np.asarray(index.isin(log.days[within]))
    closures = [str(name) for name in table.columns if "_log_" in str(name) and name not in columns]
    at_reference = {name: _median(values[within]) for name, values in columns.items()}
    at_reference |= {name: float(table[name][reference_days].mean()) for name in closures}
    return ParameterDays(
        index=index,
        daily={name: table[name].to_numpy(dtype=np.float64) for name in at_reference},
        at_reference=at_reference,
        reference_days=reference_days,
    )


def _median(values: Array) -> float:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if known.size else float("nan")
