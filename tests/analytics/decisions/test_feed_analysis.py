"""An analysis of the feed: units, charges, conductivity."""

import pytest

from analytics.decisions.feed_analysis import (
    Analysis,
    as_ion_mg_l,
    calculated_conductivity,
    charge_balance,
    doubts,
)
from analytics.errors import InvalidSettings

IONS = {
    "calcium": 100.0, "magnesium": 30.0, "sodium": 246.0, "potassium": 10.0, "chloride": 360.0, "sulfate": 200.0,
    "bicarbonate": 250.0,
}  # fmt: skip


def test_units_of_laboratories() -> None:
    """By the molar masses: 250 mg/L as CaCO3 of calcium are 100.1 mg/L; 2 meq/L of sulfate 96.06 mg/L."""
    assert as_ion_mg_l("calcium", 250.0, "mg/L as CaCO3") == pytest.approx(100.1, abs=0.02)
    assert as_ion_mg_l("sulfate", 2.0, "meq/L") == pytest.approx(96.06)
    assert as_ion_mg_l("silica", 20.0, "mg/L") == 20.0
    with pytest.raises(InvalidSettings, match="no charge"):
        as_ion_mg_l("silica", 1.0, "meq/L")
    with pytest.raises(InvalidSettings, match="not known"):
        as_ion_mg_l("calcium", 1.0, "grains")


def test_charges_by_hand() -> None:
    """Ca 4.990, Mg 2.469, Na 10.700, K 0.256; Cl 10.154, SO4 4.164, HCO3 4.097 meq/L."""
    found = charge_balance(Analysis(IONS, 7.6, 25.0))
    assert found.cations == pytest.approx(18.415, abs=0.01)
    assert found.anions == pytest.approx(18.415, abs=0.01)
    assert found.closes and found.tolerance_percent == 5.0


def test_alkalinity_stands_for_bicarbonate() -> None:
    without = {name: value for name, value in IONS.items() if name != "bicarbonate"}
    given = Analysis(without, 7.6, 25.0, alkalinity_mg_l=205.04)
    assert charge_balance(given).anions == pytest.approx(charge_balance(Analysis(IONS, 7.6, 25.0)).anions, rel=1e-3)
    assert given.tds_mg_l == pytest.approx(Analysis(IONS, 7.6, 25.0).tds_mg_l, rel=1e-3)


def test_conductivity_of_the_sample_water_of_the_standard() -> None:
    """Standard Methods 2510 (from memory): 578.2 before and about 480 after the activity; measured 477 uS/cm."""
    sample = {
        "calcium": 55.0, "magnesium": 12.0, "sodium": 28.0, "potassium": 3.2, "bicarbonate": 170.0, "sulfate": 77.0,
        "chloride": 20.0,
    }  # fmt: skip
    assert calculated_conductivity(Analysis(sample, 7.5, 25.0)) == pytest.approx(482.9, abs=0.5)


def test_an_analysis_that_holds_together_raises_no_doubt() -> None:
    assert doubts(Analysis(IONS, 7.6, 25.0, conductivity_us_cm=1890.0)) == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"ions": IONS | {"sulfate": 20.0}}, "do not balance"),
        ({"ions": IONS | {"sodium": 24.6}}, "Some cations"),
        ({"conductivity_us_cm": 189.0}, "cannot be right"),
        ({"ions": {"calcium": 100.0, "chloride": 177.0}}, "nothing can be said about calcium carbonate"),
        ({"ions": IONS | {"carbonate": 2.0}}, "below pH 8.3"),
    ],
)
def test_what_is_odd_is_said(change: dict[str, object], said: str) -> None:
    given: dict[str, object] = {"ions": IONS, "ph": 7.6, "temperature_c": 25.0} | change
    assert said in " ".join(doubts(Analysis(**given)))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("ions", "ph", "temperature"),
    [({"unobtainium": 1.0}, 7.0, 25.0), ({"calcium": -1.0}, 7.0, 25.0), ({}, 1.0, 25.0), ({}, 7.0, 80.0)],
)
def test_what_cannot_be_is_refused(ions: dict[str, float], ph: float, temperature: float) -> None:
    with pytest.raises(InvalidSettings):
        Analysis(ions, ph, temperature)
