"""What a number may have meant: facts of the trade's own examples, and invented ones."""

import numpy as np
import pytest

from analytics.condition.meanings import expected_ranges, guess_meaning, meanings, swapped
from tests.analytics.condition.steady_train import plant

EXPECTED = {"bar": (2.0, 41.0), "m3/h": (20.0, 90.0), "degC": (4.0, 40.0), "uS/cm": (500.0, 6_000.0)}
TRUE = {"bar": 12.0, "m3/h": 45.0, "degC": 25.0, "uS/cm": 2_500.0}


@pytest.mark.parametrize(
    ("named", "written_in", "factor"),
    [
        # factors of units: NIST Special Publication 811 (2008), as in analytics/units.py
        ("bar", "psi", 14.5038), ("bar", "kPa", 100.0), ("psi", "bar", 0.0689476), ("m3/h", "gpm", 4.40287),
        ("gpm", "m3/h", 0.2271247), ("m3/h", "L/min", 16.66667), ("uS/cm", "mS/cm", 0.001),
    ],
)  # fmt: skip
def test_a_column_in_another_unit_is_told(named: str, written_in: str, factor: float) -> None:
    canonical = {"psi": "bar", "gpm": "m3/h"}.get(named, named)
    numbers = TRUE[canonical] * (factor if named == canonical else 1.0) * np.linspace(0.97, 1.03, 20)
    found = guess_meaning(numbers, named, EXPECTED[canonical], usual=TRUE[canonical])
    assert found is not None
    assert (found.meaning.kind, found.meaning.unit) == ("unit", written_in)
    assert (found.inside_as_named, found.inside_as_guessed) == (0.0, 1.0)
    assert float(np.median(found.meaning.canonical(numbers))) == pytest.approx(TRUE[canonical], rel=1e-3)


def test_fahrenheit_is_told_from_celsius_by_its_zero() -> None:
    found = guess_meaning([77.0, 76.0, np.nan, 78.0], "degC", EXPECTED["degC"])
    assert found is not None and found.meaning.unit == "degF"
    assert float(found.meaning.canonical(77.0)) == pytest.approx(25.0)  # exact


def test_a_column_that_lost_its_decimal_point_is_told() -> None:
    found = guess_meaning([121.0, 119.0, 122.0], "bar", (2.0, 41.0), usual=12.0)
    assert found is not None
    assert (found.meaning.kind, found.meaning.power) == ("decimal", -1)


def test_a_column_that_fits_or_fits_nothing_is_left_alone() -> None:
    assert guess_meaning([12.0, 12.1, 174.0], "bar", EXPECTED["bar"], usual=12.0) is None
    assert guess_meaning([np.nan, np.nan], "bar", EXPECTED["bar"]) is None
    assert guess_meaning([-5.0, -5.1], "bar", EXPECTED["bar"]) is None


def test_a_unit_without_others_still_has_lost_points() -> None:
    assert {meaning.kind for meaning in meanings("-")} == {"decimal"}


@pytest.mark.parametrize(
    ("typed", "others"),
    [
        ("1243", ("2143", "1423", "1234")),
        ("12.5", ("21.5", "15.2")),
        ("100.2", ("102.0",)),
        ("-12", ("-21",)),
        ("7", ()),
    ],
)
def test_neighbouring_digits_are_swapped_across_the_point_but_no_zero_comes_first(
    typed: str, others: tuple[str, ...]
) -> None:
    assert swapped(typed) == others


def test_what_is_expected_of_a_new_plant_follows_its_membranes() -> None:
    train = plant().train
    ranges = expected_ranges(plant())
    low, high = ranges["permeate_flow_m3h"]
    assert low < 0.02 * train.area_m2 < high  # 20 L/m2/h is an ordinary flux; common practice, no source
    assert ranges["feed_temperature_c"][1] <= train.stages[0].membrane.max_temperature_c
    assert ranges["feed_pressure_bar"][1] <= train.stages[0].membrane.max_pressure_bar
