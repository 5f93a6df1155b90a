"""A log from screen to indicators: the order of the steps inside this room, and the frozen result of all of them."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.balance import complete_streams
from analytics.condition.daily import local_days
from analytics.condition.reference import ReferencePeriod, reference_period
from analytics.condition.screen import RULES, Flags, first_reason, screen, spikes
from analytics.condition.standard import (
    Conditions,
    ScopeForces,
    driving_forces,
    forces_columns,
    normalize,
    ratios,
    reference_conditions,
)
from analytics.condition.streams import Array, Balance
from analytics.errors import NoReference
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
    values_set_aside: Mapping[str, Mapping[str, int]]
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

    @cached_property
    def reason(self) -> pd.Series:
        """Why each reading was set aside; made when it is asked for."""
        names = np.array([*RULES, ""], dtype=object)
        return pd.Series(names[self.first_broken], index=self.readings.index, name="reason")

    @property
    def used(self) -> Flags:
        return self.first_broken < 0


def normalize_log(plant: Plant, readings: pd.DataFrame) -> NormalizedLog:
    """Screen the readings and normalize them by the standard method.

    Parameters
    ----------
    plant : Plant
    readings : DataFrame
        Index `taken_at` (UTC), canonical columns; `state` where the log has one. Where it is not in order of time it is
        put in order first, readings of one instant as they come.
    """
    if not readings.index.is_monotonic_increasing:
        readings = readings.sort_index(kind="stable")
    screened = screen(readings, plant)
    balance = complete_streams(screened.values, plant)
    forces = driving_forces(balance, plant)
    rules = dict(screened.rules)
    _screen_by_permeability(rules, forces, plant)
    reason = first_reason(rules)
    used = reason < 0
    days = local_days(pd.DatetimeIndex(readings.index), plant.site.timezone)
    try:
        reference, why = reference_period(days, used, plant.train.reference), ""
    except NoReference as error:
        reference, why = None, str(error)
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
        readings=screened.values,
        days=days,
        rules=rules,
        first_broken=reason,
        values_set_aside=screened.values_set_aside,
        balance=balance,
        forces=forces,
        reference=reference,
        no_reference=why,
        conditions=tuple(conditions),
        columns=forces_columns(forces) | columns | indicators,
        indicators=indicators,
        notes=(*balance.notes, *screened.notes),
    )


def _screen_by_permeability(rules: dict[str, Flags], forces: tuple[ScopeForces, ...], plant: Plant) -> None:
    """Add to `spike`, and add `value missing`: both seen in the train's permeability, which shows small slips, too."""
    settings = plant.train.screening
    broken = first_reason(rules) >= 0
    train = forces[0]
    main = train.water_permeability_lmh_bar
    if main is None:
        main = next((a for s in forces for a in (s.salt_passage, s.drop_coefficient) if a is not None), None)
    if main is None:
        rules["value missing"] = np.ones(len(broken), dtype=bool)
        return
    rules["spike"] = rules["spike"] | spikes(
        main, ~broken, ratio=settings.spike_ratio, least_change=settings.spike_least_change
    )
    rules["value missing"] = np.isnan(main)
