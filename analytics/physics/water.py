"""What the water is like: osmotic pressure, dissolved solids from conductivity, viscosity."""

from collections.abc import Mapping

import numpy as np

from analytics.errors import InvalidSettings
from analytics.physics.numeric import Numeric, keeps_type, valid_only
from analytics.units import KELVIN_AT_ZERO_CELSIUS

TEMPERATURE_RANGE_C = (0.0, 50.0)
"""Water temperatures, both ends included, at which the formulas of this room answer; outside: NaN. [degC]"""

HANDBOOK_BRANCH_MG_L = 20_000.0
HANDBOOK_MAX_MG_L = 100_000.0
FITTED_MAX_MG_L = 80_000.0
MAX_CONDUCTIVITY_US_CM = 100_000.0

_OSMOTIC_FITS = {
    "sodium-chloride": (
        2.8337056990e-03, -1.1217457604e-04, 1.7896022280e-05, -6.6579311229e-07,
        -2.0862823498e-07, 3.2784247046e-08, -7.4099481610e-10,
    ),
    "seawater": (
        2.6307480128e-03, -1.3768635704e-04, 2.2005085303e-05, -8.4475517437e-07,
        -3.1392274535e-07, 2.4631877099e-08, -5.9926332568e-10,
    ),
}  # fmt: skip

_CONDUCTIVITY_FITS = {
    "sodium-chloride": (0.462476182, 3.22193307e-02, -1.83411837e-03, 1.59601440e-04),
    "seawater": (0.458503132, 3.70472683e-02, -1.63999369e-03, 1.05490572e-04),
}

_ISO_7888_TEMPERATURE_C = np.array([0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0])
_ISO_7888_FACTOR = np.array([1.918, 1.643, 1.428, 1.256, 1.116, 1.000, 0.903, 0.822])


@keeps_type
def osmotic_pressure_bar(tds_mg_l: Numeric, temperature_c: Numeric, *, water: str = "natural-brackish") -> Numeric:
    r"""Osmotic pressure of a solution of known dissolved solids.

    Parameters
    ----------
    tds_mg_l : numeric
        Dissolved solids. [mg/L]
    temperature_c : numeric
        Temperature. [degC]
    water : str
        "natural-brackish" (handbook form), "sodium-chloride" or "seawater". [-]

    Returns
    -------
    numeric
        NaN below zero, above 100 g/L (handbook form) or 80 g/L (the two fits), and outside 0 to 50 degC. [bar]

    Raises
    ------
    InvalidSettings
        When `water` is none of the three.

    Notes
    -----
    Natural brackish water, the form of membrane makers' handbooks [1]_ (from memory), C in mg/L, T in degC:

    .. math::
        \pi = C (T + 320) / 491000 \quad (C \le 20000), \qquad
        \pi = \frac{0.0117 C - 34}{14.23} \cdot \frac{T + 320}{345} \quad (C > 20000)

    It is some 13 % low for pure sodium chloride at 2 g/L and 5 % high for sea water: choose the water that you have.

    The two fits share one form of our own, van 't Hoff's law times a polynomial, with c in g/L, t = T - 25 and
    the temperature in kelvin in front:

    .. math:: \pi = c T_K [b_0 + b_1 \sqrt{c} + b_2 c + b_3 c \sqrt{c} + t (b_4 + b_5 c + b_6 c t)]

    Both are least-maximum-error fits over 0 to 50 degC: sodium chloride to 168 values of the Pitzer equation [2]_
    from 0.1 to 80 g per kg of water, largest error 0.23 %; sea water to 240 values from 0.1 to 78 g/kg, computed
    from the chemical potential of water in TEOS-10 [3]_, largest error 0.40 %.

    References
    ----------
    .. [1] FilmTec Reverse Osmosis Membranes Technical Manual, section on plant performance normalization.
    .. [2] D. L. Parkhurst and C. A. J. Appelo, "Description of input and examples for PHREEQC version 3", USGS
       Techniques and Methods 6-A43, 2013, database pitzer.dat.
    .. [3] IOC, SCOR and IAPSO, "The international thermodynamic equation of seawater - 2010", UNESCO, 2010.

    Examples
    --------
    >>> round(osmotic_pressure_bar(2000.0, 25.0), 4)
    1.4053
    >>> round(osmotic_pressure_bar(2000.0, 25.0, water="sodium-chloride"), 3)
    1.615
    """
    if water == "natural-brackish":
        result, highest = _handbook_osmotic_pressure(tds_mg_l, temperature_c), HANDBOOK_MAX_MG_L
    else:
        result, highest = _fitted_osmotic_pressure(tds_mg_l, temperature_c, water), FITTED_MAX_MG_L
    return valid_only(result, (tds_mg_l >= 0) & (tds_mg_l <= highest) & _temperature_valid(temperature_c))


def _handbook_osmotic_pressure(tds: Numeric, temperature: Numeric) -> Numeric:
    low = tds * _handbook_coefficient(temperature)
    high = tds > HANDBOOK_BRANCH_MG_L
    if not high.any():
        return low
    return np.where(high, (0.0117 * tds - 34.0) * (temperature + 320.0) / (14.23 * 345.0), low)


@keeps_type
def osmotic_coefficient(temperature_c: Numeric) -> Numeric:
    """Osmotic pressure of natural brackish water over its dissolved solids, which up to 20 g/L is the same for all.

    Parameters
    ----------
    temperature_c : numeric
        Temperature. [degC]

    Returns
    -------
    numeric
        NaN outside 0 to 50 degC; see `osmotic_pressure_bar`. [bar L/mg]

    Examples
    --------
    >>> round(osmotic_coefficient(25.0) * 2000.0, 4)
    1.4053
    """
    return valid_only(_handbook_coefficient(temperature_c), _temperature_valid(temperature_c))


def _handbook_coefficient(temperature: Numeric) -> Numeric:
    return (temperature + 320.0) / 491_000.0


def _fitted_osmotic_pressure(tds: Numeric, temperature: Numeric, water: str) -> Numeric:
    b0, b1, b2, b3, b4, b5, b6 = _of_water(_OSMOTIC_FITS, water)
    c, t = tds / 1000.0, temperature - 25.0
    root = np.sqrt(c)
    shape = b0 + root * (b1 + root * (b2 + b3 * root)) + t * (b4 + c * (b5 + b6 * t))
    return shape * c * (temperature + KELVIN_AT_ZERO_CELSIUS)


@keeps_type
def tds_from_conductivity(
    conductivity_us_cm: Numeric, *, water: str = "natural-brackish", factor: float | None = None
) -> Numeric:
    r"""Dissolved solids of a water of known conductivity.

    Parameters
    ----------
    conductivity_us_cm : numeric
        Conductivity, compensated to 25 degC. [uS/cm]
    water : str
        "natural-brackish", "sodium-chloride" or "seawater". [-]
    factor : float, optional
        A constant in place of the factor of the water. [mg/L per uS/cm]

    Returns
    -------
    numeric
        Rises with conductivity everywhere; NaN below zero and, unless `factor` is given, above 100 mS/cm. [mg/L]

    Raises
    ------
    InvalidSettings
        When `water` is none of the three.

    Notes
    -----
    No single factor holds: it rises with salinity, from 0.50 to 0.75 in natural waters [1]_.

    Natural brackish water: a smooth step in the logarithm of conductivity between Walton's two bounds, laid through two
    waters computed with PHREEQC [2]_, a calcium-bicarbonate-sulfate water of 1217.5 mg/L (1890.6 uS/cm) and the
    same water concentrated four times (4870 mg/L, 6640 uS/cm):

    .. math:: f = 0.50 + 0.25 x^2 (3 - 2x), \quad x = \ln(\kappa / 177.04) / \ln(13046.3 / 177.04)
       \text{ held within 0 and 1}

    Sodium chloride and sea water: a cubic in the root of the conductivity in mS/cm, fitted to PHREEQC (pitzer.dat)
    from 0.01 to 70 g/L within 0.1 %, and to the practical salinity scale PSS-78 [3]_ from 0.1 to 42 within 0.7 %. Above
    62 mS/cm, where that scale ends, the seawater curve follows the one of sodium chloride times 1.022.

    References
    ----------
    .. [1] N. R. G. Walton, "Electrical conductivity and total dissolved solids - what is their precise
       relationship?", Desalination, 1989, 275-292.
    .. [2] PHREEQC version 3, as above, database phreeqc.dat.
    .. [3] UNESCO, "Background papers and supporting data on the Practical Salinity Scale 1978", 1981.

    Examples
    --------
    >>> round(tds_from_conductivity(1890.6), 1)
    1217.5
    >>> tds_from_conductivity(2000.0, factor=0.65)
    1300.0
    """
    kappa = conductivity_us_cm
    if factor is not None:
        return valid_only(kappa * factor, kappa >= 0)
    if water == "natural-brackish":
        step = np.log(kappa * (1 / 177.04014742355358)) * (1 / (9.476262504588965 - 5.176376528455696))
        step = np.minimum(np.maximum(step, 0.0), 1.0)
        result = (0.50 + step * step * (0.75 - 0.50 * step)) * kappa
    else:
        a0, a1, a2, a3 = _of_water(_CONDUCTIVITY_FITS, water)
        root = np.sqrt(kappa * 0.001)
        result = (a0 + root * (a1 + root * (a2 + a3 * root))) * kappa
    return valid_only(result, (kappa >= 0) & (kappa <= MAX_CONDUCTIVITY_US_CM))


def _of_water(fits: Mapping[str, tuple[float, ...]], water: str) -> tuple[float, ...]:
    if water not in fits:
        raise InvalidSettings(f'water: "{water}" is not one of natural-brackish, {", ".join(fits)}')
    return fits[water]


@keeps_type
def viscosity_mpa_s(temperature_c: Numeric) -> Numeric:
    r"""Dynamic viscosity of pure water.

    Parameters
    ----------
    temperature_c : numeric
        Temperature. [degC]

    Returns
    -------
    numeric
        NaN outside 0 to 50 degC. [mPa s]

    Notes
    -----
    .. math:: \mu = 4.2844 \cdot 10^{-5} + [0.157 (T + 64.993)^2 - 91.296]^{-1} \quad [\text{Pa s}]

    Within 0.1 % of the IAPWS 2008 formulation from 0 to 45 degC. Salt raises it by some 2 % per 10 g/L, which
    cancels in the ratios in which it is used here.

    References
    ----------
    .. [1] M. H. Sharqawy, J. H. Lienhard V and S. M. Zubair, "Thermophysical properties of seawater: a review of
       existing correlations and data", Desalination and Water Treatment 16 (2010) 354-380, Eq. 23 (from memory).

    Examples
    --------
    >>> round(viscosity_mpa_s(25.0), 3)
    0.89
    """
    warmth = temperature_c + 64.993
    result = 0.042844 + 1000.0 / (0.157 * warmth * warmth - 91.296)
    return valid_only(result, _temperature_valid(temperature_c))


@keeps_type
def conductivity_at_25(conductivity: Numeric, temperature_c: Numeric) -> Numeric:
    """Conductivity at 25 degC of a natural water measured without compensation.

    Parameters
    ----------
    conductivity : numeric
        Conductivity as it is at `temperature_c`. [uS/cm, or any unit]
    temperature_c : numeric
        Temperature of the water in the cell. [degC]

    Returns
    -------
    numeric
        NaN outside 0 to 35 degC, where the standard's factor is tabled. [as `conductivity`]

    Notes
    -----
    Between the tabled temperatures the reciprocal of the factor, which is nearly straight, is interpolated.
    For natural waters of 60 to 1000 uS/cm; pure permeate below 5 uS/cm does not follow it.

    References
    ----------
    .. [1] ISO 7888:1985 (EN 27888), factor f25, as printed in the manual of a conductivity meter.

    Examples
    --------
    >>> round(conductivity_at_25(1000.0, 15.0))
    1256
    """
    ratio = np.interp(temperature_c, _ISO_7888_TEMPERATURE_C, 1.0 / _ISO_7888_FACTOR, left=np.nan, right=np.nan)
    return valid_only(conductivity / ratio, conductivity >= 0)


def _temperature_valid(temperature: Numeric) -> Numeric:
    return (temperature >= TEMPERATURE_RANGE_C[0]) & (temperature <= TEMPERATURE_RANGE_C[1])
