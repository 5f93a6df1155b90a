"""What can be dissolved in water: ions, the pairs that they form, and the minerals that they leave as.

Constants are those of the database phreeqc.dat of PHREEQC 3 (United States Geological Survey), reaction by reaction.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

KELVIN_AT_25_CELSIUS = 298.15
GAS_CONSTANT_KCAL = 1.98720e-3
"""[kcal/(mol K)]"""


@dataclass(frozen=True)
class Ion:
    """A dissolved constituent as a laboratory reports it.

    `size` and `slope` are those of the extended Debye-Hückel law; `conductance` is the limiting equivalent conductance
    at 25 degC (Standard Methods 2510, from memory).
    """

    label: str
    formula: str
    charge: int
    molar_mass: float
    size: float
    slope: float
    conductance: float


IONS: Mapping[str, Ion] = {
    "calcium": Ion("Calcium", "Ca²⁺", 2, 40.08, 5.0, 0.165, 59.5),
    "magnesium": Ion("Magnesium", "Mg²⁺", 2, 24.305, 5.5, 0.20, 53.1),
    "sodium": Ion("Sodium", "Na⁺", 1, 22.99, 4.08, 0.082, 50.1),
    "potassium": Ion("Potassium", "K⁺", 1, 39.098, 3.5, 0.015, 73.5),
    "barium": Ion("Barium", "Ba²⁺", 2, 137.33, 4.0, 0.153, 63.6),
    "strontium": Ion("Strontium", "Sr²⁺", 2, 87.62, 5.26, 0.121, 59.4),
    "chloride": Ion("Chloride", "Cl⁻", -1, 35.453, 3.63, 0.017, 76.3),
    "sulfate": Ion("Sulfate", "SO₄²⁻", -2, 96.06, 5.0, -0.04, 80.0),
    "fluoride": Ion("Fluoride", "F⁻", -1, 18.998, 3.5, 0.0, 55.4),
    "nitrate": Ion("Nitrate", "NO₃⁻", -1, 62.005, 3.0, 0.0, 71.4),
    "bicarbonate": Ion("Bicarbonate", "HCO₃⁻", -1, 61.017, 5.4, 0.0, 44.5),
    "carbonate": Ion("Carbonate", "CO₃²⁻", -2, 60.009, 5.4, 0.0, 69.3),
    "silica": Ion("Silica", "SiO₂", 0, 60.084, 0.0, 0.0, 0.0),
}


@dataclass(frozen=True)
class Constant:
    """An equilibrium constant over temperature: log10 K.

    `terms` are A1 to A6 of log K = A1 + A2 T + A3/T + A4 log T + A5/T² + A6 T², T in K; without them the law of van 't
    Hoff leads on from 25 degC by the heat of reaction. [kcal/mol]
    """

    at_25: float
    heat: float = 0.0
    terms: tuple[float, ...] = ()

    def log10(self, temperature_c: Array) -> Array:
        kelvin = temperature_c + 273.15
        if not self.terms:
            turned = 1.0 / KELVIN_AT_25_CELSIUS - 1.0 / kelvin
            return np.asarray(self.at_25 + self.heat / (np.log(10) * GAS_CONSTANT_KCAL) * turned)
        a = (*self.terms, *(0.0,) * (6 - len(self.terms)))
        steady = a[0] + a[1] * kelvin + a[2] / kelvin + a[3] * np.log10(kelvin)
        return np.asarray(steady + a[4] / kelvin**2 + a[5] * kelvin**2)


@dataclass(frozen=True)
class Species:
    """Something that free ions form, with hydrogen ions taken up (or, below zero, given off).

    Without `size` its activity follows the law of Davies. `alkalinity` is what a mole of it counts. [eq/mol]
    """

    made_of: Mapping[str, int]
    hydrogen: int
    charge: int
    constant: Constant
    size: float | None = None
    alkalinity: int = 0


SPECIES: Mapping[str, Species] = {
    "OH-": Species(
        {}, -1, -1, Constant(-14.0, terms=(293.29227, 0.1360833, -10576.913, -123.73158, 0.0, -6.996455e-5)), 3.5, 1
    ),
    "HCO3-": Species(
        {"carbonate": 1}, 1, -1,
        Constant(10.329, terms=(107.8871, 0.03252849, -5151.79, -38.92561, 563713.9)), 5.4, 1,
    ),
    "CO2": Species(
        {"carbonate": 1}, 2, 0,
        Constant(16.681, terms=(464.1965, 0.09344813, -26986.16, -165.75951, 2248628.9)),
    ),
    "HSO4-": Species({"sulfate": 1}, 1, -1, Constant(1.988, terms=(-56.889, 0.006473, 2307.9, 19.8858)), None, -1),
    "HF": Species({"fluoride": 1}, 1, 0, Constant(3.18, terms=(-2.033, 0.012645, 429.01)), None, -1),
    "CaCO3": Species(
        {"calcium": 1, "carbonate": 1}, 0, 0,
        Constant(3.224, terms=(-1228.732, -0.299440, 35512.75, 485.818)), None, 2,
    ),
    "CaHCO3+": Species(
        {"calcium": 1, "carbonate": 1}, 1, 1,
        Constant(11.435, terms=(1317.0071, 0.34546894, -39916.84, -517.70761, 563713.9)), 6.0, 1,
    ),
    "CaSO4": Species({"calcium": 1, "sulfate": 1}, 0, 0, Constant(2.25, 1.325)),
    "MgCO3": Species(
        {"magnesium": 1, "carbonate": 1}, 0, 0, Constant(2.98, terms=(0.9910, 0.00667)), None, 2
    ),
    "MgHCO3+": Species(
        {"magnesium": 1, "carbonate": 1}, 1, 1,
        Constant(11.399, terms=(48.6721, 0.03252849, -2614.335, -18.00263, 563713.9)), 4.0, 1,
    ),
    "MgSO4": Species({"magnesium": 1, "sulfate": 1}, 0, 0, Constant(2.37, 4.550)),
    "MgF+": Species({"magnesium": 1, "fluoride": 1}, 0, 1, Constant(1.82, 3.20), 4.5),
    "NaCO3-": Species({"sodium": 1, "carbonate": 1}, 0, -1, Constant(1.27, 8.91), None, 2),
    "NaHCO3": Species({"sodium": 1, "carbonate": 1}, 1, 0, Constant(10.079, -4.561), None, 1),
    "NaSO4-": Species({"sodium": 1, "sulfate": 1}, 0, -1, Constant(0.7, 1.120), 5.4),
    "NaF": Species({"sodium": 1, "fluoride": 1}, 0, 0, Constant(-0.24)),
    "KSO4-": Species({"potassium": 1, "sulfate": 1}, 0, -1, Constant(0.85, terms=(3.106, 0.0, -673.6)), 5.4),
    "BaSO4": Species({"barium": 1, "sulfate": 1}, 0, 0, Constant(2.7)),
    "BaCO3": Species(
        {"barium": 1, "carbonate": 1}, 0, 0, Constant(2.71, terms=(0.113, 0.008721)), None, 2
    ),
    "BaHCO3+": Species({"barium": 1, "carbonate": 1}, 1, 1, Constant(11.311, 1.999), None, 1),
    "SrSO4": Species({"strontium": 1, "sulfate": 1}, 0, 0, Constant(2.29, 2.08)),
    "SrCO3": Species(
        {"strontium": 1, "carbonate": 1}, 0, 0, Constant(2.81, terms=(-1.019, 0.012826)), None, 2
    ),
    "SrHCO3+": Species(
        {"strontium": 1, "carbonate": 1}, 1, 1,
        Constant(11.509, terms=(104.6391, 0.04739549, -5151.79, -38.92561, 563713.9)), 5.4, 1,
    ),
    "H3SiO4-": Species(
        {"silica": 1}, -1, -1,
        Constant(-9.83, terms=(-302.3724, -0.050698, 15669.69, 108.18466, -1119669.0)), 4.0, 1,
    ),
}  # fmt: skip
"""Reactions that form one mole from free ions; carbon dioxide counts no alkalinity."""


@dataclass(frozen=True)
class Mineral:
    """A scale that can form: the ions that it takes, water of crystals, and its solubility product."""

    label: str
    formula: str
    made_of: Mapping[str, int]
    constant: Constant
    waters: int = 0


MINERALS: Mapping[str, Mineral] = {
    "calcite": Mineral(
        "Calcium carbonate", "CaCO₃", {"calcium": 1, "carbonate": 1},
        Constant(-8.48, terms=(-171.9065, -0.077993, 2839.319, 71.595)),
    ),
    "gypsum": Mineral(
        "Calcium sulfate", "CaSO₄·2H₂O", {"calcium": 1, "sulfate": 1},
        Constant(-4.58, terms=(68.2401, 0.0, -3221.51, -25.0627)), waters=2,
    ),
    "barite": Mineral(
        "Barium sulfate", "BaSO₄", {"barium": 1, "sulfate": 1},
        Constant(-9.97, terms=(-282.43, -8.972e-2, 5822.0, 113.08)),
    ),
    "celestite": Mineral(
        "Strontium sulfate", "SrSO₄", {"strontium": 1, "sulfate": 1},
        Constant(-6.63, terms=(-7.14, 6.11e-3, 75.0, 0.0, 0.0, -1.79e-5)),
    ),
    "fluorite": Mineral(
        "Calcium fluoride", "CaF₂", {"calcium": 1, "fluoride": 2},
        Constant(-10.6, terms=(66.348, 0.0, -4298.2, -25.271)),
    ),
    "amorphous silica": Mineral(
        "Silica", "SiO₂", {"silica": 1}, Constant(-2.71, terms=(-0.26, 0.0, -731.0)), waters=-2
    ),
}  # fmt: skip
"""`waters` below zero: water that the mineral gives up on dissolving is taken from the solution."""
