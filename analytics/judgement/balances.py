"""The balances of a log that its meters must keep, as far as they are metered, with what each meter does to them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.day_table import RAW
from analytics.condition.imbalance import flow_imbalance, salt_imbalance
from analytics.condition.reference import ReferencePeriod
from analytics.judgement.meters import CLOSED, Equation, balance_drift
from analytics.plant import Train
from analytics.quantities import COLUMNS

Array = npt.NDArray[np.float64]
Columns = Mapping[str, Array]
Imbalance = Callable[[Columns, Train], Array]

TOLERANCE = {
    "flow balance": 0.03,
    "salt balance": 0.08,
    "balance of the stages' permeate": 0.03,
    "balance of salt in the permeate": 0.08,
    "pressure between pump and membranes": 0.03,
    "balance of power and water lifted": 0.10,
    "permeate counter": 0.03,
}
"""Drift that good meters are allowed; common practice, no source. Salt is wider because dissolved solids follow
conductivity only roughly over a fourfold concentration, power because a pump's efficiency follows its load. [-]"""
SALT_PER_SALINITY = 0.12
"""The salt balance moves by this share of a change of the feed's salinity, because solids follow conductivity only
roughly; seen on drawn plants. [-]"""
COMPUTED_WITH = ("feed_flow_m3h", "concentrate_flow_m3h")
"""Flows that are left out where one of the three is computed; which of them it is, the log does not say."""
NUDGE = 1e-3
PUMP_LOSS = 0.10
"""A pressure loss between pump and membranes beyond this share is a throttle, which somebody turns. [-]"""


@dataclass(frozen=True)
class _Balance:
    name: str
    meters: tuple[str, ...]
    imbalance: Imbalance


@dataclass(frozen=True)
class DailyBalance:
    """One balance day by day.

    Attributes
    ----------
    name : str
    imbalance : Series
        By local day, (in - out) / in. [-]
    tolerance : float
        Drift that good meters are allowed. [-]
    moves : mapping
        Meter -> change of the imbalance for a meter that reads twice the truth, from a small change. [-]
    """

    name: str
    imbalance: pd.Series
    tolerance: float
    moves: Mapping[str, float]


def daily_balances(days: pd.DataFrame, train: Train, period: tuple[pd.Timestamp, pd.Timestamp]) -> list[DailyBalance]:
    """Balances that are metered throughout, day by day.

    Parameters
    ----------
    days : DataFrame
        The medians of what was measured, by local day, as `raw_<column>`.
    train : Train
    period : pair of Timestamp
        First and last day of the reference, at whose conditions the meters move the balances.
    """
    within = np.asarray((days.index >= period[0]) & (days.index <= period[1]))
    measured = {str(c).removeprefix(RAW): c for c in days.columns if str(c).startswith(RAW)}
    columns = {name: days[column].to_numpy(dtype=np.float64) for name, column in measured.items()}
    columns = {name: values for name, values in columns.items() if np.isfinite(values).any()}
    if _is_computed(columns, train):
        columns = {name: values for name, values in columns.items() if name not in COMPUTED_WITH}
    usual = {name: _usual(values, within) for name, values in columns.items()}
    return [
        DailyBalance(
            balance.name,
            pd.Series(balance.imbalance(columns, train), days.index),
            TOLERANCE[balance.name],
            _moves(balance, usual, train),
        )
        for balance in _balances(set(columns), train)
    ]


def equations_of_days(
    days: pd.DataFrame, train: Train, reference: ReferencePeriod | None, salinity_change: float = 0.0
) -> tuple[Equation, ...]:
    """Balances that are metered throughout, and how they have drifted since the reference.

    Parameters
    ----------
    days : DataFrame
        Of `day_table`: the medians of what was measured, by local day.
    train : Train
    reference : ReferencePeriod or None
        Without one, nothing has drifted.
    salinity_change : float
        Of the feed since the reference: another water has other solids for its conductivity. [-]
    """
    if reference is None:
        return ()
    period = (pd.Timestamp(reference.start), pd.Timestamp(reference.end))
    found = []
    for balance in daily_balances(days, train, period):
        drift = balance_drift(balance.imbalance, reference=period)
        if drift is not None:
            more = SALT_PER_SALINITY * abs(salinity_change) if balance.name == "salt balance" else 0.0
            found.append(Equation(balance.name, drift, balance.tolerance + more, balance.moves))
    return tuple(equation for equation in found if equation.moves)


def _is_computed(columns: Columns, train: Train) -> bool:
    """Whether one of the three flows is worked out from the two others: then no balance of flows tells on a meter."""
    if not {"feed_flow_m3h", "permeate_flow_m3h", "concentrate_flow_m3h"} <= set(columns):
        return False
    imbalance = np.abs(_flow(columns, train))
    known = imbalance[np.isfinite(imbalance)]
    return bool(known.size) and float(np.median(known)) < CLOSED


def _usual(values: Array, within: npt.NDArray[np.bool_]) -> Array:
    """Median of the reference as an array of one."""
    known = values[within]
    known = known[np.isfinite(known)]
    return np.array([np.median(known) if known.size else np.nan])


def _moves(balance: _Balance, usual: Columns, train: Train) -> dict[str, float]:
    """What a small error of each meter does to the balance, at the conditions of the reference."""
    before = float(balance.imbalance(usual, train)[0])
    moves = {}
    for column in balance.meters:
        nudged = {**usual, column: usual[column] * (1 + NUDGE)}
        move = (float(balance.imbalance(nudged, train)[0]) - before) / NUDGE
        if np.isfinite(move):
            moves[COLUMNS[column].name] = move
    return moves


def _balances(there: set[str], train: Train) -> list[_Balance]:
    """Balances whose meters are all there."""
    stages = range(1, len(train.stages) + 1)
    flows = [f"stage{n}_permeate_flow_m3h" for n in stages]
    cells = [f"stage{n}_permeate_conductivity_us_cm" for n in stages]
    three = ("feed_flow_m3h", "permeate_flow_m3h", "concentrate_flow_m3h")
    two = tuple(name for name in three if name in there)
    ends = ("feed_conductivity_us_cm", "concentrate_conductivity_us_cm")
    pressure = "pump_discharge_pressure_bar" if "pump_discharge_pressure_bar" in there else "feed_pressure_bar"
    all_but_last = (*flows[:-1], "permeate_flow_m3h", "permeate_conductivity_us_cm", *cells)
    wanted = [
        _Balance("flow balance", three, _flow),
        _Balance("salt balance", (*two, *ends), _salt if len(two) >= 2 else _never),
        _Balance("balance of the stages' permeate", ("permeate_flow_m3h", *flows), _staged(flows)),
        _Balance("balance of salt in the permeate", all_but_last, _permeate_salt(flows, cells)),
        _Balance("pressure between pump and membranes", ("feed_pressure_bar", "pump_discharge_pressure_bar"), _pump),
        _Balance("balance of power and water lifted", ("feed_flow_m3h", pressure, "pump_power_kw"), _power(pressure)),
        _Balance("permeate counter", ("permeate_flow_m3h", "permeate_counter_m3", "hours_counter_h"), _counter),
    ]
    single = {"balance of the stages' permeate", "balance of salt in the permeate"} if len(flows) == 1 else set()
    return [b for b in wanted if there.issuperset(b.meters) and b.name not in single]


def _never(columns: Columns, train: Train) -> Array:
    return np.full(len(next(iter(columns.values()))), np.nan)


def _over(part: Array, whole: Array) -> Array:
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(whole > 0, part / whole, np.nan)


def _flow(columns: Columns, train: Train) -> Array:
    found = flow_imbalance(columns)
    return _never(columns, train) if found is None else found


def _salt(columns: Columns, train: Train) -> Array:
    """Salt fed less salt in the concentrate, as a share of that fed: two flows are enough, and permeate carries next to
    none."""
    feed, permeate, concentrate = (columns.get(f"{which}_flow_m3h") for which in ("feed", "permeate", "concentrate"))
    if feed is None and permeate is not None and concentrate is not None:
        feed = permeate + concentrate
    if concentrate is None and feed is not None and permeate is not None:
        concentrate = feed - permeate
    if feed is None or concentrate is None:
        return _never(columns, train)
    found = salt_imbalance({**columns, "feed_flow_m3h": feed, "concentrate_flow_m3h": concentrate}, train)
    return _never(columns, train) if found is None else found


def _staged(flows: list[str]) -> Imbalance:
    def imbalance(columns: Columns, train: Train) -> Array:
        return 1 - _over(np.sum([columns[name] for name in flows], axis=0), columns["permeate_flow_m3h"])

    return imbalance


def _permeate_salt(flows: list[str], cells: list[str]) -> Imbalance:
    def imbalance(columns: Columns, train: Train) -> Array:
        whole = columns["permeate_flow_m3h"]
        drawn = [columns[name] for name in flows[:-1]]
        parts = [*drawn, whole - np.sum(drawn, axis=0)]
        salt = np.sum([part * columns[cell] for part, cell in zip(parts, cells, strict=True)], axis=0)
        return 1 - _over(salt, whole * columns["permeate_conductivity_us_cm"])

    return imbalance


def _pump(columns: Columns, train: Train) -> Array:
    lost = 1 - _over(columns["feed_pressure_bar"], columns["pump_discharge_pressure_bar"])
    return np.where(np.abs(lost) < 2 * PUMP_LOSS, lost, np.nan)


def _power(pressure: str) -> Imbalance:
    """Water lifted over electrical power, as a logarithm: 1 m3/h bar is 1/36 kW, which the drift leaves out."""

    def imbalance(columns: Columns, train: Train) -> Array:
        suction = columns.get("pump_suction_pressure_bar", np.zeros_like(columns[pressure]))
        ratio = _over(columns["feed_flow_m3h"] * (columns[pressure] - suction), columns["pump_power_kw"])
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(ratio > 0, np.log(ratio), np.nan)

    return imbalance


def _counter(columns: Columns, train: Train) -> Array:
    """Flow by the counters of water and hours, against the flow meter."""
    if len(columns["permeate_flow_m3h"]) == 1:  # usual values, for what an error of each does
        return np.log(columns["permeate_flow_m3h"] * columns["hours_counter_h"] / columns["permeate_counter_m3"])
    water, hours = (np.diff(columns[name], prepend=np.nan) for name in ("permeate_counter_m3", "hours_counter_h"))
    counted = _over(np.where(water > 0, water, np.nan), hours)
    return 1 - _over(counted, columns["permeate_flow_m3h"])
