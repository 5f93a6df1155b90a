"""How fast water and salt pass a membrane at another temperature, relative to 25 degC."""

import numpy as np

from analytics.errors import InvalidSettings
from analytics.physics.numeric import Numeric, keeps_type, valid_only
from analytics.physics.water import TEMPERATURE_RANGE_C
from analytics.plant import Membrane
from analytics.units import KELVIN_AT_ZERO_CELSIUS

REFERENCE_TEMPERATURE_C = 25.0
WARM_SLOPE_K = 2640.0
COLD_SLOPE_K = 3020.0


@keeps_type
def water_temperature_factor(
    temperature_c: Numeric, *, correction: str, slope_k: float | None = None, percent_per_degc: float | None = None
) -> Numeric:
    r"""Water permeability at a temperature over the one at 25 degC (TCF); it rises with temperature.

    Parameters
    ----------
    temperature_c : numeric
        Temperature of the feed. [degC]
    correction : str
        "two-slope", "exponential", "percent", or "fitted" (`slope_k` where one was learned, else two-slope). [-]
    slope_k : float, optional
        Slope U of the exponential form. [K]
    percent_per_degc : float, optional
        Rise per degree of the percent form. [%/degC]

    Returns
    -------
    numeric
        1 at 25 degC; NaN outside 0 to 50 degC. [-]

    Raises
    ------
    InvalidSettings
        When the choice is not known, or its slope or percent is missing.

    Notes
    -----
    .. math:: TCF = e^{U (1/298.15 - 1/(T + 273.15))}, \qquad TCF = (1 + p/100)^{T - 25}

    Two slopes: U = 2640 K from 25 degC upward and 3020 K below [1]_ (from memory). The handbooks print 298 and 273;
    the exact 298.15 and 273.15 used here change the factor by at most 0.07 %. Some pages print the
    reciprocal, a multiplier on measured flow. The choice of the form matters far more than its
    constants: at 10 degC the usual ones lie between 0.58 and 0.66. Use the membrane's own data sheet.

    References
    ----------
    .. [1] FilmTec Reverse Osmosis Membranes Technical Manual, section on plant performance normalization.

    Examples
    --------
    >>> round(water_temperature_factor(15.0, correction="two-slope"), 4)
    0.7036
    >>> round(water_temperature_factor(15.0, correction="percent", percent_per_degc=3.0), 4)
    0.7441
    """
    if correction == "two-slope" or (correction == "fitted" and slope_k is None):
        distance = _inverse_distance(temperature_c)
        exponent = WARM_SLOPE_K * distance + (COLD_SLOPE_K - WARM_SLOPE_K) * np.minimum(distance, 0.0)
    elif correction in ("exponential", "fitted"):
        exponent = _required(slope_k, "slope_k", correction) * _inverse_distance(temperature_c)
    elif correction == "percent":
        growth = np.log1p(_required(percent_per_degc, "percent_per_degc", correction) / 100.0)
        exponent = growth * (temperature_c - REFERENCE_TEMPERATURE_C)
    else:
        raise InvalidSettings(
            f'temperature_correction: "{correction}" is not one of two-slope, exponential, percent, fitted'
        )
    low, high = TEMPERATURE_RANGE_C
    return valid_only(np.exp(exponent), (temperature_c >= low) & (temperature_c <= high))


def membrane_water_temperature_factor(temperature_c: Numeric, membrane: Membrane) -> Numeric:
    """Water temperature factor in the form that the membrane's plant file asks for.

    Parameters
    ----------
    temperature_c : numeric
        Temperature of the feed. [degC]
    membrane : Membrane
        Its `temperature_correction`, `slope_k` and `percent_per_degc` are used. [-]

    Returns
    -------
    numeric
        See `water_temperature_factor`. [-]

    Examples
    --------
    >>> round(membrane_water_temperature_factor(10.0, Membrane(area_m2=37.2)), 4)
    0.5847
    """
    return water_temperature_factor(
        temperature_c,
        correction=membrane.temperature_correction,
        slope_k=membrane.slope_k,
        percent_per_degc=membrane.percent_per_degc,
    )


def salt_temperature_factor(temperature_c: Numeric, membrane: Membrane) -> Numeric:
    """Salt permeability at a temperature over the one at 25 degC (STCF).

    Parameters
    ----------
    temperature_c : numeric
        Temperature of the feed. [degC]
    membrane : Membrane
        Its `salt_temperature_correction`: "same" as water, "none" (always 1), or "exponential" with
        `salt_slope_k`. [-]

    Returns
    -------
    numeric
        1 at 25 degC; NaN outside 0 to 50 degC, with "none" too. [-]

    Notes
    -----
    Sources disagree: some read the standard as correcting salt passage for temperature and some as not doing so, and
    no table of factors was found; handbooks say that it rises as fast as flow or faster (3 to 6 % per degree, from
    memory). So it is a visible choice, and "same" is the default.

    References
    ----------
    .. [1] Y. Zhao and J. S. Taylor, "Assessment of ASTM D 4516 for evaluation of reverse osmosis membrane
       performance", Desalination 180 (2005) 231-244 (abstract).

    Examples
    --------
    >>> salt_temperature_factor(10.0, Membrane(area_m2=37.2, salt_temperature_correction="none"))
    1.0
    """
    if membrane.salt_temperature_correction == "same":
        return membrane_water_temperature_factor(temperature_c, membrane)
    slope_k = 0.0 if membrane.salt_temperature_correction == "none" else membrane.salt_slope_k
    return water_temperature_factor(temperature_c, correction="exponential", slope_k=slope_k)


def _inverse_distance(temperature: Numeric) -> Numeric:
    """How much smaller the inverse absolute temperature is than at 25 degC. [1/K]"""
    return 1.0 / (REFERENCE_TEMPERATURE_C + KELVIN_AT_ZERO_CELSIUS) - 1.0 / (temperature + KELVIN_AT_ZERO_CELSIUS)


def _required(value: float | None, name: str, correction: str) -> float:
    if value is None:
        raise InvalidSettings(f'{name}: needed with temperature_correction = "{correction}"')
    return value
