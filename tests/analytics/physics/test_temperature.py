"""Temperature factors: 1 at 25 degC, rising, and the forms among themselves."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.errors import InvalidSettings
from analytics.physics.temperature import (
    membrane_water_temperature_factor,
    salt_temperature_factor,
    water_temperature_factor,
)
from analytics.plant import Membrane

FORMS = {
    "two-slope": {"correction": "two-slope"},
    "exponential": {"correction": "exponential", "slope_k": 2700.0},
    "percent": {"correction": "percent", "percent_per_degc": 3.0},
    "fitted": {"correction": "fitted", "slope_k": 2500.0},
    "fitted, nothing learned yet": {"correction": "fitted"},
}
every_form = pytest.mark.parametrize("choice", FORMS.values(), ids=FORMS)


@every_form
def test_one_at_25_degrees_and_rising(choice: dict[str, object]) -> None:
    assert water_temperature_factor(25.0, **choice) == pytest.approx(1.0, abs=1e-15)
    assert (np.diff(water_temperature_factor(np.linspace(0.0, 50.0, 501), **choice)) > 0).all()


@every_form
def test_no_answer_outside_the_range(choice: dict[str, object]) -> None:
    assert np.isfinite(water_temperature_factor([0.0, 50.0], **choice)).all()
    assert np.isnan(water_temperature_factor([-0.1, 50.1], **choice)).all()


@given(temperature=st.floats(0.0, 50.0))
def test_two_slopes_are_the_one_slope_of_their_side(temperature: float) -> None:
    slope = 2640.0 if temperature >= 25.0 else 3020.0
    one = water_temperature_factor(temperature, correction="exponential", slope_k=slope)
    assert water_temperature_factor(temperature, correction="two-slope") == pytest.approx(one, rel=1e-12)


@given(temperature=st.floats(0.0, 50.0), percent=st.floats(0.5, 6.0))
def test_percent_compounds_by_degree(temperature: float, percent: float) -> None:
    factor = water_temperature_factor(temperature, correction="percent", percent_per_degc=percent)
    assert factor == pytest.approx((1.0 + percent / 100.0) ** (temperature - 25.0), rel=1e-12)


def test_a_fitted_slope_is_used_once_there_is_one_and_the_prior_before() -> None:
    assert water_temperature_factor(10.0, correction="fitted") == water_temperature_factor(10.0, correction="two-slope")
    assert water_temperature_factor(10.0, correction="fitted", slope_k=2500.0) == water_temperature_factor(
        10.0, correction="exponential", slope_k=2500.0
    )


@pytest.mark.parametrize(
    ("correction", "message"),
    [
        ("exponential", "slope_k: needed"),
        ("percent", "percent_per_degc: needed"),
        ("linear", '"linear" is not one of two-slope'),
    ],
)
def test_a_choice_that_cannot_be_meant_is_refused(correction: str, message: str) -> None:
    with pytest.raises(InvalidSettings, match=message):
        water_temperature_factor(20.0, correction=correction)


@pytest.mark.parametrize(
    "membrane",
    [
        Membrane(area_m2=37.2),
        Membrane(area_m2=37.2, temperature_correction="exponential", slope_k=2700.0),
        Membrane(area_m2=37.2, temperature_correction="percent", percent_per_degc=2.8),
        Membrane(area_m2=37.2, temperature_correction="fitted", slope_k=2500.0),
    ],
    ids=lambda m: m.temperature_correction,
)
def test_the_form_comes_from_the_membrane(membrane: Membrane) -> None:
    expected = water_temperature_factor(
        12.0,
        correction=membrane.temperature_correction,
        slope_k=membrane.slope_k,
        percent_per_degc=membrane.percent_per_degc,
    )
    assert membrane_water_temperature_factor(12.0, membrane) == expected
    assert salt_temperature_factor(12.0, membrane) == expected  # "same" is the default


def test_salt_has_a_choice_of_its_own() -> None:
    own = Membrane(area_m2=37.2, salt_temperature_correction="exponential", salt_slope_k=4000.0)
    # By hand: exp(4000 (1/298.15 - 1/288.15)) = exp(-0.465588).
    assert salt_temperature_factor(15.0, own) == pytest.approx(0.62777, rel=1e-4)
    none = Membrane(area_m2=37.2, salt_temperature_correction="none")
    np.testing.assert_array_equal(salt_temperature_factor([5.0, np.nan, 60.0], none), [1.0, np.nan, np.nan])
