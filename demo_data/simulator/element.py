"""One element of one vessel: how much water and salt pass, and what pressure is lost. Vectorised over readings."""

from dataclasses import dataclass

import numpy as np

from demo_data.simulator.design import NOMINAL_FLOW_M3H, Element
from demo_data.simulator.water import FloatArray, Salt, arrhenius, viscosity_ratio

LITRES_PER_M3 = 1000.0
MOST_RECOVERY = 0.9
"""No element gives more than this share of its feed, whatever the pressure; a guard for the solver only."""


@dataclass(frozen=True)
class Channel:
    """The water entering the channel of one element: m3/h, mg/L, bar."""

    flow_m3h: FloatArray
    tds_mg_l: FloatArray
    pressure_bar: FloatArray


@dataclass(frozen=True)
class Local:
    """The element itself at the temperature of each reading, with its age, and the pressure behind it.

    L/m2/h/bar, L/m2/h, and as factors on the new element's friction and mass transfer at 25 degC.
    """

    element: Element
    salt: Salt
    temperature_c: FloatArray
    permeate_pressure_bar: FloatArray
    water_permeability_lmh_bar: FloatArray
    salt_permeability_lmh: FloatArray
    friction: FloatArray
    mass_transfer: FloatArray


@dataclass(frozen=True)
class Passed:
    """What one element made of its feed: m3/h, mg/L, bar."""

    permeate_flow_m3h: FloatArray
    permeate_tds_mg_l: FloatArray
    flux_lmh: FloatArray
    pressure_drop_bar: FloatArray
    concentrate: Channel


def local_element(
    element: Element,
    salt: Salt,
    temperature_c: FloatArray,
    permeate_pressure_bar: FloatArray,
    water: FloatArray,
    salt_passage: FloatArray,
    friction: FloatArray,
) -> Local:
    """Bring an element to its temperature; `water`, `salt_passage` and `friction` are factors on the new one. [-]"""
    thin = viscosity_ratio(temperature_c)
    return Local(
        element,
        salt,
        temperature_c,
        permeate_pressure_bar,
        element.water_permeability_lmh_bar * water * arrhenius(element.water_slope_k, temperature_c),
        element.salt_permeability_lmh * salt_passage * arrhenius(element.salt_slope_k, temperature_c),
        friction * thin ** (2 - element.friction_exponent),
        # Film coefficient grows with diffusivity (as T / viscosity) to the power 2/3 and falls a little with viscosity.
        thin ** -(2 / 3),
    )


def pass_element(channel: Channel, local: Local, first_guess_lmh: FloatArray) -> Passed:
    """Find the flux at which water transport agrees with itself, by the secant method on all readings at once.

    Water: J = A (P - P_permeate - pi(wall) + pi(permeate)). Salt: J c_p = B (c_wall - c_p). Film: the wall is
    exp(J / k) above the mean of feed and concentrate, both less the permeate. Balances are exact by construction.
    """
    most = MOST_RECOVERY * channel.flow_m3h * LITRES_PER_M3 / local.element.area_m2
    flux = np.clip(first_guess_lmh, 1e-9, most)
    last = _at_flux(channel, local, flux)
    error = flux - _driven_flux(channel, local, last)
    step = -error / 1.5
    for _ in range(25):
        new_flux = np.clip(flux + step, 1e-9, most)
        last = _at_flux(channel, local, new_flux)
        new_error = new_flux - _driven_flux(channel, local, last)
        moved, change = new_flux - flux, new_error - error
        flat = np.abs(change) < 1e-15
        step = np.where(flat, 0.0, -new_error * moved / np.where(flat, 1.0, change))
        flux, error = new_flux, new_error
        if np.all(np.abs(step) < 1e-10 * np.maximum(flux, 1.0)):
            break
    return last


def _at_flux(channel: Channel, local: Local, flux: FloatArray) -> Passed:
    """Close the balances of water and salt for a given flux."""
    element = local.element
    permeate_flow = flux * element.area_m2 / LITRES_PER_M3
    concentrate_flow = channel.flow_m3h - permeate_flow
    mean_flow = (channel.flow_m3h + concentrate_flow) / 2
    wall = local.salt_permeability_lmh * _wall_factor(local, flux, mean_flow)
    passage = wall / (flux + wall)  # permeate over mean bulk concentration
    permeate_tds = (
        passage
        * channel.tds_mg_l
        * (1 + channel.flow_m3h / concentrate_flow)
        / (2 + passage * permeate_flow / concentrate_flow)
    )
    concentrate_tds = (channel.flow_m3h * channel.tds_mg_l - permeate_flow * permeate_tds) / concentrate_flow
    drop = element.friction_bar * local.friction * (mean_flow / NOMINAL_FLOW_M3H) ** element.friction_exponent
    concentrate = Channel(concentrate_flow, concentrate_tds, channel.pressure_bar - drop)
    return Passed(permeate_flow, permeate_tds, flux, drop, concentrate)


def _wall_factor(local: Local, flux: FloatArray, mean_flow: FloatArray) -> FloatArray:
    element = local.element
    flow_term = (mean_flow / NOMINAL_FLOW_M3H) ** element.mass_transfer_exponent
    return np.exp(flux / (element.mass_transfer_lmh * local.mass_transfer * flow_term))


def _driven_flux(channel: Channel, local: Local, passed: Passed) -> FloatArray:
    """Flux that the driving pressure left by `passed` would give. [L/m2/h]"""
    mean_flow = (channel.flow_m3h + passed.concentrate.flow_m3h) / 2
    bulk = (channel.tds_mg_l + passed.concentrate.tds_mg_l) / 2
    above = (bulk - passed.permeate_tds_mg_l) * _wall_factor(local, passed.flux_lmh, mean_flow)
    osmotic = local.salt.osmotic_pressure_bar(passed.permeate_tds_mg_l + above, local.temperature_c)
    osmotic_permeate = local.salt.osmotic_pressure_bar(passed.permeate_tds_mg_l, local.temperature_c)
    pressure = channel.pressure_bar - passed.pressure_drop_bar / 2 - local.permeate_pressure_bar
    return local.water_permeability_lmh_bar * (pressure - osmotic + osmotic_permeate)
