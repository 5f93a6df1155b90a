"""One element against hand limits, an independent root finder, and makers' usual test conditions."""

import numpy as np
import pytest
from scipy.optimize import brentq

from demo_data.simulator.design import NOMINAL_FLOW_M3H, Element
from demo_data.simulator.element import Channel, Local, Passed, local_element, pass_element
from demo_data.simulator.water import NATURAL_BRACKISH, SODIUM_CHLORIDE, Salt

BAR_PER_PSI = 0.0689476
M3H_PER_GPD = 3.785411784e-3 / 24


def one(value: float) -> np.ndarray:
    return np.array([value])


def local(element: Element, salt: Salt = NATURAL_BRACKISH, temperature: float = 25.0, back: float = 0.0) -> Local:
    return local_element(element, salt, one(temperature), one(back), one(1.0), one(1.0), one(1.0))


def passed(channel: Channel, at: Local, guess: float = 20.0) -> Passed:
    return pass_element(channel, at, one(guess))


def test_water_and_salt_balance_to_rounding() -> None:
    result = passed(Channel(one(9.0), one(1500.0), one(12.0)), local(Element()))
    water = result.permeate_flow_m3h + result.concentrate.flow_m3h
    salt = (
        result.permeate_flow_m3h * result.permeate_tds_mg_l + result.concentrate.flow_m3h * result.concentrate.tds_mg_l
    )
    assert water == pytest.approx(9.0, rel=1e-14)
    assert salt == pytest.approx(9.0 * 1500.0, rel=1e-14)


@pytest.mark.parametrize("guess", [0.5, 20.0, 150.0])
def test_flux_agrees_with_an_independent_root_finder(guess: float) -> None:
    element = Element(water_permeability_lmh_bar=4.2, salt_permeability_lmh=0.4)
    flow, tds, pressure, back, temperature = 6.5, 4000.0, 15.0, 0.7, 17.0
    at = local(element, temperature=temperature, back=back)

    def error(flux: float) -> float:
        """Own writing of the equations: unknown permeate salt by a linear equation, then the driving pressure."""
        permeate = flux * element.area_m2 / 1000
        concentrate = flow - permeate
        mean = (flow + concentrate) / 2
        film = element.mass_transfer_lmh * float(at.mass_transfer[0])
        polarization = np.exp(flux / (film * (mean / NOMINAL_FLOW_M3H) ** element.mass_transfer_exponent))
        b = float(at.salt_permeability_lmh[0]) * polarization
        # flux c = b (bulk - c), bulk = (tds + (flow tds - permeate c) / concentrate) / 2
        c = b * (tds + flow * tds / concentrate) / 2 / (flux + b + b * permeate / concentrate / 2)
        bulk = (tds + (flow * tds - permeate * c) / concentrate) / 2
        wall = c + (bulk - c) * polarization
        drop = element.friction_bar * float(at.friction[0]) * (mean / NOMINAL_FLOW_M3H) ** element.friction_exponent
        osmotic = at.salt.osmotic_pressure_bar(np.array([wall, c]), np.array(temperature))
        driving = pressure - drop / 2 - back - osmotic[0] + osmotic[1]
        return float(flux - at.water_permeability_lmh_bar[0] * driving)

    expected = brentq(error, 1.0, 100.0, xtol=1e-12)
    result = passed(Channel(one(flow), one(tds), one(pressure)), at, guess)
    assert result.flux_lmh == pytest.approx(expected, rel=1e-8)


def test_no_salt_passes_a_membrane_without_salt_permeability() -> None:
    result = passed(Channel(one(8.0), one(2000.0), one(12.0)), local(Element(salt_permeability_lmh=0.0)))
    assert result.permeate_tds_mg_l == 0.0
    assert result.concentrate.tds_mg_l == pytest.approx(16_000.0 / result.concentrate.flow_m3h[0], rel=1e-14)


def test_tiny_recovery_has_neither_polarization_nor_concentration() -> None:
    element = Element(friction_bar=0.0)
    result = passed(Channel(one(1e6), one(2000.0), one(10.0)), local(element))
    flux = float(result.flux_lmh[0])
    permeate = element.salt_permeability_lmh * 2000.0 / (flux + element.salt_permeability_lmh)
    osmotic = NATURAL_BRACKISH.osmotic_pressure_bar(np.array([2000.0, permeate]), np.array(25.0))
    assert result.permeate_tds_mg_l == pytest.approx(permeate, rel=1e-3)  # a film that thin still adds 1e-4
    assert flux == pytest.approx(element.water_permeability_lmh_bar * (10.0 - osmotic[0] + osmotic[1]), rel=1e-3)


@pytest.mark.parametrize(
    ("psi", "tds", "water", "salt", "rejection"),
    [
        # Usual test conditions of makers' data sheets (from memory): 8 inch, 400 ft2, 25 degC, 15 % recovery,
        # 10,500 gpd. A and B as computed from them with a polarization of exp(0.7 Y), so 44.57 L/m2/h is expected.
        (225.0, 2000.0, 3.280, 0.1859, 0.995),
        (150.0, 2000.0, 5.295, 0.1859, 0.995),
        (100.0, 500.0, 6.958, 0.373, 0.990),
    ],
)
def test_makers_test_condition(psi: float, tds: float, water: float, salt: float, rejection: float) -> None:
    element = Element(37.16, water, salt, friction_bar=0.0)
    feed = Channel(one(10_500 * M3H_PER_GPD / 0.15), one(tds), one(psi * BAR_PER_PSI))
    result = passed(feed, local(element, SODIUM_CHLORIDE))
    assert result.flux_lmh == pytest.approx(44.57, rel=0.03)
    # The film here is a little thicker than that of exp(0.7 Y): up to a tenth more salt.
    assert 1 - result.permeate_tds_mg_l / tds == pytest.approx(rejection, abs=0.1 * (1 - rejection))


def test_pressure_drop_follows_flow_and_viscosity() -> None:
    element = Element(water_permeability_lmh_bar=1e-9)
    drops = [
        float(passed(Channel(one(flow), one(1000.0), one(20.0)), local(element, temperature=t)).pressure_drop_bar[0])
        for flow, t in ((NOMINAL_FLOW_M3H, 25.0), (2 * NOMINAL_FLOW_M3H, 25.0), (NOMINAL_FLOW_M3H, 5.0))
    ]
    assert drops[0] == pytest.approx(element.friction_bar, rel=1e-6)
    assert drops[1] / drops[0] == pytest.approx(2**element.friction_exponent, rel=1e-6)
    # IAPWS viscosities 1.5182 and 0.8900 mPa s, to the power 2 - n.
    assert drops[2] / drops[0] == pytest.approx((1.5182 / 0.8900) ** (2 - element.friction_exponent), rel=0.01)


def test_colder_and_back_pressed_water_gives_less() -> None:
    feed = Channel(one(8.0), one(1500.0), one(12.0))
    base = passed(feed, local(Element())).permeate_flow_m3h
    assert passed(feed, local(Element(), temperature=10.0)).permeate_flow_m3h < 0.75 * base
    assert passed(feed, local(Element(), back=1.0)).permeate_flow_m3h < 0.95 * base
