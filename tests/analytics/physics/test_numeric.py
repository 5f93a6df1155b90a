"""Types in, types out; rows are never mixed up."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.physics import hydraulics, membrane, normalization, temperature, water
from analytics.physics.numeric import BLOCK, keeps_type, valid_only
from analytics.plant import Membrane

WARM = Membrane(area_m2=37.2)

FORMULAS: dict[str, tuple[Callable[..., Any], tuple[float, ...]]] = {
    "osmotic pressure, brackish": (water.osmotic_pressure_bar, (2000.0, 25.0)),
    "osmotic pressure, brine": (water.osmotic_pressure_bar, (30000.0, 25.0)),
    "osmotic pressure, salt": (lambda c, t: water.osmotic_pressure_bar(c, t, water="sodium-chloride"), (2000.0, 25.0)),
    "osmotic pressure, sea": (lambda c, t: water.osmotic_pressure_bar(c, t, water="seawater"), (2000.0, 25.0)),
    "solids, brackish": (water.tds_from_conductivity, (2000.0,)),
    "solids, salt": (lambda k: water.tds_from_conductivity(k, water="sodium-chloride"), (2000.0,)),
    "solids, factor": (lambda k: water.tds_from_conductivity(k, factor=0.6), (2000.0,)),
    "viscosity": (water.viscosity_mpa_s, (15.0,)),
    "conductivity at 25": (water.conductivity_at_25, (800.0, 12.0)),
    "two slopes": (lambda t: temperature.water_temperature_factor(t, correction="two-slope"), (15.0,)),
    "one slope": (
        lambda t: temperature.water_temperature_factor(t, correction="exponential", slope_k=2700.0),
        (15.0,),
    ),
    "percent": (
        lambda t: temperature.water_temperature_factor(t, correction="percent", percent_per_degc=3.0),
        (15.0,),
    ),
    "membrane": (lambda t: temperature.membrane_water_temperature_factor(t, WARM), (15.0,)),
    "salt": (lambda t: temperature.salt_temperature_factor(t, WARM), (15.0,)),
    "recovery": (hydraulics.recovery, (15.0, 20.0)),
    "log mean": (hydraulics.log_mean_concentration_factor, (0.75,)),
    "true log mean": (hydraulics.true_log_mean, (1.0, 4.0)),
    "arithmetic mean": (hydraulics.arithmetic_mean_concentration_factor, (0.75,)),
    "concentrate": (hydraulics.concentrate_concentration, (3000.0, 60.0, 0.75)),
    "element drop": (hydraulics.element_pressure_drop_bar, (10.0,)),
    "driving pressure": (membrane.net_driving_pressure_bar, (12.0, 1.8, 0.5, 3.8, 0.04)),
    "flux": (membrane.flux_lmh, (15.0, 600.0)),
    "salt passage": (membrane.salt_passage, (60.0, 3000.0)),
    "water permeability": (membrane.water_permeability_lmh_bar, (25.0, 8.0, 1.1)),
    "salt permeability": (membrane.salt_permeability_lmh, (25.0, 20.0, 4000.0, 1.1, 1.05)),
    "polarization": (membrane.polarization_factor, (0.12,)),
    "element recovery": (membrane.mean_element_recovery, (0.75, 12.0)),
    "normalized flow": (
        lambda q, n, r, t: normalization.normalized_permeate_flow(q, ndp=n, reference_ndp=r, tcf=t),
        (15.0, 8.0, 7.0, 0.9),
    ),
    "normalized passage": (
        lambda s, q, r, a, b, t: normalization.normalized_salt_passage(
            s,
            permeate_flow=q,
            reference_permeate_flow=r,
            concentration_factor=a,
            reference_concentration_factor=b,
            stcf=t,
        ),
        (0.01, 15.0, 14.0, 1.8, 1.7, 0.9),
    ),
    "normalized quality": (
        lambda c, n, r, a, b: normalization.normalized_permeate_concentration(
            c, ndp=n, reference_ndp=r, feed_side_tds=a, reference_feed_side_tds=b
        ),
        (60.0, 8.0, 7.0, 5700.0, 5500.0),
    ),
    "normalized drop": (
        lambda d, q, r: normalization.normalized_pressure_drop(d, mean_flow_m3h=q, reference_mean_flow_m3h=r),
        (1.8, 11.0, 12.0),
    ),
    "normalized drop, viscosity": (
        lambda d, q, r, v: normalization.normalized_pressure_drop(
            d, mean_flow_m3h=q, reference_mean_flow_m3h=r, exponent=1.7, viscosity_ratio=v
        ),
        (1.8, 11.0, 12.0, 0.9),
    ),
}

every_formula = pytest.mark.parametrize(("formula", "values"), FORMULAS.values(), ids=FORMULAS)


@every_formula
def test_a_scalar_gives_a_number(formula: Callable[..., Any], values: tuple[float, ...]) -> None:
    result = formula(*values)
    assert type(result) is float
    assert np.isfinite(result)
    assert formula(*map(np.float64, values)) == result


@every_formula
def test_an_array_gives_an_array_of_the_same_values(formula: Callable[..., Any], values: tuple[float, ...]) -> None:
    scalar = formula(*values)
    vector = formula(*(np.array([value, value]) for value in values))
    assert isinstance(vector, np.ndarray)
    np.testing.assert_allclose(vector, [scalar, scalar], rtol=1e-14)
    matrix = formula(*(np.full((2, 3), value) for value in values))
    assert matrix.shape == (2, 3)
    assert formula(*(np.empty(0) for _ in values)).shape == (0,)


@every_formula
def test_a_series_keeps_its_index(formula: Callable[..., Any], values: tuple[float, ...]) -> None:
    index = pd.date_range("2026-03-01", periods=3, freq="8h", tz="UTC", name="taken_at")
    result = formula(*(pd.Series(value, index=index, name="some name") for value in values))
    assert isinstance(result, pd.Series)
    pd.testing.assert_series_equal(result, pd.Series(formula(*values), index=index))


@every_formula
def test_series_array_and_scalar_may_be_mixed(formula: Callable[..., Any], values: tuple[float, ...]) -> None:
    series = pd.Series([values[0]] * 2, index=["a", "b"])
    rest = [np.full(2, value) if position % 2 else value for position, value in enumerate(values[1:])]
    pd.testing.assert_series_equal(formula(series, *rest), pd.Series(formula(*values), index=["a", "b"]))


@every_formula
def test_a_missing_value_gives_a_missing_result_in_its_row_only(
    formula: Callable[..., Any], values: tuple[float, ...]
) -> None:
    for position in range(len(values)):
        arrays = [np.full(3, value) for value in values]
        arrays[position][1] = np.nan
        assert np.isnan(formula(*arrays)).tolist() == [False, True, False]


@every_formula
def test_absurd_values_give_a_missing_result_silently(formula: Callable[..., Any], values: tuple[float, ...]) -> None:
    """Nothing raises or warns (warnings are errors here), and the inputs stay as they were."""
    arrays = [np.array([value, 0.0, -1e300, 1e300, np.inf, -np.inf, np.nan]) for value in values]
    before = [array.copy() for array in arrays]
    result = formula(*arrays)
    assert np.isfinite(result[0])
    assert np.isnan(result[-1])
    for array, copy in zip(arrays, before, strict=True):
        np.testing.assert_array_equal(array, copy)


@every_formula
def test_long_columns_come_out_as_short_ones(formula: Callable[..., Any], values: tuple[float, ...]) -> None:
    """They are worked through block by block; here the first column varies and the second argument is a scalar."""
    rows = 2 * BLOCK + 7
    first = values[0] * np.linspace(0.98, 1.02, rows)
    first[[0, BLOCK - 1, BLOCK, -1]] = np.nan
    columns = [first, *(np.full(rows, value) if place else value for place, value in enumerate(values[1:]))]
    whole = formula(*columns)
    pieces = [
        formula(*(column[part] if isinstance(column, np.ndarray) else column for column in columns))
        for part in np.array_split(np.arange(rows), 13)
    ]
    np.testing.assert_array_equal(whole, np.concatenate(pieces))
    assert np.flatnonzero(np.isnan(whole)).tolist() == [0, BLOCK - 1, BLOCK, rows - 1]


def test_whole_numbers_and_lists_are_numbers_too() -> None:
    assert hydraulics.recovery(15, 20) == 0.75
    np.testing.assert_array_equal(hydraulics.recovery([15, 10], [20, 20]), [0.75, 0.5])
    series = pd.Series([15, None], dtype="Int64")
    assert hydraulics.recovery(series, 20).isna().tolist() == [False, True]


def test_series_whose_rows_do_not_match_are_refused() -> None:
    first, second = pd.Series([15.0, 10.0], index=[0, 1]), pd.Series([20.0, 20.0], index=[1, 2])
    with pytest.raises(ValueError, match="different indexes"):
        hydraulics.recovery(first, second)
    # Equal is enough; it need not be the same object.
    assert hydraulics.recovery(first, second.set_axis([0, 1])).tolist() == [0.75, 0.5]


def test_a_formula_keeps_its_name_and_text() -> None:
    assert hydraulics.recovery.__name__ == "recovery"
    assert "become" in str(hydraulics.recovery.__doc__)
    assert keeps_type(lambda value: value)(2) == 2.0


def test_valid_only_leaves_the_values_that_it_was_given() -> None:
    values = np.array([1.0, 2.0])
    assert np.isnan(valid_only(values, np.array([False, True]))).tolist() == [True, False]
    assert values.tolist() == [1.0, 2.0]
    assert valid_only(values, np.array([True, True])) is values
