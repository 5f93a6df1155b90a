"""Which readings can be used, and why the others are set aside. One named rule per boolean column, True = broken.

A reading is either used or set aside as a whole, with the first rule that it breaks as its reason. Meters that are not
needed for the train's permeate flow lose only their own value when it cannot be true (`lost`), so that one
stuck conductivity cell does not take the flow with it.

A rule that is broken all the time accuses the meter, not the readings: they stay in use and a note says so.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.frozen import clipped_rows, frozen_rows
from analytics.condition.imbalance import flow_imbalance, out_of_balance, salt_imbalance
from analytics.condition.levels import LevelBook, ScreenLevels
from analytics.condition.running import starting_rows, stopped_rows
from analytics.condition.spikes import SLIP_CANDIDATES, slip_rows
from analytics.condition.streams import has_a_value
from analytics.plant import Plant
from analytics.quantities import COLUMNS

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
    "clipped",
    "frozen value",
    "spike",
    "value missing",
)
"""In the order in which they give a reading its reason."""

ALWAYS_BROKEN = 0.2
"""Share of running readings from which a broken rule is held to be the meter's fault; common practice, no source."""

CORE = (
    "feed_temperature_c", "feed_flow_m3h", "permeate_flow_m3h", "concentrate_flow_m3h", "feed_pressure_bar",
    "concentrate_pressure_bar", "permeate_pressure_bar", "feed_conductivity_us_cm", "feed_tds_mg_l",
)  # fmt: skip
"""What the train's permeate flow rests on: a value here that cannot be true sets the whole reading aside."""

FROZEN_CANDIDATES = ("_pressure_bar", "_conductivity_us_cm")
"""Meters that may freeze. A controlled flow stands still because it is controlled."""
CLIPPING_CANDIDATES = ("_conductivity_us_cm",)
"""Meters whose scale ends at a round figure that the water may pass. Controls hold pressures and flows at their limits:
a value met again and again is honest there."""


@dataclass(frozen=True)
class Screened:
    """Outcome of the screen.

    Attributes
    ----------
    rules : dict of bool arrays
        One per rule; the caller that knows the permeability adds to `spike`, and adds `value missing`.
    values : DataFrame
        The readings with values that cannot be true made NaN.
    lost : dict
        {quantity: {reason: bool array}}, the readings in which a meter lost only its own value.
    levels : ScreenLevels
        The thresholds that are the log's own.
    """

    rules: Mapping[str, Flags]
    values: pd.DataFrame
    lost: Mapping[str, Mapping[str, Flags]]
    levels: ScreenLevels

    @property
    def notes(self) -> tuple[str, ...]:
        """Which rules accuse a meter."""
        return tuple(self.levels.notes.values())


def screen(readings: pd.DataFrame, plant: Plant, levels: ScreenLevels | None = None) -> Screened:
    """Apply the rules that need nothing but the readings themselves.

    Parameters
    ----------
    readings : DataFrame
        Canonical columns, ascending index `taken_at` in UTC.
    plant : Plant
        Gives thresholds (`train.screening`).
    levels : ScreenLevels, optional
        Those of the log that the readings are a part of.

    Returns
    -------
    Screened
    """
    book = LevelBook(levels)
    settings = plant.train.screening
    sieve = _Sieve(readings)
    sieve.rules["not running"] = stopped_rows(readings, sieve.columns, plant, book)
    sieve.rules["start-up"] = starting_rows(
        readings, sieve.rules["not running"], settling_minutes=settings.settling_minutes
    )
    considered = sieve.good()
    _lose_impossible_values(sieve, considered)
    disorder = _pressures_out_of_order(sieve.columns, plant, sieve.count)
    sieve.rules["order of pressures"] = _unless_always(disorder, considered, "order of pressures", book)
    for rule, imbalance, tolerance in (
        ("flow balance", flow_imbalance(sieve.columns), settings.flow_balance_tolerance),
        ("salt balance", salt_imbalance(sieve.columns, plant.train), settings.salt_balance_tolerance),
    ):
        sieve.rules[rule] = out_of_balance(imbalance, considered, tolerance, rule, sieve.times, book)
    clipped = clipped_rows(sieve.meters(CLIPPING_CANDIDATES), considered, at_least=settings.clipped_readings, book=book)
    sieve.lose("clipped", clipped, considered)
    frozen = frozen_rows(sieve.meters(FROZEN_CANDIDATES), considered, at_least=settings.frozen_readings, book=book)
    sieve.lose("frozen value", frozen, considered)
    good = sieve.good()
    sieve.lose("spike", slip_rows(sieve.meters(SLIP_CANDIDATES), good, ratio=settings.spike_ratio, book=book), good)
    metered = tuple(name for name, column in sieve.columns.items() if levels is None and has_a_value(column))
    return Screened(sieve.rules, sieve.values(), sieve.lost, book.levels(metered))


class _Sieve:
    """Readings on their way through the rules: what is still believed of them, and which rules they have broken."""

    def __init__(self, readings: pd.DataFrame) -> None:
        self.readings, self.count = readings, len(readings)
        self.columns: dict[str, Array] = {c: readings[c].to_numpy() for c in readings.columns if c in COLUMNS}
        index = readings.index
        self.times = index.asi8 if isinstance(index, pd.DatetimeIndex) else np.arange(self.count)
        self.lost: dict[str, dict[str, Flags]] = {}
        self.replaced: dict[str, Array] = {}
        again = self.times[1:] == self.times[:-1]
        self.rules: dict[str, Flags] = {"duplicate": np.r_[False, again][: self.count]}

    def good(self) -> Flags:
        """Readings that have broken no rule so far."""
        return first_reason(self.rules) < 0

    def meters(self, endings: tuple[str, ...]) -> dict[str, Array]:
        """Columns of some kinds of meter."""
        return {name: values for name, values in self.columns.items() if name.endswith(endings)}

    def lose(self, rule: str, broken_by: Mapping[str, Flags], considered: Flags) -> None:
        """Make broken values NaN; a core quantity takes its reading with it, another loses only its own value."""
        taken = np.zeros(self.count, dtype=bool)
        for name, broken in broken_by.items():
            self.columns[name] = self.replaced[name] = np.where(broken, np.nan, self.columns[name])
            if name in CORE:
                taken |= broken
            elif (gone := broken & considered).any():
                self.lost.setdefault(COLUMNS[name].name, {})[rule] = gone
        self.rules[rule] = taken

    def values(self) -> pd.DataFrame:
        """The readings with values that cannot be true made NaN."""
        return self.readings.assign(**self.replaced) if self.replaced else self.readings


def _lose_impossible_values(sieve: _Sieve, considered: Flags) -> None:
    broken_by = {}
    for name, values in sieve.columns.items():
        low, high = COLUMNS[name].possible
        if sieve.count and values.min() >= low and values.max() <= high:
            continue
        broken = (values < low) | (values > high)
        if broken.any():
            broken_by[name] = broken
    sieve.lose("out of range", broken_by, considered)


def first_reason(rules: Mapping[str, Flags]) -> npt.NDArray[np.int8]:
    """Index into `RULES` of the first rule that each reading breaks, or -1 for a usable reading."""
    count = len(next(iter(rules.values())))
    reason = np.full(count, -1, dtype=np.int8)
    for position in range(len(RULES) - 1, -1, -1):
        broken = rules.get(RULES[position])
        if broken is not None and broken.any():
            reason[broken] = position
    return reason


def in_words(first_broken: npt.NDArray[np.int8], index: pd.Index) -> pd.Series:
    """The names of the rules that `first_reason` found, empty for a used reading."""
    names = np.array([*RULES, ""], dtype=object)
    return pd.Series(names[first_broken], index=index, name="reason")


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


def _unless_always(broken: Flags, considered: Flags, rule: str, book: LevelBook) -> Flags:
    """Keep the readings when a rule is broken so often that a meter must be at fault; say so."""
    running = int(np.count_nonzero(considered))
    share = np.count_nonzero(broken & considered) / running if running else 0.0
    if share > ALWAYS_BROKEN and book.given is None:
        what = rule.replace("of", "of the")
        book.notes[rule] = (
            f"The {what} is wrong in {share:.0%} of the readings: check the gauges. The readings stay in use."
        )
    always = rule in (book.notes if book.given is None else book.given.notes)
    return np.zeros(len(broken), dtype=bool) if always else broken
