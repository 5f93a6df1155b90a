"""The membrane model: water and salt through the elements of a vessel, one after the other, all readings at once.

Solution-diffusion for water and salt, concentration polarization, osmotic pressure by the train's water, channel
friction. The vessels of a stage are alike, so one stands for all.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analytics.physics.water import osmotic_pressure_bar

Array = npt.NDArray[np.float64]

POLARIZATION = 0.7
"""Coefficient of element recovery in the polarization factor exp(0.7 Y): membrane makers' manuals, from memory. [-]"""
MOST_RECOVERY = 0.95
"""No element gives more than this share of its feed; a guard for wild readings. [-]"""
ROUNDS = 2
"""Newton steps for the flux of an element. The first guess is the flux of the element before it."""


@dataclass(frozen=True)
class Channel:
    """Water in the feed channel of one vessel. m3/h, mg/L, bar (gauge)."""

    flow_m3h: Array
    tds_mg_l: Array
    pressure_bar: Array


@dataclass(frozen=True)
class Elements:
    """What the elements of a stage are at the temperature of each reading.

    L/m2/h/bar, L/m2/h, and pressure drop of one element at a mean flow of 1 m3/h a vessel. [bar]
    """

    area_m2: float
    in_series: int
    water_permeability_lmh_bar: Array
    salt_permeability_lmh: Array
    friction_bar: Array
    friction_exponent: float


@dataclass(frozen=True)
class Passage:
    """What one vessel makes of its feed. m3/h, mg/L; the channel is the concentrate leaving it."""

    permeate_flow_m3h: Array
    permeate_tds_mg_l: Array
    concentrate: Channel


def pass_vessel(
    feed: Channel, elements: Elements, *, permeate_pressure_bar: Array, temperature_c: Array, water: str
) -> Passage:
    r"""March along a vessel, element by element.

    Parameters
    ----------
    feed : Channel
        Entering the first element of one vessel.
    elements : Elements
    permeate_pressure_bar : array
        [bar]
    temperature_c : array
        [degC]
    water : str
        Osmotic law, see `osmotic_pressure_bar`. [-]

    Returns
    -------
    Passage
        Water and salt balance exactly: what enters leaves.

    Notes
    -----
    In each element, with means of what enters and leaves it,

    .. math::
        J = A (\bar p - p_p - \pi(\beta \bar c) + \pi(c_p)), \quad c_p = \frac{B \beta \bar c}{J + B}, \quad
        \beta = e^{0.7 y}, \quad \Delta p = k \bar q^n

    with y the recovery of the element. Flux that would be negative is zero.
    """
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        return _march(feed, elements, permeate_pressure_bar, temperature_c, water)


def _march(
    feed: Channel, elements: Elements, permeate_pressure_bar: Array, temperature_c: Array, water: str
) -> Passage:
    flow, tds, pressure = feed.flow_m3h, feed.tds_mg_l, feed.pressure_bar
    a, b, area = elements.water_permeability_lmh_bar, elements.salt_permeability_lmh, elements.area_m2 / 1000.0
    unit_osmotic = osmotic_pressure_bar(tds, temperature_c, water=water) / tds
    flux = 0.8 * np.maximum(a * (pressure - permeate_pressure_bar - unit_osmotic * tds), 0.0)
    made, salt = np.zeros_like(flow), np.zeros_like(flow)
    for _ in range(elements.in_series):
        most = MOST_RECOVERY * flow / area
        for _ in range(ROUNDS):
            share = np.minimum(flux, most) * area / flow
            wall = tds * (1.0 + 0.5 * share / (1.0 - share)) * np.exp(POLARIZATION * share)
            drop = elements.friction_bar * _power(flow * (1.0 - 0.5 * share), elements.friction_exponent)
            permeate_tds = b * wall / (flux + b)
            osmotic = osmotic_pressure_bar(wall, temperature_c, water=water)
            net = pressure - 0.5 * drop - permeate_pressure_bar - osmotic + unit_osmotic * permeate_tds
            steepness = osmotic * (POLARIZATION + 0.5 / (1.0 - share)) * area / flow
            flux = np.clip(flux + (a * net - flux) / (1.0 + a * steepness), 0.0, most)
        permeate = flux * area
        made = made + permeate
        salt = salt + permeate * permeate_tds
        left = flow - permeate
        tds = (flow * tds - permeate * permeate_tds) / left
        flow, pressure = left, pressure - drop
    mixed = np.where(made > 0, salt / made, np.nan)
    return Passage(made, mixed, Channel(flow, tds, pressure))


def flow_power_sum(inlet_flow: Array, outlet_flow: Array, *, in_series: int, exponent: float) -> Array:
    """Sum over the elements of mean flow to the exponent, for a flow that falls evenly along the vessel."""
    places = (np.arange(in_series) + 0.5) / in_series
    total = np.zeros_like(inlet_flow)
    for place in places:
        total = total + _power(inlet_flow + (outlet_flow - inlet_flow) * place, exponent)
    return total


def _power(base: Array, exponent: float) -> Array:
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.exp(exponent * np.log(base))
