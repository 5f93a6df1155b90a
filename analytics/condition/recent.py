"""What the last readings of a train were like, in a few numbers: what a new entry is compared with."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.plant import Meters
from analytics.quantities import COLUMNS

Array = npt.NDArray[np.float64]

FEWEST = 5
"""Readings from which something can be called usual; common practice, no source."""
NEAR = 9
"""Readings whose median is the present level, and around which the scatter is taken; common practice, no source."""
ROBUST = 1.4826
"""Median deviation to standard deviation of a normal scatter: 1 / 0.6745."""
SCATTERS, ACCURACIES = 6.0, 3.0
"""Robust scatters, and accuracies of the meter, that a value may stand off its level before it is asked about. Chosen
on the invented demo fleet, where one entry in twenty-five is then asked anything; common practice, no source."""
LEAST_SHARE = {"m3/h": 0.05, "uS/cm": 0.08, "mg/L": 0.10, "mV": 0.15, "kW": 0.10, "A": 0.10, "Hz": 0.05, "-": 0.06}
"""Share of its level by which a value may always stand off; common practice, no source. [-]"""
OTHER_SHARE = 0.5
"""The same for what is dosed, counted by eye, or drawn down: tank levels, turbidity, chlorine. [-]"""
BALANCES_WITHIN = 0.04
"""Share of the whole by which a balance may always stand off what is usual for it; common practice, no source. [-]"""


@dataclass(frozen=True)
class Level:
    """A present level, and how far from it is still usual."""

    middle: float
    width: float

    @property
    def low(self) -> float:
        return self.middle - self.width

    @property
    def high(self) -> float:
        return self.middle + self.width


@dataclass(frozen=True)
class Recent:
    """The last readings of a train.

    Attributes
    ----------
    levels : dict
        By column, of readings with the train running. Canonical units.
    last, last_at : dict
        The newest value of each column and when it was read. Canonical units; [s since 1970 in UTC]
    reading : dict
        All values of the newest reading.
    reading_at : float or None
        When that was. [s since 1970 in UTC]
    alike : float
        Greatest share of values that two readings in a row had alike. [-]
    frame : DataFrame
        The readings with the train running, for what is usual in relations between columns.
    """

    levels: Mapping[str, Level] = field(default_factory=dict)
    last: Mapping[str, float] = field(default_factory=dict)
    last_at: Mapping[str, float] = field(default_factory=dict)
    reading: Mapping[str, float] = field(default_factory=dict)
    reading_at: float | None = None
    alike: float = 0.0
    frame: pd.DataFrame = field(default_factory=pd.DataFrame)


def recent_of(readings: pd.DataFrame, meters: Meters) -> Recent:
    """Sum up the last readings of a train.

    Parameters
    ----------
    readings : DataFrame
        Canonical columns and perhaps `state`, ascending index in UTC: some sixty of them are enough.
    meters : Meters
        How exact the meters are.
    """
    columns = [str(name) for name in readings.columns if name in COLUMNS]
    if not len(readings) or not columns:
        return Recent()
    seconds = pd.DatetimeIndex(readings.index).as_unit("s").asi8
    running = readings.loc[_running(readings), columns]
    levels: dict[str, Level] = {}
    last: dict[str, float] = {}
    last_at: dict[str, float] = {}
    for name in columns:
        known = np.flatnonzero(readings[name].notna().to_numpy())
        if known.size:
            last[name] = float(readings[name].to_numpy()[known[-1]])
            last_at[name] = float(seconds[known[-1]])
        level = level_of(running[name].dropna().to_numpy(dtype=np.float64), least_width(name, meters))
        if level is not None and not COLUMNS[name].name.endswith("_counter"):
            levels[name] = level
    newest = readings[columns].iloc[-1].dropna()
    reading = {str(name): float(value) for name, value in newest.items()}
    return Recent(levels, last, last_at, reading, float(seconds[-1]), _alike(readings[columns]), running)


def level_of(values: Array, least: tuple[float, float]) -> Level | None:
    """The present level of some values and how far from it is usual; None when there are too few.

    Parameters
    ----------
    values : array
        The oldest first, without NaN. Any unit.
    least : tuple of float
        Least width, absolute and as a share of the level.
    """
    if values.size < FEWEST:
        return None
    middle = float(np.median(values[-NEAR:]))
    series = pd.Series(values)
    around = series.rolling(NEAR, center=True, min_periods=FEWEST // 2 + 1).median()
    scatter = ROBUST * float((series - around).abs().median())
    return Level(middle, max(SCATTERS * scatter, least[0], least[1] * abs(middle)))


def least_width(name: str, meters: Meters) -> tuple[float, float]:
    """Least distance from its level at which a value is asked about: absolute, and as a share of the level."""
    unit = COLUMNS[name].unit
    if unit == "bar":
        return ACCURACIES * meters.pressure_accuracy_bar, 0.0
    if unit == "degC":
        return 2 * ACCURACIES * meters.temperature_accuracy_c, 0.0
    if unit in ("m3/h", "uS/cm"):
        accuracy = meters.flow_accuracy if unit == "m3/h" else meters.conductivity_accuracy
        return 0.0, max(ACCURACIES * accuracy, LEAST_SHARE[unit])
    if unit in ("mg/L", "NTU", "L") or name == "feed_sdi":
        return 0.5, OTHER_SHARE
    return 0.0, LEAST_SHARE.get(unit, 0.10)


def _running(readings: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """Readings said to be running, and making at least half the permeate that is usual."""
    found = np.ones(len(readings), dtype=bool)
    if "state" in readings.columns:
        found &= readings["state"].isin(["", "running"]).to_numpy()
    flow = readings.get("permeate_flow_m3h")
    if flow is not None and flow.notna().any():
        made = flow.to_numpy(dtype=np.float64)
        found &= ~(made < 0.5 * np.nanmedian(made))
    return found


def _alike(values: pd.DataFrame) -> float:
    """Greatest share of values that two readings in a row had alike. [-]"""
    x = values.to_numpy(dtype=np.float64)
    both = ~np.isnan(x[1:]) & ~np.isnan(x[:-1])
    count = both.sum(axis=1)
    same = ((x[1:] == x[:-1]) & both).sum(axis=1)
    enough = count >= FEWEST
    return float((same[enough] / count[enough]).max()) if enough.any() else 0.0
