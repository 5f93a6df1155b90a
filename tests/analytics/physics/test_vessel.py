"""The march along a vessel: balances, its own equations, limits, and new elements at the makers' test conditions."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from analytics.physics.vessel import (
    FILM_COEFFICIENT_LMH,
    FILM_FLOW_M3H_PER_M2,
    MOST_RECOVERY,
    Channel,
    Elements,
    Passage,
    Water,
    film_coefficient_lmh,
    pass_vessel,
)
from analytics.physics.water import osmotic_pressure_bar
from analytics.units import to_canonical

AREA_M2 = 37.16  # 400 square feet


def _vessel(
    *,
    flow: float = 10.0,
    tds: float = 2000.0,
    pressure: float = 12.0,
    elements: int = 6,
    a: float = 3.2,
    b: float = 0.19,
    friction: float = 0.0075,
    back: float = 0.0,
    temperature: float = 25.0,
    water: str = "natural-brackish",
    osmotic_factor: float = 1.0,
    film_factor: float = 1.0,
) -> Passage:
    made = Elements(AREA_M2, elements, np.array([a]), np.array([b]), np.array([friction]), 1.65, film_factor)
    return pass_vessel(
        Channel(np.array([flow]), np.array([tds]), np.array([pressure])),
        made,
        Water(np.array([temperature]), water, osmotic_factor),
        permeate_pressure_bar=np.array([back]),
    )


def _one(array: np.ndarray) -> float:
    return float(array[0])


@given(
    flow=st.floats(0.5, 16.0),
    tds=st.floats(0.0, 10_000.0),
    pressure=st.floats(0.0, 40.0),
    elements=st.integers(1, 8),
    a=st.floats(0.5, 9.0),
    b=st.floats(0.01, 0.8),
    temperature=st.floats(5.0, 40.0),
)
@settings(max_examples=60)
def test_water_and_salt_balance_exactly(
    flow: float, tds: float, pressure: float, elements: int, a: float, b: float, temperature: float
) -> None:
    """What enters leaves, to rounding: whatever the state, and however far the search for the flux has come. Brine
    beyond the range of the osmotic law (100 g/L) has no answer."""
    out = _vessel(flow=flow, tds=tds, pressure=pressure, elements=elements, a=a, b=b, temperature=temperature)
    made, left = _one(out.permeate_flow_m3h), _one(out.concentrate.flow_m3h)
    assume(np.isfinite(made))
    salt = made * _one(out.permeate_tds_mg_l) if made > 0 else 0.0
    assert made + left == pytest.approx(flow, rel=1e-12)
    assert salt + left * _one(out.concentrate.tds_mg_l) == pytest.approx(flow * tds, rel=1e-11, abs=1e-9)


def test_one_element_obeys_its_own_equations() -> None:
    """Flux, film, salt and friction put together again from the outcome, with means of what enters and leaves."""
    out = _vessel(elements=1, back=0.5)
    made, passed = _one(out.permeate_flow_m3h), _one(out.permeate_tds_mg_l)
    left, salty = _one(out.concentrate.flow_m3h), _one(out.concentrate.tds_mg_l)
    flux, mean_flow, bulk = made / AREA_M2 * 1000, (10.0 + left) / 2, (2000.0 + salty) / 2
    polarization = np.exp(flux / float(film_coefficient_lmh(mean_flow, np.array(25.0), area_m2=AREA_M2)))
    wall = passed + (bulk - passed) * polarization
    drop = 0.0075 * mean_flow**1.65
    net = 12.0 - drop / 2 - 0.5 - osmotic_pressure_bar(wall, 25.0) + osmotic_pressure_bar(passed, 25.0)
    assert 12.0 - _one(out.concentrate.pressure_bar) == pytest.approx(drop, rel=1e-4)
    assert flux == pytest.approx(3.2 * net, rel=1e-4)
    assert flux * passed == pytest.approx(0.19 * (wall - passed), rel=1e-3)


def test_water_without_salt_has_no_osmotic_pressure() -> None:
    out = _vessel(tds=0.0, elements=1, friction=0.0)
    assert _one(out.permeate_flow_m3h) == pytest.approx(3.2 * 12.0 * AREA_M2 / 1000, rel=1e-6)
    assert _one(out.permeate_tds_mg_l) == 0.0


def test_without_pressure_nothing_passes() -> None:
    out = _vessel(pressure=0.0, friction=0.0)
    assert _one(out.permeate_flow_m3h) == 0.0
    assert np.isnan(_one(out.permeate_tds_mg_l))
    assert _one(out.concentrate.tds_mg_l) == 2000.0


@pytest.mark.parametrize("pressure", [0.5, 1.0])
def test_below_the_osmotic_pressure_a_little_passes_with_much_of_its_salt(pressure: float) -> None:
    """2000 mg/L have 1.4 bar (method page: 2000 x 345 / 491000 = 1.405). By solution-diffusion the slower water passes,
    the more salt comes with it: J c_p = B (c_w - c_p)."""
    out, usual = _vessel(pressure=pressure, friction=0.0), _vessel(friction=0.0)
    assert 0 < _one(out.permeate_flow_m3h) < 0.06 * _one(usual.permeate_flow_m3h)
    assert _one(out.permeate_tds_mg_l) > 10 * _one(usual.permeate_tds_mg_l)


@pytest.mark.parametrize("flow", [0.001, 0.02, 0.3])
def test_with_hardly_any_flow_some_is_left(flow: float) -> None:
    out = _vessel(flow=flow, tds=100.0)
    assert np.isfinite([_one(out.permeate_flow_m3h), _one(out.permeate_tds_mg_l), _one(out.concentrate.tds_mg_l)]).all()
    assert 0 < _one(out.permeate_flow_m3h) < flow
    assert _one(out.concentrate.flow_m3h) >= flow * (1 - MOST_RECOVERY) ** 6 * 0.999


def test_wild_readings_do_not_raise() -> None:
    out = _vessel(flow=float("nan"))
    assert np.isnan(_one(out.permeate_flow_m3h))
    assert not np.isfinite(_one(_vessel(flow=0.0).permeate_tds_mg_l))


def test_more_osmotic_pressure_and_a_thinner_film_cost_flow_and_purity() -> None:
    usual, salty, thick = _vessel(), _vessel(osmotic_factor=1.3), _vessel(film_factor=0.6)
    for worse in (salty, thick):
        assert _one(worse.permeate_flow_m3h) < _one(usual.permeate_flow_m3h)
        assert _one(worse.permeate_tds_mg_l) > _one(usual.permeate_tds_mg_l)


def test_arrays_of_any_shape_are_marched_one_by_one() -> None:
    pressures = np.array([[8.0, 10.0, 12.0], [14.0, 16.0, 18.0]])
    elements = Elements(AREA_M2, 6, np.array(3.2), np.array(0.19), np.array(0.0075), 1.65)
    feed = Channel(np.full((2, 3), 10.0), np.full((2, 3), 2000.0), pressures)
    both = pass_vessel(feed, elements, Water(np.full((2, 3), 25.0)), permeate_pressure_bar=np.zeros((2, 3)))
    alone = [[_one(_vessel(pressure=p).permeate_flow_m3h) for p in row] for row in pressures]
    assert both.permeate_flow_m3h == pytest.approx(np.array(alone), rel=1e-12)


class TestFilm:
    def test_it_is_the_stated_one_at_the_stated_flow(self) -> None:
        at = film_coefficient_lmh(FILM_FLOW_M3H_PER_M2 * 37.0, np.array(25.0), area_m2=37.0)
        assert float(at) == pytest.approx(FILM_COEFFICIENT_LMH, rel=1e-12)

    def test_twice_the_flow_gives_the_power_of_the_correlation(self) -> None:
        """Sh ~ Re^0.36: 2^0.36 = 1.283."""
        one, two = (float(film_coefficient_lmh(q, np.array(25.0), area_m2=37.0)) for q in (4.0, 8.0))
        assert two / one == pytest.approx(1.283, abs=0.001)

    def test_cold_water_has_a_poorer_film(self) -> None:
        """Diffusivity as T / viscosity: (278.15 / 298.15) x (0.890 / 1.519) = 0.547, to the power 0.64: 0.680
        (viscosity of water at 5 degC: 1.519 mPa s, any table)."""
        cold, warm = (float(film_coefficient_lmh(8.0, np.array(t), area_m2=37.0)) for t in (5.0, 25.0))
        assert cold / warm == pytest.approx(0.680, abs=0.005)


@pytest.mark.parametrize(
    ("psi", "tds", "recovery", "gpd", "rejection", "a", "b", "water"),
    [
        pytest.param(225, 2000, 0.15, 10_500, 0.995, 3.280, 0.1859, "sodium-chloride", id="brackish"),
        pytest.param(150, 2000, 0.15, 10_500, 0.995, 5.295, 0.1859, "sodium-chloride", id="low energy"),
        pytest.param(100, 500, 0.15, 10_500, 0.990, 6.958, 0.373, "sodium-chloride", id="extra low"),
        pytest.param(800, 32_000, 0.08, 7_500, 0.9975, 1.168, 0.0724, "sodium-chloride", id="sea water"),
    ],
)
def test_new_elements_at_the_makers_test_conditions(
    psi: float, tds: float, recovery: float, gpd: float, rejection: float, a: float, b: float, water: str
) -> None:
    """Usual data sheets of 8-inch elements (400 square feet, 25 degC, sodium chloride; from memory). A and B were
    computed from the same sheets with the handbooks' polarization exp(0.7 Y); film theory polarizes somewhat more,
    which is worth up to 3 % of flow (of sea water 9 %, whose osmotic pressure is half of the pump's) and a fifth of the
    salt that passes."""
    permeate = gpd * 3.785411784e-3 / 24
    out = _vessel(
        flow=permeate / recovery,
        tds=tds,
        pressure=float(to_canonical(np.array(psi), "psi", "bar")),
        elements=1,
        a=a,
        b=b,
        friction=0.0,
        water=water,
    )
    assert _one(out.permeate_flow_m3h) == pytest.approx(permeate, rel=0.09 if tds > 10_000 else 0.03)
    bulk = (tds + _one(out.concentrate.tds_mg_l)) / 2
    assert _one(out.permeate_tds_mg_l) / bulk == pytest.approx(1 - rejection, rel=0.20)
