"""Dechlorination: doses by stoichiometry, exposure and ORP by hand."""

import numpy as np
import pytest

from analytics.decisions.dechlorination import chlorine_exposure, orp_baseline, sulfite_dose
from analytics.errors import InvalidSettings
from analytics.physics.oxidants import SULFITE_PER_CHLORINE

ANY = {"feed_flow_m3h": 20.0, "chlorine_mg_l": 0.8, "strength": 0.1, "density_kg_l": 1.07}


def test_stoichiometry_by_molar_masses() -> None:
    """Na2S2O5 190.10/2, NaHSO3 104.06, Na2SO3 126.04 over Cl2 70.906."""
    assert list(SULFITE_PER_CHLORINE.values()) == pytest.approx([1.341, 1.468, 1.778], abs=0.002)


def test_sulfite_by_hand() -> None:
    """20 m3/h, 0.8 mg/L, factor 3: 48.0 g/h = 1.152 kg/d; 10 % at 1.07 kg/L: 0.449 L/h."""
    found = sulfite_dose("sodium metabisulfite", factor=3.0, **ANY)
    assert found.grams_per_hour == pytest.approx(48.0)
    assert found.kilograms_per_day == pytest.approx(1.152)
    assert found.litres_per_hour == pytest.approx(0.449, rel=0.005)
    assert found.warning == ""


def test_the_inverse_factor_is_warned_of() -> None:
    """0.75 is the inverse of 1.34: it leaves 44 % of the chlorine."""
    assert "leaves 44 %" in sulfite_dose("sodium metabisulfite", factor=0.75, **ANY).warning
    assert "Hardly enough" in sulfite_dose("sodium metabisulfite", factor=1.5, **ANY).warning


@pytest.mark.parametrize("change", [{"factor": 0.0}, {"strength": 1.5}, {"chlorine_mg_l": -1.0}])
def test_doses_that_cannot_be_are_refused(change: dict[str, float]) -> None:
    with pytest.raises(InvalidSettings):
        sulfite_dose("sodium sulfite", **(ANY | {"factor": 3.0} | change))
    with pytest.raises(InvalidSettings):
        sulfite_dose("vitamin c", factor=3.0, **ANY)


def test_exposure_by_hand() -> None:
    """0.05 mg/L for 30 days are 36 ppm h; 200 are reached after 166.7 days."""
    hours = np.arange(30) * 24.0
    found = chlorine_exposure(hours, np.full(30, 0.05), end_h=720.0, detection_limit_mg_l=0.02)
    assert found.least == pytest.approx(36.0) and found.most == pytest.approx(36.0)
    assert pytest.approx(166.7, abs=0.1) == 200 / 0.05 / 24


def test_exposure_below_the_detection_limit_is_a_range_and_gaps_are_told() -> None:
    hours, values = np.array([0.0, 24.0, 240.0]), np.array([0.0, 0.1, np.nan])
    found = chlorine_exposure(hours, values, end_h=264.0, detection_limit_mg_l=0.02)
    assert (found.least, found.most) == (pytest.approx(2.4), pytest.approx(2.88))
    assert found.uncovered_hours == pytest.approx(216.0)
    late = chlorine_exposure(hours, values[::-1], end_h=264.0, detection_limit_mg_l=0.02)
    assert (late.hours, late.uncovered_hours) == (48.0, 216.0)


def test_orp_is_held_against_the_sites_own() -> None:
    orp, chlorine = np.array([180.0, 185, 190, 182, 188, 260]), np.array([0.0, 0, 0, 0, 0, np.nan])
    found = orp_baseline(orp, chlorine, detection_limit_mg_l=0.02)
    assert found is not None and found.without_chlorine == 185.0 and found.rise > 50
    assert orp_baseline(orp[:3], chlorine[:3], detection_limit_mg_l=0.02) is None
