r"""The march along a vessel against the differential equations of its channel, integrated by scipy.

An independent derivation: nothing of `analytics.physics` is used for the expected values. Along the vessel, with x
counted in elements, water flow q, salt flow s and pressure p of the channel obey

    dq/dx = -J a,    ds/dx = -J cp a,    dp/dx = -k q^n

(a area of an element over 1000, k its friction). Flux and permeate salinity are local and implicit: solution-diffusion
J = A (p - pp - pi(cw) + pi(cp)) and J cp = B (cw - cp), film theory (cw - cp) / (c - cp) = exp(J / kf). Here cp is
eliminated by hand, cp = c r / (1 + r) with r = B exp(J / kf) / J, and J is found by bracketing (`brentq`), where the
march takes Newton steps with slopes of its own. Osmotic pressure: the handbook form c (T + 320) / 491000 (from memory).

Why these tolerances. The march takes the mean of what enters and leaves an element for what is along it, right to the
second order of an element's recovery y: the mean over the recovered water is -ln(1 - y) / y, the mean of both ends
(2 - y) / (2 (1 - y)), 0.2 % more at y = 0.11 and 0.7 % more at y = 0.2. The osmotic pressure is a fifth to a third of
the net one, so a few tenths of a per mille are felt by the flow, and all of it by the salt of the permeate. That the
rest vanishes with the square of the length of a step is tested, too. Found: at the most 0.06 % of flow, 0.08 % of
pressure drop, 0.02 % of the channel's salinity and 0.23 % of the permeate's.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from analytics.physics.vessel import Channel, Elements, Passage, Water, pass_vessel

KELVIN = 273.15
VISCOSITY = {15.0: 1.1376, 25.0: 0.8901, 32.0: 0.7647}
"""Of water, IAPWS 2008 formulation (the values of `water_viscosity.csv`, 32 degC from memory). [mPa s]"""


@dataclass(frozen=True)
class Vessel:
    """m3/h, mg/L, bar, degC; L/m2/h/bar, L/m2/h, bar at 1 m3/h, -; elements of 37.2 m2."""

    flow: float
    tds: float
    pressure: float
    temperature: float = 25.0
    water: float = 3.2
    salt: float = 0.19
    friction: float = 0.0075
    exponent: float = 1.65
    elements: int = 6
    area: float = 37.2
    back: float = 0.4


USUAL = Vessel(11.0, 2000.0, 12.0)
CASES = {
    "usual": USUAL,
    "second stage": Vessel(9.0, 4200.0, 10.0),
    "cold": Vessel(11.0, 2000.0, 15.0, temperature=15.0, water=2.3, salt=0.13),
    "warm and long": Vessel(12.0, 1500.0, 8.5, temperature=32.0, water=3.9, salt=0.26, elements=8),
    "leaky and clogged": Vessel(10.0, 3000.0, 12.0, salt=0.9, friction=0.015, exponent=1.5),
}


@dataclass(frozen=True)
class Profile:
    """Flow, salinity and pressure of the channel behind each element, and the permeate of all up to there."""

    flow: np.ndarray
    tds: np.ndarray
    pressure: np.ndarray
    permeate: np.ndarray
    permeate_tds: np.ndarray


def _osmotic(tds: float, temperature: float) -> float:
    return tds * (temperature + 320.0) / 491000.0


def _film(flow: float, one: Vessel) -> float:
    """Sh = 0.46 (Re Sc)^0.36, diffusivity by Stokes and Einstein (method page, "along a vessel")."""
    diffusivity = VISCOSITY[25.0] / VISCOSITY[one.temperature] * (one.temperature + KELVIN) / (25.0 + KELVIN)
    return float(177.0 * (flow / one.area / (8.0 / 37.0)) ** 0.36 * diffusivity**0.64)


def _permeate_tds(flux: float, bulk: float, film: float, one: Vessel) -> float:
    leak = one.salt * np.exp(flux / film) / flux
    return float(bulk * leak / (1.0 + leak))


def _flux(flow: float, bulk: float, pressure: float, one: Vessel) -> float:
    film = _film(flow, one)

    def surplus(flux: float) -> float:
        inside = _permeate_tds(flux, bulk, film, one)
        wall = inside + (bulk - inside) * np.exp(flux / film)
        net = pressure - one.back - _osmotic(wall, one.temperature) + _osmotic(inside, one.temperature)
        return float(one.water * net - flux)

    return float(brentq(surplus, 1e-6, one.water * pressure, xtol=1e-12))


def continuous(one: Vessel) -> Profile:
    """The differential equations, integrated to 1e-10."""

    def slopes(_: float, state: np.ndarray) -> list[float]:
        flow, salt, pressure = state
        bulk = salt / flow
        flux = _flux(flow, bulk, pressure, one)
        made = flux * one.area / 1000.0
        return [-made, -made * _permeate_tds(flux, bulk, _film(flow, one), one), -one.friction * flow**one.exponent]

    ends = np.arange(1.0, one.elements + 1)
    start = [one.flow, one.flow * one.tds, one.pressure]
    found = solve_ivp(slopes, (0.0, ends[-1]), start, t_eval=ends, rtol=1e-10, atol=1e-10)
    flow, salt, pressure = found.y
    made = one.flow - flow
    return Profile(flow, salt / flow, pressure, made, (one.flow * one.tds - salt) / made)


def _march(one: Vessel, *, elements: int, cut: int = 1) -> Passage:
    """The march over the first elements, each cut into so many; the film knows the width of the uncut ones."""
    parts = Elements(
        one.area / cut,
        elements * cut,
        np.array([one.water]),
        np.array([one.salt]),
        np.array([one.friction / cut]),
        one.exponent,
        film_factor=cut**-0.36,
    )
    feed = Channel(np.array([one.flow]), np.array([one.tds]), np.array([one.pressure]))
    return pass_vessel(feed, parts, Water(np.array([one.temperature])), permeate_pressure_bar=np.array([one.back]))


def marched(one: Vessel, *, cut: int = 1) -> Profile:
    runs = [_march(one, elements=count, cut=cut) for count in range(1, one.elements + 1)]
    channels = [run.concentrate for run in runs]
    columns = (
        [channel.flow_m3h for channel in channels],
        [channel.tds_mg_l for channel in channels],
        [channel.pressure_bar for channel in channels],
        [run.permeate_flow_m3h for run in runs],
        [run.permeate_tds_mg_l for run in runs],
    )
    return Profile(*(np.concatenate(values) for values in columns))


@pytest.mark.parametrize("case", CASES)
def test_profile_and_totals_are_those_of_the_differential_equations(case: str) -> None:
    one = CASES[case]
    exact, found = continuous(one), marched(one)
    assert 0.35 < exact.permeate[-1] / one.flow < 0.75  # a vessel as they are run, not a trivial one
    assert found.flow == pytest.approx(exact.flow, rel=0.001)
    assert found.permeate == pytest.approx(exact.permeate, rel=0.001)
    assert found.tds == pytest.approx(exact.tds, rel=0.001)
    assert one.pressure - found.pressure == pytest.approx(one.pressure - exact.pressure, rel=0.001)
    assert found.permeate_tds == pytest.approx(exact.permeate_tds, rel=0.003)


@pytest.mark.parametrize("what", ["permeate", "permeate_tds", "tds", "pressure"])
def test_what_is_left_vanishes_with_the_square_of_the_step(what: str) -> None:
    """Elements cut in two: a quarter of the error. Cut in eight: hardly any."""
    exact = getattr(continuous(USUAL), what)[-1]
    whole, halves, eighths = (getattr(marched(USUAL, cut=cut), what)[-1] - exact for cut in (1, 2, 8))
    assert halves / whole == pytest.approx(0.25, abs=0.08)
    assert abs(eighths) < abs(whole) / 30
