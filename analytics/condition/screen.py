"""Which readings can be used, and why the others are set aside. One named rule per boolean column, True = broken.

A reading is either used or set aside as a whole, with the first rule that it breaks as its reason. Meters that are not
needed for the train's permeate flow lose only their own value when it cannot be true (`values_set_aside`), so that one
stuck conductivity cell does not take the flow with it.

A rule that is broken all the time accuses the meter, not the readings: they stay in use and a note says so.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.frozen import clipped_rows, frozen_rows
from analytics.physics.water import tds_from_conductivity
from analytics.plant import Plant
from analytics.quantities import COLUMNS, QUANTITIES

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

RULES = (
    "duplicate",
    "not running",
    "start-up",
    "out of range",
    "order of pressures",
    "flow balance",
    "salt balance",
    "frozen value",
    "spike",
    "value missing",
)
"""In the order in which they give a reading its reason."""

ALWAYS_BROKEN = 0.2
"""Share of running readings from which a broken rule is held to be the meter's fault; common practice, no source."""

STRETCH, MOST_STRETCHES = 30, 200
"""Fewest readings whose median is the usual imbalance of their time, and most stretches of a log: a meter that drifts
or was exchanged moves what is usual, and a slip of the pen does not. Common practice, no source."""

CORE = (
    "feed_temperature_c", "feed_flow_m3h", "permeate_flow_m3h", "concentrate_flow_m3h", "feed_pressure_bar",
    "concentrate_pressure_bar", "permeate_pressure_bar", "feed_conductivity_us_cm", "feed_tds_mg_l",
)  # fmt: skip
"""What the train's permeate flow rests on: a value here that cannot be true sets the whole reading aside."""

FROZEN_CANDIDATES = ("_pressure_bar", "_conductivity_us_cm")
"""Meters that may freeze. A controlled flow stands still because it is controlled."""
CLIPPING_CANDIDATES = ("_conductivity_us_cm",)
"""Meters whose transmitter ends at a round figure that the water may pass."""
SLIP_CANDIDATES = ("_flow_m3h", "_pressure_bar", "_conductivity_us_cm", "_tds_mg_l")
SLIP_LEAST = 0.3
"""Share of its level by which a single value must stand apart from its neighbours to be a slip of the pen: swapped
digits, a lost point and another unit mostly do. Common practice, no source. [-]"""


@dataclass(frozen=True)
class Screened:
    """Outcome of the screen.

    Attributes
    ----------
    rules : dict of bool arrays
        One per rule; the caller that knows the permeability adds to `spike`, and adds `value missing`.
    values : DataFrame
        The readings with values that cannot be true made NaN.
    values_set_aside : dict
        {quantity: {reason: count}} for meters that lost only their own value.
    notes : tuple of str
    """

    rules: Mapping[str, Flags]
    values: pd.DataFrame
    values_set_aside: Mapping[str, Mapping[str, int]]
    notes: tuple[str, ...]


def screen(readings: pd.DataFrame, plant: Plant) -> Screened:
    """Apply the rules that need nothing but the readings themselves.

    Parameters
    ----------
    readings : DataFrame
        Canonical columns, ascending index `taken_at` in UTC.
    plant : Plant
        Gives thresholds (`train.screening`).

    Returns
    -------
    Screened
    """
    settings = plant.train.screening
    columns = {c: readings[c].to_numpy() for c in readings.columns if c in COLUMNS}
    count = len(readings)
    times = readings.index.asi8 if isinstance(readings.index, pd.DatetimeIndex) else np.arange(count)
    rules: dict[str, Flags] = {}
    rules["duplicate"] = np.r_[False, times[1:] == times[:-1]] if count else np.zeros(0, dtype=bool)
    rules["not running"] = _not_running(readings, columns, plant)
    rules["start-up"] = _starting(readings, rules["not running"], settling_minutes=settings.settling_minutes)
    considered = ~(rules["duplicate"] | rules["not running"] | rules["start-up"])

    notes: list[str] = []
    replaced: dict[str, Array] = {}
    lost: dict[str, dict[str, int]] = {}
    rules["out of range"] = np.zeros(count, dtype=bool)
    for name, values in columns.items():
        low, high = COLUMNS[name].possible
        if count and values.min() >= low and values.max() <= high:
            continue
        broken = (values < low) | (values > high)
        if broken.any():
            _apply(name, "out of range", broken, considered, rules, replaced, columns, lost)
    rules["order of pressures"] = _unless_always(
        _pressures_out_of_order(columns, plant, count), considered, "The order of the pressures", notes
    )
    rules["flow balance"] = _out_of_balance(flow_imbalance(columns), considered, settings.flow_balance_tolerance)
    rules["salt balance"] = _out_of_balance(salt_imbalance(columns, plant), considered, settings.salt_balance_tolerance)
    rules["frozen value"] = np.zeros(count, dtype=bool)
    candidates = {n: v for n, v in columns.items() if n.endswith(FROZEN_CANDIDATES)}
    for name, broken in frozen_rows(candidates, considered, at_least=settings.frozen_readings).items():
        _apply(name, "frozen value", broken, considered, rules, replaced, columns, lost)
    cells = {n: v for n, v in columns.items() if n.endswith(CLIPPING_CANDIDATES)}
    for name, broken in clipped_rows(cells, considered).items():
        _apply(name, "frozen value", broken, considered, rules, replaced, columns, lost)
    rules["spike"] = np.zeros(count, dtype=bool)
    good = first_reason(rules) < 0
    for name, values in list(columns.items()):
        if name.endswith(SLIP_CANDIDATES) and (broken := _slips(values, good, ratio=settings.spike_ratio)).any():
            _apply(name, "spike", broken, good, rules, replaced, columns, lost)
    return Screened(rules, readings.assign(**replaced) if replaced else readings, lost, tuple(notes))


def first_reason(rules: Mapping[str, Flags]) -> npt.NDArray[np.int8]:
    """Index into `RULES` of the first rule that each reading breaks, or -1 for a usable reading."""
    count = len(next(iter(rules.values())))
    reason = np.full(count, -1, dtype=np.int8)
    for position in range(len(RULES) - 1, -1, -1):
        broken = rules.get(RULES[position])
        if broken is not None and broken.any():
            reason[broken] = position
    return reason


def spikes(values: Array, considered: Flags, *, ratio: float, least_change: float) -> Flags:
    """Single readings that stand apart from both neighbours.

    Parameters
    ----------
    values : array
        A figure that changes slowly in truth, such as the permeability. Any unit.
    considered : bool array
        Readings that broke no rule so far.
    ratio : float
        How far beyond the usual scatter between neighbours (its 90th percentile). [-]
    least_change : float
        Share of the level that a spike must exceed in any case. [-]

    Notes
    -----
    Compares with the median of the reading and its two neighbours, so a lasting step is no spike. The last reading is
    compared with the two before it, the first with the two after it.
    """
    flags = np.zeros(len(values), dtype=bool)
    at = np.flatnonzero(considered & ~np.isnan(values))
    if at.size < 5:
        return flags
    x = values if at.size == len(values) else values[at]
    middle = np.empty_like(x)
    lower, higher = np.minimum(x[1:-1], x[:-2]), np.maximum(x[1:-1], x[:-2])
    middle[1:-1] = np.maximum(lower, np.minimum(higher, x[2:]))
    middle[0], middle[-1] = np.median(x[:3]), np.median(x[-3:])
    away = np.abs(x - middle)
    step = max(1, away.size // 20_000)
    usual = float(np.quantile(away[::step], 0.9))
    flags[at[away > np.maximum(ratio * usual, least_change * np.abs(middle))]] = True
    return flags


def _slips(values: Array, considered: Flags, *, ratio: float) -> Flags:
    """Single values of one meter that stand apart from both neighbours; most logs have none, so a quick look first."""
    nothing = np.zeros(len(values), dtype=bool)
    x = values if considered.all() else values[considered]
    if x.size < 2 or x.max() <= (1 + SLIP_LEAST) * x.min():
        return nothing
    size = np.abs(x)
    with np.errstate(invalid="ignore"):
        far = np.abs(np.diff(x)) > SLIP_LEAST * np.minimum(size[1:], size[:-1])
    blanks = bool(np.isnan(x).any())
    return spikes(values, considered, ratio=ratio, least_change=SLIP_LEAST) if blanks or far.any() else nothing


def _apply(
    name: str,
    rule: str,
    broken: Flags,
    considered: Flags,
    rules: dict[str, Flags],
    replaced: dict[str, Array],
    columns: dict[str, Array],
    lost: dict[str, dict[str, int]],
) -> None:
    """Make broken values NaN; a core quantity takes its reading with it, another loses only its own value."""
    columns[name] = replaced[name] = np.where(broken, np.nan, columns[name])
    if name in CORE:
        rules[rule] = rules[rule] | broken
    elif (count := int(np.count_nonzero(broken & considered))) > 0:
        by_reason = lost.setdefault(COLUMNS[name].name, {})
        by_reason[rule] = by_reason.get(rule, 0) + count


def _not_running(readings: pd.DataFrame, columns: Mapping[str, Array], plant: Plant) -> Flags:
    """Said to be stopped, or making less permeate than the threshold."""
    settings = plant.train.screening
    stopped = np.zeros(len(readings), dtype=bool)
    if "state" in readings.columns:
        stopped |= (readings["state"] == "stopped").to_numpy(dtype=bool)
    flow = _running_flow(columns)
    if flow is None:
        return stopped
    threshold = settings.running_permeate_flow_m3h
    if threshold is None:
        made = flow[(flow > 0) & (flow <= QUANTITIES["permeate_flow"].possible[1]) & ~stopped]
        if not made.size:
            return stopped | (flow <= 0)
        usual = float(np.median(made[:: max(1, made.size // 20_000)]))
        threshold = settings.running_share_of_usual_flow * usual
    return stopped | (flow < threshold)


def _running_flow(columns: Mapping[str, Array]) -> Array | None:
    """Permeate flow as metered: that of the train, else of stage 1, else feed less concentrate."""
    for name in ("permeate_flow_m3h", "stage1_permeate_flow_m3h"):
        if name in columns:
            return columns[name]
    if "feed_flow_m3h" in columns and "concentrate_flow_m3h" in columns:
        return columns["feed_flow_m3h"] - columns["concentrate_flow_m3h"]
    return None


def _starting(readings: pd.DataFrame, not_running: Flags, *, settling_minutes: float) -> Flags:
    """Said to be starting, or within the settling time after a reading that was not running."""
    starting = np.zeros(len(readings), dtype=bool)
    if "state" in readings.columns:
        starting |= (readings["state"] == "starting").to_numpy(dtype=bool)
    at = np.flatnonzero(not_running)
    if at.size and isinstance(readings.index, pd.DatetimeIndex):
        minutes = readings.index.as_unit("s").asi8 / 60
        previous = np.searchsorted(at, np.arange(len(readings)), side="right") - 1
        since = np.where(previous >= 0, minutes - minutes[at[np.maximum(previous, 0)]], np.inf)
        starting |= (since > 0) & (since < settling_minutes)
    return starting & ~not_running


def _pressures_out_of_order(columns: Mapping[str, Array], plant: Plant, count: int) -> Flags:
    """Pressures must fall along the water's path and stay above the permeate's; a booster starts the path anew."""
    tolerance = plant.train.screening.pressure_tolerance_bar
    broken = np.zeros(count, dtype=bool)
    upstream: Array | None = columns.get("feed_pressure_bar")
    if upstream is not None and "pump_suction_pressure_bar" in columns:
        broken |= columns["pump_suction_pressure_bar"] > upstream + tolerance
    for number, stage in enumerate(plant.train.stages, start=1):
        into = columns.get(f"stage{number}_feed_pressure_bar")
        if stage.booster:
            upstream = into
        elif into is not None:
            broken |= _rises(upstream, into, tolerance)
            upstream = into
        last = number == len(plant.train.stages)
        out = (
            columns.get("concentrate_pressure_bar") if last else columns.get(f"stage{number}_concentrate_pressure_bar")
        )
        if out is not None:
            broken |= _rises(upstream, out, tolerance)
            upstream = out
    permeate = columns.get("permeate_pressure_bar")
    return broken | (_rises(upstream, permeate, tolerance) if permeate is not None else False)


def _rises(upstream: Array | None, downstream: Array, tolerance: float) -> Flags:
    if upstream is None:
        return np.zeros(len(downstream), dtype=bool)
    return downstream > upstream + tolerance


def _unless_always(broken: Flags, considered: Flags, what: str, notes: list[str]) -> Flags:
    """Keep the readings when a rule is broken so often that a meter must be at fault; say so."""
    running = int(np.count_nonzero(considered))
    share = np.count_nonzero(broken & considered) / running if running else 0.0
    if share > ALWAYS_BROKEN:
        notes.append(f"{what} is wrong in {share:.0%} of the readings: check the gauges. The readings stay in use.")
        return np.zeros(len(broken), dtype=bool)
    return broken


def flow_imbalance(columns: Mapping[str, Array]) -> Array | None:
    """(Feed - permeate - concentrate) / feed, where all three are metered. [-]"""
    names = ("feed_flow_m3h", "permeate_flow_m3h", "concentrate_flow_m3h")
    if not all(name in columns for name in names):
        return None
    feed, permeate, concentrate = (columns[name] for name in names)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(feed > 0, (feed - permeate - concentrate) / feed, np.nan)


def salt_imbalance(columns: Mapping[str, Array], plant: Plant) -> Array | None:
    """(Salt fed - salt in the concentrate) / salt fed, where both are metered; permeate carries next to none. [-]"""
    names = ("feed_flow_m3h", "concentrate_flow_m3h", "feed_conductivity_us_cm", "concentrate_conductivity_us_cm")
    if not all(name in columns for name in names):
        return None
    feed, concentrate = columns["feed_flow_m3h"], columns["concentrate_flow_m3h"]
    factor = plant.train.assumed.tds_per_conductivity
    into, out = (
        np.asarray(tds_from_conductivity(columns[name], water=plant.train.water, factor=factor)) for name in names[2:]
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where((feed > 0) & (into > 0), 1 - concentrate * out / (feed * into), np.nan)


def _out_of_balance(imbalance: Array | None, considered: Flags, tolerance: float) -> Flags:
    """Apart from the usual imbalance of their time: a lasting one accuses a meter (see `meters`), not the reading."""
    flags = np.zeros(len(considered), dtype=bool)
    if imbalance is None:
        return flags
    known = np.flatnonzero(considered & ~np.isnan(imbalance))
    if not known.size:
        return flags
    x = imbalance if known.size == len(imbalance) else imbalance[known]
    low, high = _usual_range(x)
    flags[known] = (x < low - tolerance) | (x > high + tolerance)
    return flags


def _usual_range(x: Array) -> tuple[Array, Array]:
    """Least and greatest median of the stretch that each value lies in and of the two beside it."""
    size = max(STRETCH, -(-x.size // MOST_STRETCHES))
    stretches = [x[start : start + size] for start in range(0, max(x.size - size // 2, 1), size)]
    medians = np.array([np.median(part[:: max(1, part.size // 2_000)]) for part in stretches])
    beside = np.stack([np.r_[medians[:1], medians[:-1]], medians, np.r_[medians[1:], medians[-1:]]])
    lengths = np.full(len(medians), size)
    lengths[-1] = x.size - size * (len(medians) - 1)
    return np.repeat(beside.min(axis=0), lengths), np.repeat(beside.max(axis=0), lengths)
