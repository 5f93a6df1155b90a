"""Properties of the water in the simulator: osmotic pressure, conductivity, viscosity. Own closures, on purpose."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

GAS_CONSTANT_BAR_L_MOL_K: Final = 0.083144626
ZERO_CELSIUS_K: Final = 273.15
REFERENCE_K: Final = 298.15


@dataclass(frozen=True)
class Salt:
    """What is dissolved: mean mass of one mole of ions [g/mol], and mg/L per uS/cm at 1000 mg/L with its exponent."""

    ion_mass_g_mol: float
    tds_per_conductivity: float
    tds_per_conductivity_exponent: float

    def osmotic_pressure_bar(self, tds_mg_l: FloatArray, temperature_c: FloatArray) -> FloatArray:
        """Osmotic pressure: van 't Hoff with an osmotic coefficient. [bar]

        Parameters
        ----------
        tds_mg_l : array
            Dissolved solids. [mg/L]
        temperature_c : array
            Temperature. [degC]

        Notes
        -----
        The coefficient has the shape of a Debye-Hueckel term with a linear one, its two constants set by hand so
        that sodium chloride agrees within 1 % with the osmotic coefficients of Robinson and Stokes up to 0.6 mol/L.
        """
        ions = tds_mg_l / (1000 * self.ion_mass_g_mol)
        root = np.sqrt(ions / 2)
        coefficient = 1 - 0.39 * root / (1 + 1.9 * root) + 0.04 * ions
        return coefficient * ions * GAS_CONSTANT_BAR_L_MOL_K * (temperature_c + ZERO_CELSIUS_K)

    def conductivity_us_cm(self, tds_mg_l: FloatArray) -> FloatArray:
        """Conductivity at 25 degC; dissolved solids per conductivity rise slowly with salinity. [uS/cm]"""
        return tds_mg_l / (self.tds_per_conductivity * (tds_mg_l / 1000) ** self.tds_per_conductivity_exponent)

    def tds_mg_l(self, conductivity_us_cm: FloatArray) -> FloatArray:
        """Dissolved solids of a conductivity at 25 degC; the exact inverse of `conductivity_us_cm`. [mg/L]"""
        share = self.tds_per_conductivity_exponent
        return np.asarray((conductivity_us_cm * self.tds_per_conductivity * 1000**-share) ** (1 / (1 - share)))


NATURAL_BRACKISH: Final = Salt(ion_mass_g_mol=33.0, tds_per_conductivity=0.62, tds_per_conductivity_exponent=0.045)
"""An invented well water; its factor lies between 0.5 (permeate) and 0.7 (concentrate), the usual span."""

SODIUM_CHLORIDE: Final = Salt(ion_mass_g_mol=29.22, tds_per_conductivity=0.508, tds_per_conductivity_exponent=0.036)
"""Ion mass is half the molar mass 58.44 g/mol; the factor follows computed conductivities (500 to 10,000 mg/L)."""


def viscosity_ratio(temperature_c: FloatArray) -> FloatArray:
    """Viscosity of water over its value at 25 degC, by a Vogel equation. [-]

    From memory, a textbook form with 247.8 K and 140 K; within 1.5 % of the IAPWS values between 5 and 45 degC.
    """
    kelvin = np.asarray(temperature_c, dtype=np.float64) + ZERO_CELSIUS_K
    return np.asarray(10 ** (247.8 / (kelvin - 140) - 247.8 / (REFERENCE_K - 140)))


def arrhenius(slope_k: float, temperature_c: FloatArray) -> FloatArray:
    """Growth of a permeability with temperature, 1 at 25 degC. [-]"""
    kelvin = np.asarray(temperature_c, dtype=np.float64) + ZERO_CELSIUS_K
    return np.exp(slope_k * (1 / REFERENCE_K - 1 / kelvin))
