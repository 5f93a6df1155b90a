"""The membrane model: water and salt through the elements of a vessel, one after the other, all readings at once.

Solution-diffusion for water and salt, concentration polarization, osmotic pressure by the train's water, channel
friction. The vessels of a stage are alike, so one stands for all.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from analytics.physics.water import (
    HANDBOOK_BRANCH_MG_L,
    osmotic_coefficient,
    osmotic_pressure_bar,
    viscosity_mpa_s,
)
from analytics.units import kelvin

Array = npt.NDArray[np.float64]

FILM_COEFFICIENT_LMH = 177.0
FILM_EXPONENT = 0.36
FILM_FLOW_M3H_PER_M2 = 8.0 / 37.0
"""Mass transfer through the film on the membrane at 25 degC and at this feed flow an element's area, and how it grows
with flow: Sh = 0.46 (Re Sc)^0.36 for spacer-filled channels (Guillen and Hoek, Chemical Engineering Journal 149, 2009,
from memory) with a channel of 0.86 mm, a hydraulic diameter of 0.9 mm, leaves of 1 m and a diffusivity of 1.6e-9 m2/s.
[L/m2/h, -, m3/h/m2]"""
FILM_DIFFUSIVITY_POWER = 0.64
MOST_RECOVERY = 0.95
"""No element gives more than this share of its feed; a guard for wild readings. [-]"""
ROUNDS = 2
"""Newton steps for the flux of an element; the first guess is the flux of the element before it. They leave some 5e-6
of the flow of a vessel in usual states, at most 2 % in one whose last elements have hardly any flow left. [-]"""
LEAST_TDS_MG_L = 1.0
"""Salinity from which the osmotic pressure of very dilute water is carried on in proportion. [mg/L]"""
TINY = 1e-300


@dataclass(frozen=True)
class Channel:
    """Water in the feed channel of one vessel. m3/h, mg/L, bar (gauge)."""

    flow_m3h: Array
    tds_mg_l: Array
    pressure_bar: Array


@dataclass(frozen=True)
class Water:
    """Temperature of the water, the name of its osmotic law, and this water's factor on it. [degC, -]

    What hangs on these alone is worked out once, however often the water is let through a train.
    """

    temperature_c: Array
    law: str = "natural-brackish"
    osmotic_factor: float = 1.0

    def osmotic_pressure_bar(self, tds_mg_l: Array) -> Array:
        """[bar]"""
        if self.law == "natural-brackish":
            low, high = (ends.reduce(tds_mg_l, axis=None, initial=0.0) for ends in (np.fmin, np.fmax))
            if low >= 0 and high <= HANDBOOK_BRANCH_MG_L:
                return np.asarray(self._osmotic_bar_l_mg * tds_mg_l)
        return np.asarray(self.osmotic_factor * osmotic_pressure_bar(tds_mg_l, self.temperature_c, water=self.law))

    @cached_property
    def _osmotic_bar_l_mg(self) -> Array:
        """Of natural brackish water, where it goes with salinity."""
        return np.asarray(self.osmotic_factor * osmotic_coefficient(self.temperature_c))

    @cached_property
    def film_mobility(self) -> Array:
        """See `film_mobility`. [-]"""
        return film_mobility(self.temperature_c)


@dataclass(frozen=True)
class Elements:
    """What the elements of a stage are at the temperature of each reading.

    L/m2/h/bar, L/m2/h, and pressure drop of one element at a mean flow of 1 m3/h a vessel. [bar]
    `film_factor` and `film_exponent` say what is known of the film better than `film_coefficient_lmh` does. [-]
    """

    area_m2: float
    in_series: int
    water_permeability_lmh_bar: Array
    salt_permeability_lmh: Array
    friction_bar: Array
    friction_exponent: float
    film_factor: float = 1.0
    film_exponent: float = FILM_EXPONENT


@dataclass(frozen=True)
class Passage:
    """What one vessel makes of its feed. m3/h, mg/L; the channel is the concentrate leaving it."""

    permeate_flow_m3h: Array
    permeate_tds_mg_l: Array
    concentrate: Channel


def pass_vessel(feed: Channel, elements: Elements, water: Water, *, permeate_pressure_bar: Array) -> Passage:
    r"""March along a vessel, element by element.

    Parameters
    ----------
    feed : Channel
        Entering the first element of one vessel.
    elements : Elements
    water : Water
    permeate_pressure_bar : array
        [bar]

    Returns
    -------
    Passage
        Water and salt balance exactly: what enters leaves.

    Notes
    -----
    In each element, with means of what enters and leaves it (bar) and the wall above the mean by film theory [1]_:

    .. math::
        J = A (\bar p - p_p - \pi(c_w) + \pi(c_p)), \quad c_w = c_p + (\bar c - c_p) e^{J / k_f}, \quad
        J c_p = B (c_w - c_p), \quad \Delta p = k \bar q^n

    with the film coefficient k_f of `film_coefficient_lmh`. Flux that would be negative is zero.

    The handbooks' exp(0.7 Y) (`membrane.polarization_factor`) is for checks against published figures alone: this
    model polarizes by film theory, which knows how fast the water flows.

    References
    ----------
    .. [1] Any membrane textbook, "film theory" and "solution-diffusion".

    Examples
    --------
    A vessel of six new brackish elements at 25 degC: 11 m3/h in, half of it out as permeate.

    >>> feed = Channel(np.array([11.0]), np.array([2000.0]), np.array([12.0]))
    >>> new = Elements(37.2, 6, np.array([3.2]), np.array([0.19]), np.array([0.0075]), 1.65)
    >>> out = pass_vessel(feed, new, Water(np.full(1, 25.0)), permeate_pressure_bar=np.zeros(1))
    >>> float(np.round(out.permeate_flow_m3h[0], 2)), float(np.round(out.permeate_tds_mg_l[0], 1))
    (6.22, 24.0)
    """
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        return _march(feed, elements, water, permeate_pressure_bar)


def _march(feed: Channel, elements: Elements, water: Water, permeate_pressure_bar: Array) -> Passage:
    flow, tds, pressure = feed.flow_m3h, feed.tds_mg_l, feed.pressure_bar
    a, b, area = elements.water_permeability_lmh_bar, elements.salt_permeability_lmh, elements.area_m2 / 1000.0
    dilute = np.maximum(tds, LEAST_TDS_MG_L)
    unit_osmotic = water.osmotic_pressure_bar(dilute) / dilute
    unit_film = elements.film_factor * _film_at_25(1.0, elements.area_m2, elements.film_exponent)
    film_thinness = 1.0 / (unit_film * water.film_mobility)
    flux = 0.8 * np.maximum(a * (pressure - permeate_pressure_bar - unit_osmotic * tds), 0.0)
    made, salt = np.zeros_like(flux), np.zeros_like(flux)
    for _ in range(elements.in_series):
        by_flow, most = area / flow, MOST_RECOVERY * flow / area
        over = pressure - permeate_pressure_bar
        flux = np.minimum(flux, most)
        for _ in range(ROUNDS):
            share = flux * by_flow
            log_flow = np.log(flow - (0.5 * area) * flux)
            thinness = film_thinness * np.exp(-elements.film_exponent * log_flow)
            drop = elements.friction_bar * np.exp(elements.friction_exponent * log_flow)
            polarization = np.exp(flux * thinness)
            leak = b * polarization
            through = flux + leak + TINY
            passed = leak / through
            left = 1.0 - share
            both = 1.0 + left
            bulk = tds * both / (2.0 * left + passed * share)
            permeate_tds = passed * bulk
            osmotic = water.osmotic_pressure_bar(permeate_tds + (bulk - permeate_tds) * polarization)
            back = unit_osmotic * permeate_tds
            net = over - 0.5 * drop - osmotic + back
            steepness = osmotic * (thinness + by_flow / (left * both)) + back / through
            before = flux
            flux = np.minimum(np.maximum(before + (a * net - before) / (1.0 + a * steepness), 0.0), most)
        leak = leak * np.maximum(1.0 + (flux - before) * thinness, 0.0)
        passed = leak / (flux + leak + TINY)
        permeate = flux * area
        permeate_tds = passed * _mean_tds(tds, permeate / flow, passed)
        made = made + permeate
        salt = salt + permeate * permeate_tds
        rest = flow - permeate
        tds = (flow * tds - permeate * permeate_tds) / rest
        flow, pressure = rest, pressure - drop
    mixed = np.where(made > 0, salt / made, np.nan)
    return Passage(made, mixed, Channel(flow, tds, pressure))


def _mean_tds(feed: Array, share: Array, passed: Array) -> Array:
    """Mean of feed and concentrate of an element that gives a share of its feed at a share of that mean."""
    return feed * (2.0 - share) / (2.0 * (1.0 - share) + passed * share)


def film_coefficient_lmh(
    flow_m3h: Array | float, temperature_c: Array, *, area_m2: float, exponent: float = FILM_EXPONENT
) -> Array:
    """Mass transfer from the membrane back into the channel of one element.

    Parameters
    ----------
    flow_m3h : array or float
        Mean flow in the channel. [m3/h]
    temperature_c : array
        [degC]
    area_m2 : float
        Membrane area of the element; leaves of one length are taken, so width goes with area. [m2]
    exponent : float
        Of flow. [-]

    Returns
    -------
    array
        [L/m2/h]

    Notes
    -----
    Diffusivity goes with absolute temperature over viscosity, and the coefficient with its 0.64th power.
    """
    return np.asarray(_film_at_25(flow_m3h, area_m2, exponent) * film_mobility(temperature_c))


def _film_at_25(flow_m3h: Array | float, area_m2: float, exponent: float) -> Array | float:
    return FILM_COEFFICIENT_LMH * (flow_m3h / area_m2 / FILM_FLOW_M3H_PER_M2) ** exponent


def film_mobility(temperature_c: Array) -> Array:
    """How temperature moves the film coefficient; one at 25 degC. [-]"""
    thin = float(viscosity_mpa_s(25.0)) / np.asarray(viscosity_mpa_s(temperature_c))
    diffusivity = thin * kelvin(temperature_c) / float(kelvin(25.0))
    return np.asarray(diffusivity**FILM_DIFFUSIVITY_POWER)
