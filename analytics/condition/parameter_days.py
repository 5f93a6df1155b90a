"""What was fitted and what disturbs it, by day: columns of the table of days, which the membrane model is made from."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.closure_courses import closure_slopes
from analytics.condition.fit import StageFit
from analytics.condition.forces import ScopeForces
from analytics.condition.metered_train import MeteredReadings, metered_days
from analytics.condition.multipliers import what_is_left
from analytics.physics.water import viscosity_mpa_s
from analytics.plant import Plant
from analytics.units import kelvin

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

COURSE_DAYS = 9
"""Days over which temperature, salinity and flow are smoothed before dependence on them is looked for."""
TEMPERATURE, SALINITY, VISCOSITY = "temperature", "salinity", "viscosity"
GAUGE = "gauge"
"""Friction over the pressure drop that it was found from: how an offset of the drop goes with flow. [1/bar]"""


def parameter_name(stage: int, what: str) -> str:
    """Column of the logarithm of a parameter ("water", "salt" or "friction") of a stage, counted from zero."""
    return f"stage{stage + 1}_log_{what}"


def course_name(stage: int, what: str, disturbance: str) -> str:
    """Column of what disturbs that parameter."""
    return f"{parameter_name(stage, what)}_by_{disturbance}"


@dataclass(frozen=True)
class ParameterDays:
    """What was fitted, and what disturbs it, by day and at the reference.

    Attributes
    ----------
    daily : mapping
        `parameter_columns` by day: medians of what is used, means of friction.
    at_reference : mapping
        Medians over the readings of the reference, means over its days for closures; NaN where there is none.
    reference_days : bool array
        True for the days that have a reading of the reference.
    """

    index: pd.DatetimeIndex
    daily: Mapping[str, Array]
    at_reference: Mapping[str, float]
    reference_days: Flags

    @property
    def first(self) -> pd.Timestamp:
        return self.index[0]

    @property
    def day_numbers(self) -> npt.NDArray[np.int64]:
        return np.asarray((self.index - self.first).days, dtype=np.int64)

    def course(self, name: str) -> Array:
        """Slow course of a disturbance over the days, less that of the reference.

        Smoothed, because what is fitted was worked out from the very same readings: the scatter of a flow meter would
        otherwise be taken for a dependence on flow.
        """
        return self.smoothed(name) - self.at_reference[name]

    def smoothed(self, name: str) -> Array:
        """Mean over some days around each."""
        window = pd.Series(self.daily[name], index=self.index).rolling(COURSE_DAYS, center=True, min_periods=1)
        return np.asarray(window.mean(), dtype=np.float64)


def parameter_columns(
    fits: Sequence[StageFit], forces: Sequence[ScopeForces], temperature_c: Array | None
) -> dict[str, Array]:
    """Logarithms of what was fitted, `<stage>_log_<what>`, and what disturbs each, `<stage>_log_<what>_by_<name>`.

    Parameters
    ----------
    fits : sequence of StageFit
    forces : sequence of ScopeForces
        The train first. Where a stage's own are not known, those of the train are taken.
    temperature_c : array or None
        [degC]
    """
    columns: dict[str, Array | None] = {}
    if not fits:
        return {}
    for number, (fit, own) in enumerate(zip(fits, forces[1:] or forces[:1], strict=True)):
        base = own if own.flux_lmh is not None and own.feed_side_osmotic_bar is not None else forces[0]
        found = (fit.water_permeability_lmh_bar, fit.salt_permeability_lmh, fit.friction_bar)
        for (what, courses), values in zip(_forces_courses(base, temperature_c).items(), found, strict=True):
            columns[parameter_name(number, what)] = logarithm(values)
            columns |= {course_name(number, what, name): array for name, array in courses.items()}
        columns[course_name(number, "friction", GAUGE)] = _by_gauge(fits, forces, number)
    return {name: values for name, values in columns.items() if values is not None}


def closure_columns(metered: MeteredReadings, days: pd.DatetimeIndex, plant: Plant) -> pd.DataFrame:
    """How closures move each parameter, `<stage>_log_<what>_by_<closure>`, one row for each day.

    Parameters
    ----------
    metered : MeteredReadings
        Readings in use, or stretches of them.
    days : DatetimeIndex
        Local day of each, ascending.
    plant : Plant
    """
    index = pd.DatetimeIndex(days.unique())
    of_days = metered_days(metered, np.asarray(index.get_indexer(days), dtype=np.int64))
    columns = {
        course_name(number, what, name): values
        for (what, number), by_closure in closure_slopes(of_days, plant).items()
        for name, values in by_closure.items()
    }
    return pd.DataFrame(columns, index=index)


def by_mean(name: str) -> bool:
    """Friction is in the steps of a coarse gauge, to which a median would stick: its days are means, not medians."""
    return name.endswith("_log_friction")


def _by_gauge(fits: Sequence[StageFit], forces: Sequence[ScopeForces], number: int) -> Array | None:
    """`GAUGE` of a stage; the drop is that of all stages that share its friction."""
    friction = fits[number].friction_bar
    drops = [one.streams.pressure_drop_bar for one in forces[1:] or forces[:1]]
    drop = drops[number]
    if fits[number].friction_shared:
        drop = what_is_left(forces[0].streams.pressure_drop_bar, drops)
    if friction is None or drop is None:
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(drop > 0, friction / drop, np.nan)


def _forces_courses(forces: ScopeForces, temperature_c: Array | None) -> Mapping[str, Mapping[str, Array | None]]:
    inverse = None if temperature_c is None else np.asarray(-1.0 / kelvin(temperature_c))
    thickness = None if temperature_c is None else np.log(np.asarray(viscosity_mpa_s(temperature_c)))
    return {
        "water": {TEMPERATURE: inverse},
        "salt": {TEMPERATURE: inverse, SALINITY: logarithm(forces.streams.feed_tds_mg_l)},
        "friction": {VISCOSITY: thickness},
    }


def logarithm(values: Array | None) -> Array | None:
    """NaN where there is none."""
    if values is None:
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        result = np.log(values)
    return np.where(np.isfinite(result), result, np.nan)
