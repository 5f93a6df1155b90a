"""A log from screen to indicators: the order of the steps inside this room, and the frozen result of all of them."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.forces import ScopeForces, forces_columns
from analytics.condition.levels import ScreenLevels
from analytics.condition.reference import ReferencePeriod
from analytics.condition.screen import RULES, Flags, in_words
from analytics.condition.screened_log import LogBasis, ScreenedLog, screen_log, streams_of
from analytics.condition.standard import Conditions, normalize, ratios, reference_conditions
from analytics.condition.streams import Array, Balance
from analytics.plant import Plant


@dataclass(frozen=True)
class NormalizedLog:
    """Every reading with every intermediate, and why it was set aside.

    Attributes
    ----------
    readings : DataFrame
        As given, values that cannot be true made NaN.
    rules : dict of bool arrays
        True = rule broken.
    lost : dict
        {quantity: {reason: bool array}}, readings in which a meter lost only its own value.
    levels : ScreenLevels
        The thresholds that are the log's own.
    first_broken : array of int
        Position in `RULES` of the first rule that a reading breaks; -1 for a used one.
    reason : Series of str
        The same in words; empty for a used one.
    columns, normalized : dict of arrays, and the same as a DataFrame
        `<scope>_<what>`; indicators are `<scope>_permeate_flow` and so on, ratios to the reference.
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
    balance: Balance
    forces: tuple[ScopeForces, ...]
    reference: ReferencePeriod | None
    no_reference: str
    conditions: tuple[Conditions, ...]
    columns: Mapping[str, Array]
    indicators: Mapping[str, Array]
    notes: tuple[str, ...]

    @cached_property
    def normalized(self) -> pd.DataFrame:
        """Every intermediate and indicator as a frame; made when it is asked for, since it copies all of them."""
        return pd.DataFrame(dict(self.columns), index=self.readings.index)

    @property
    def walked(self) -> npt.NDArray[np.bool_]:
        """Readings that are used, or only lack what the indicators need: a walk before the membranes, an SDI test."""
        return np.asarray(self.used | (self.first_broken == RULES.index("value missing")))

    @cached_property
    def reason(self) -> pd.Series:
        """Why each reading was set aside; made when it is asked for."""
        return in_words(self.first_broken, self.readings.index)

    @property
    def values_set_aside(self) -> dict[str, dict[str, int]]:
        """{quantity: {reason: count}} for meters that lost only their own value."""
        return {
            quantity: {reason: int(np.count_nonzero(rows)) for reason, rows in by_reason.items()}
            for quantity, by_reason in self.lost.items()
        }

    @property
    def used(self) -> Flags:
        return self.first_broken < 0


def normalize_log(plant: Plant, readings: pd.DataFrame, basis: LogBasis | None = None) -> NormalizedLog:
    """Screen the readings and normalize them by the standard method.

    Parameters
    ----------
    plant : Plant
    readings : DataFrame
        Index `taken_at` (UTC), canonical columns; `state` where the log has one. Where it is not in order of time it is
        put in order first, readings of one instant as they come.
    basis : LogBasis, optional
        Of the log that the readings are a part of: its reference period, and days of their own.
    """
    return normalize_screened(screen_log(plant, readings, basis))


def normalize_screened(screened: ScreenedLog) -> NormalizedLog:
    """Normalize by the standard method what has been screened."""
    plant, reference = screened.plant, screened.reference
    metered = None if screened.given is None else screened.given.metered
    streams = screened.streams or streams_of(screened.readings, plant, metered)
    balance, forces = streams.balance, streams.forces
    columns: dict[str, Array] = {}
    indicators: dict[str, Array] = {}
    conditions: list[Conditions] = []
    exponent = plant.train.method.pressure_drop_exponent
    for scope in forces if reference is not None else ():
        assert reference is not None
        conditions.append(reference_conditions(scope, reference.within))
        normalized = normalize(scope, conditions[-1], pressure_drop_exponent=exponent)
        columns |= {f"{scope.scope}_{name}": values for name, values in normalized.items()}
        indicators |= {f"{scope.scope}_{name}": v for name, v in ratios(normalized, reference.within).items()}
    return NormalizedLog(
        plant=plant,
        readings=screened.readings,
        days=screened.days,
        rules=screened.rules,
        first_broken=screened.first_broken,
        lost=screened.lost,
        levels=screened.levels,
        balance=balance,
        forces=forces,
        reference=reference,
        no_reference=screened.no_reference,
        conditions=tuple(conditions),
        columns=forces_columns(forces) | columns | indicators,
        indicators=indicators,
        notes=(*balance.notes, *screened.notes),
    )
