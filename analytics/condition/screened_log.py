"""A log screened: every reading with its reason, the reference period, and what a part of the log must be told."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.balance import complete_streams
from analytics.condition.daily import local_days
from analytics.condition.forces import ScopeForces, driving_forces
from analytics.condition.levels import ScreenLevels
from analytics.condition.reference import ReferencePeriod, reference_period
from analytics.condition.screen import Flags, first_reason, in_words, screen
from analytics.condition.spikes import SLIP_CANDIDATES, spikes, with_scatter
from analytics.condition.streams import Array, Balance
from analytics.errors import NoReference
from analytics.plant import Plant, Reference

MAIN_FIGURE = "main figure"
LONG = 250_000
"""Readings beyond which a log is worked out part by part, so that not all its intermediates are there at once. [-]"""
ROWS_AT_ONCE = 50_000
"""Readings of a long log that are worked on at a time. [-]"""


@dataclass(frozen=True)
class LogBasis:
    """What a part of a log cannot know by itself: the levels of its screen, and the reference with who chose it."""

    levels: ScreenLevels
    start: date
    end: date
    chosen: str


@dataclass(frozen=True)
class DrivenStreams:
    """The streams of some readings, and what drives them."""

    balance: Balance
    forces: tuple[ScopeForces, ...]


@dataclass(frozen=True)
class ScreenedLog:
    """Every reading, and why it was set aside.

    Attributes
    ----------
    readings : DataFrame
        As given, in order of time, values that cannot be true made NaN.
    days : DatetimeIndex
        Local day of each.
    rules : dict of bool arrays
        True = rule broken.
    first_broken : array of int
        Position in `RULES` of the first rule that a reading breaks; -1 for a used one.
    lost : dict
        {quantity: {reason: bool array}}, readings in which a meter lost only its own value.
    levels : ScreenLevels
        The thresholds that are the log's own.
    given : ScreenLevels or None
        Those of the log that the readings are a part of.
    main : array or None
        See `main_figure`.
    reference : ReferencePeriod or None
        None when there is none; `no_reference` says why.
    """

    plant: Plant
    readings: pd.DataFrame
    days: pd.DatetimeIndex
    rules: Mapping[str, Flags]
    first_broken: npt.NDArray[np.int8]
    lost: Mapping[str, Mapping[str, Flags]]
    levels: ScreenLevels
    given: ScreenLevels | None
    main: Array | None
    reference: ReferencePeriod | None
    no_reference: str
    notes: tuple[str, ...]
    streams: DrivenStreams | None = None

    @property
    def used(self) -> Flags:
        return self.first_broken < 0

    @cached_property
    def reason(self) -> pd.Series:
        """Why each reading was set aside, empty for a used one; made when it is asked for."""
        return in_words(self.first_broken, self.readings.index)

    def part(self, rows: npt.NDArray[np.int64]) -> "ScreenedLog":
        """Some of the readings, those of the reference among them, judged as in the whole."""
        reference = self.reference
        return replace(
            self,
            readings=self.readings.iloc[rows],
            days=self.days[rows],
            rules={rule: broken[rows] for rule, broken in self.rules.items()},
            first_broken=self.first_broken[rows],
            lost={name: {why: gone[rows] for why, gone in of.items()} for name, of in self.lost.items()},
            given=self.levels if self.given is None else self.given,
            main=None if self.main is None else self.main[rows],
            reference=None if reference is None else replace(reference, within=reference.within[rows]),
            streams=None,
        )


def screen_log(plant: Plant, readings: pd.DataFrame, basis: LogBasis | None = None) -> ScreenedLog:
    """Screen the readings, and find the reference; see `normalize_log`."""
    if not readings.index.is_monotonic_increasing:
        readings = readings.sort_index(kind="stable")
    levels = None if basis is None else basis.levels
    screened = screen(readings, plant, levels)
    rules = dict(screened.rules)
    streams = None
    if len(readings) <= LONG:
        streams = streams_of(screened.values, plant, None if levels is None else levels.metered)
        main = main_figure(streams.forces)
    else:
        main = _main_figure_by_parts(screened.values, plant, screened.levels if levels is None else levels)
    _screen_by_permeability(rules, main, plant, levels)
    reason = first_reason(rules)
    days = local_days(pd.DatetimeIndex(readings.index), plant.site.timezone)
    try:
        stated = plant.train.reference if basis is None else Reference(basis.start, basis.end)
        reference, why = reference_period(days, reason < 0, stated), ""
    except NoReference as error:
        reference, why = None, str(error)
    if basis is not None and reference is not None:
        reference = replace(reference, chosen=basis.chosen)
    return ScreenedLog(
        plant=plant,
        readings=screened.values,
        days=days,
        rules=rules,
        first_broken=reason,
        lost=screened.lost,
        levels=screened.levels,
        given=levels,
        main=main,
        reference=reference,
        no_reference=why,
        notes=screened.notes,
        streams=streams,
    )


def _main_figure_by_parts(readings: pd.DataFrame, plant: Plant, levels: ScreenLevels) -> Array | None:
    parts = [
        main_figure(streams_of(readings.iloc[start : start + ROWS_AT_ONCE], plant, levels.metered).forces)
        for start in range(0, len(readings), ROWS_AT_ONCE)
    ]
    known = [part for part in parts if part is not None]
    return np.concatenate(known) if len(known) == len(parts) else None


def streams_of(readings: pd.DataFrame, plant: Plant, metered: Collection[str] | None) -> DrivenStreams:
    """The streams of some readings; `metered` as in `complete_streams`."""
    balance = complete_streams(readings, plant, metered)
    return DrivenStreams(balance, driving_forces(balance, plant))


def _screen_by_permeability(
    rules: dict[str, Flags], main: Array | None, plant: Plant, levels: ScreenLevels | None
) -> None:
    """Add to `spike`, and add `value missing`: both seen in the train's permeability, which shows small slips, too."""
    settings = plant.train.screening
    broken = first_reason(rules) >= 0
    if main is None:
        rules["value missing"] = np.ones(len(broken), dtype=bool)
        return
    usual = None if levels is None else levels.numbers.get(f"scatter {MAIN_FIGURE}")
    rules["spike"] = rules["spike"] | spikes(
        main, ~broken, ratio=settings.spike_ratio, least_change=settings.spike_least_change, usual=usual
    )
    rules["value missing"] = np.isnan(main)


def main_figure(forces: tuple[ScopeForces, ...]) -> Array | None:
    """The permeability of the train; where there is none, another figure that changes slowly."""
    main = forces[0].water_permeability_lmh_bar
    if main is None:
        main = next((a for s in forces for a in (s.salt_passage, s.drop_coefficient) if a is not None), None)
    return main


def basis_of(log: ScreenedLog) -> LogBasis | None:
    """What a part of this log needs to be worked out as in the whole; None where there is no reference."""
    if log.reference is None:
        return None
    columns = {name: log.readings[name].to_numpy() for name in log.readings.columns if name.endswith(SLIP_CANDIDATES)}
    levels = with_scatter(log.levels, columns if log.main is None else {**columns, MAIN_FIGURE: log.main}, log.used)
    return LogBasis(levels, log.reference.start, log.reference.end, log.reference.chosen)
