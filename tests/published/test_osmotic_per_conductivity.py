"""Osmotic pressure of natural waters by their conductivity, against waters computed with PHREEQC.

Conductivity and dissolved species are PHREEQC's (phreeqc.dat, by phreeqpython); the osmotic coefficient is the
Debye-Hueckel term that sodium chloride has within 2 % to 0.1 mol/L (from memory).
"""

import numpy as np
import pytest
from phreeqpython import PhreeqPython

from analytics.condition.osmotic_start import LIKEST, NATURAL
from analytics.physics.water import osmotic_pressure_bar, tds_from_conductivity

GAS_CONSTANT_BAR_L_MOL_K = 0.083145
MIXES = {
    "chloride": {"NaCl": 1.0},
    "calcium, bicarbonate and sulfate": {"Ca(HCO3)2": 0.26, "CaSO4": 0.22, "MgSO4": 0.15, "NaCl": 0.37},
    "sodium bicarbonate": {"NaHCO3": 0.5, "NaCl": 0.5},
    "sodium sulfate": {"Na2SO4": 0.43, "NaCl": 0.57},
    "mixed": {"NaCl": 0.62, "CaSO4": 0.08, "MgSO4": 0.06, "NaHCO3": 0.16, "CaCl2": 0.08},
}
"""Shares of the salts, in moles."""
NOT_DISSOLVED = ("H2O", "H+", "OH-")


@pytest.fixture(scope="module")
def chemistry() -> PhreeqPython:
    return PhreeqPython()


def _over_the_law(chemistry: PhreeqPython, salts: dict[str, float], mmol_l: float) -> tuple[float, float]:
    """Osmotic pressure over that of natural water's curves, of the water and of sodium chloride of its conductivity."""
    solution = chemistry.add_solution_simple({name: share * mmol_l for name, share in salts.items()}, temperature=25)
    root = np.sqrt(solution.I)
    species = sum(amount for name, amount in solution.species_moles.items() if name not in NOT_DISSOLVED)
    found = (1 - 0.39 * root / (1 + 1.5 * root)) * species * GAS_CONSTANT_BAR_L_MOL_K * 298.15
    natural, sodium_chloride = (
        float(osmotic_pressure_bar(tds_from_conductivity(solution.sc, water=law), 25.0, water=law))
        for law in (NATURAL, LIKEST)
    )
    return found / natural, sodium_chloride / natural


@pytest.mark.parametrize("mmol_l", [10.0, 30.0, 60.0, 120.0])
@pytest.mark.parametrize("name", MIXES)
def test_sodium_chloride_of_the_same_conductivity_is_within_a_fifth(
    chemistry: PhreeqPython, name: str, mmol_l: float
) -> None:
    water, sodium_chloride = _over_the_law(chemistry, MIXES[name], mmol_l)
    assert 0.72 < water < 1.15
    assert water == pytest.approx(sodium_chloride, rel=0.20)


def test_the_curves_of_natural_water_are_a_sixth_above_the_middle_of_them(chemistry: PhreeqPython) -> None:
    found = [_over_the_law(chemistry, salts, mmol_l)[0] for salts in MIXES.values() for mmol_l in (30.0, 60.0, 120.0)]
    assert np.median(found) == pytest.approx(0.83, abs=0.03)
