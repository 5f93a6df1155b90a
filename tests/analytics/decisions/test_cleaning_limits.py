"""What an element stands in a cleaning."""

import math

import pytest

from analytics.decisions.cleaning_limits import check_conditions, highest_ph
from analytics.plant import Membrane

SHEET = Membrane(area_m2=37.0, cleaning_min_ph=1.0, cleaning_max_ph_25c=13.0)


def test_the_highest_ph_falls_with_temperature_by_the_stricter_step() -> None:
    # A membrane maker's limits, from memory: 13 at 25 degC, 12 at 35 degC, 10.5 at 45 degC.
    assert [highest_ph(SHEET, t) for t in (25.0, 25.1, 35.0, 40.0, 45.0)] == [13.0, 12.0, 12.0, 10.5, 10.5]
    assert math.isnan(highest_ph(SHEET, 46.0))


@pytest.mark.parametrize(
    ("given", "refused"),
    [
        ({"ph": 12.5, "temperature_c": 40.0}, True),  # the case that must be refused
        ({"ph": 12.5, "temperature_c": 24.0}, False),
        ({"ph": 12.5}, None),  # without temperature it may harm
        ({"ph": 7.0, "temperature_c": 45.0}, False),
        ({"pressure_bar": 4.5}, True),
        ({"pressure_bar": 60.0}, True),
        ({"pressure_drop_bar": 3.6, "elements": 6}, True),  # 3.5 bar per vessel: maker's manual
        ({"pressure_drop_bar": 1.1, "elements": 1}, True),  # 1.0 bar per element: maker's manual
        ({"pressure_drop_bar": 3.4, "elements": 6}, False),
        ({"temperature_c": 46.0}, True),
        ({"temperature_c": 12.0}, None),
    ],
)
def test_conditions_are_refused_warned_or_passed(given: dict[str, float], refused: bool | None) -> None:
    found = check_conditions(SHEET, **given)  # type: ignore[arg-type]
    if refused is None:
        assert found and not any(finding.refused for finding in found)
    else:
        assert any(finding.refused for finding in found) is refused
