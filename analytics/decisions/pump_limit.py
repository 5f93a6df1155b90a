"""How far the flow may fall until the pump cannot make it up."""

import numpy as np

from analytics.decisions.train_model import Duty, TrainModel


def flow_ratio_at_pump_limit(model: TrainModel, duty: Duty, most_pressure_bar: float) -> float | None:
    """How far permeate flow at the reference conditions may fall until a duty takes all the pump's pressure.

    Parameters
    ----------
    model : TrainModel
    duty : Duty
        At the coldest water.
    most_pressure_bar : float
        Feed pressure that pump and elements bear. [bar]

    Returns
    -------
    float or None
        Ratio to the reference; above 1 where the pump is too small already, None where it never limits. [-]
    """
    states = np.linspace(1.4, 0.25, 47)
    water = np.broadcast_to(states, (len(model.parts), len(states)))
    same = np.ones_like(water)
    pressure = model.needs(duty, water, same, same).feed_pressure_bar
    known = np.isfinite(pressure)
    if not known.any() or pressure[known].max() < most_pressure_bar:
        return None if known.all() else _flow_of(model, float(states[known].min()) if known.any() else 1.4)
    return _flow_of(model, float(np.interp(most_pressure_bar, pressure[known], states[known])))


def _flow_of(model: TrainModel, water: float) -> float:
    return float(model.flow_at_reference(np.full((len(model.parts), 1), water))[0])
