"""How little the days can scatter for the meters alone: from their accuracies to the parameters of the membrane model.

An error that is always the same cancels in a ratio to the reference. What counts is the part that differs from one day
to another, and a coarse gauge may hide it: one that shows 12.0 bar for a week has no scatter, and still does not know
whether it was 11.9 or 12.1.
"""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from analytics.condition.balance import complete_streams
from analytics.condition.fit import fit_membranes
from analytics.plant import Meters, Plant
from analytics.quantities import COLUMNS

DAILY_SHARE = 0.1
"""Part of a meter's accuracy by which its error is taken to differ between days; the rest is taken to be constant.
Common practice, no source. [-]"""


def meter_noise(reference: pd.DataFrame, plant: Plant) -> Mapping[tuple[str, str], float]:
    """Least scatter of a day that the meters leave to each parameter.

    Parameters
    ----------
    reference : DataFrame
        The usable readings of the reference period, in canonical columns.
    plant : Plant

    Returns
    -------
    mapping
        (scope, "water", "salt" or "friction") -> standard deviation of the logarithm. [-]

    Notes
    -----
    The medians of the readings are fitted as they are, and once more for each meter with that one off by `DAILY_SHARE`
    of its accuracy. Meters are off independently of each other.
    """
    middle = reference.select_dtypes("number").median().dropna()
    names = [str(name) for name in middle.index]
    shifts = np.array([_shift(name, middle[name], plant.train.meters) for name in names])
    frame = pd.DataFrame(np.vstack([middle.to_numpy(), middle.to_numpy() + np.diag(shifts)]), columns=names)
    floors = {}
    for fit in fit_membranes(complete_streams(frame, plant), plant):
        for what, values in (
            ("water", fit.water_permeability_lmh_bar),
            ("salt", fit.salt_permeability_lmh),
            ("friction", fit.friction_bar),
        ):
            if values is not None and np.isfinite(values[0]):
                moved = np.log(values[1:] / values[0])
                floors[fit.scope, what] = float(np.sqrt(np.nansum(moved**2)))
    return floors


def _shift(column: str, value: float, meters: Meters) -> float:
    """By how much a meter may read otherwise on another day; 0 for those that the model does not use."""
    by_unit = {
        "bar": meters.pressure_accuracy_bar,
        "degC": meters.temperature_accuracy_c,
        "m3/h": meters.flow_accuracy * abs(value),
        "uS/cm": meters.conductivity_accuracy * abs(value),
        "mg/L": meters.conductivity_accuracy * abs(value),
    }
    return DAILY_SHARE * by_unit.get(COLUMNS[column].unit, 0.0) if column in COLUMNS else 0.0
