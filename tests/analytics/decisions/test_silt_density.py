"""Silt density index by the form of its standard."""

import pytest

from analytics.decisions.silt_density import silt_density_index
from analytics.errors import InvalidSettings


@pytest.mark.parametrize(("first", "last", "value"), [(30, 60, 3.33), (28, 40, 2.00), (25, 35, 1.905)])
def test_sdi_by_the_form_of_the_standard(first: float, last: float, value: float) -> None:
    """ASTM D4189: 100 (1 - ti/tf) / 15."""
    assert silt_density_index(first, last).value == pytest.approx(value, abs=0.01)


def test_a_plugged_filter_asks_for_a_shorter_test() -> None:
    """ASTM D4189: 25 s and 100 s are 75 % plugging, SDI 5.00, to be run again over a shorter time."""
    found = silt_density_index(25, 100)
    assert found.value == pytest.approx(5.0) and not found.valid
    assert "over 10 minutes" in found.advice
    assert "not fit" in silt_density_index(25, 100, 5).advice
    assert silt_density_index(30, 31).advice.startswith("Below 3")
    assert silt_density_index(30, 100).advice.startswith("Accepted")


@pytest.mark.parametrize(("first", "last", "minutes"), [(0, 60, 15), (60, 30, 15), (30, 60, 7), (float("nan"), 60, 15)])
def test_times_that_cannot_be_are_refused(first: float, last: float, minutes: int) -> None:
    with pytest.raises(InvalidSettings):
        silt_density_index(first, last, minutes)
