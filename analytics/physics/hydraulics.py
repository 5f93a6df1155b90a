"""Flows, what they do to concentration along the channel, and what they cost in pressure."""

import numpy as np

from analytics.physics.numeric import Numeric, keeps_type, valid_only
from analytics.units import BAR_PER_PSI, LITRES_PER_GALLON

_GPM_PER_M3H = 1.0 / (LITRES_PER_GALLON * 0.06)
_SMALL_RECOVERY = 1e-4


@keeps_type
def recovery(permeate_flow_m3h: Numeric, feed_flow_m3h: Numeric) -> Numeric:
    """Share of the feed that becomes permeate.

    Parameters
    ----------
    permeate_flow_m3h, feed_flow_m3h : numeric
        Flows of the same train, stage or element. [m3/h]

    Returns
    -------
    numeric
        From 0 to below 1; NaN where permeate is negative or not less than the feed. [-]

    Examples
    --------
    >>> recovery(15.0, 20.0)
    0.75
    """
    valid = (permeate_flow_m3h >= 0) & (permeate_flow_m3h < feed_flow_m3h)
    return valid_only(permeate_flow_m3h / feed_flow_m3h, valid)


@keeps_type
def log_mean_concentration_factor(recovery: Numeric) -> Numeric:
    r"""Mean salt concentration along the feed channel, relative to the feed: the mean over the recovered water.

    Parameters
    ----------
    recovery : numeric
        Permeate flow over feed flow, 0 <= recovery < 1. [-]

    Returns
    -------
    numeric
        NaN outside the range. [-]

    Notes
    -----
    With full rejection and permeate drawn evenly along the channel,

    .. math:: \overline{c} / c_f = -\ln(1 - Y) / Y, \quad \to 1 \text{ as } Y \to 0.

    This is what the trade calls the log-mean feed-concentrate concentration [1]_. It is not the logarithmic mean
    of the two ends (`true_log_mean`), which is higher (2.16 against 1.85 at 75 % recovery), nor
    `arithmetic_mean_concentration_factor` (2.50). Too high by about the salt passage when rejection is not full.

    References
    ----------
    .. [1] UNSW, "ASTM on Data Normalisation", desalwiki.che.unsw.edu.au (there with conductivity).

    Examples
    --------
    >>> round(log_mean_concentration_factor(0.5), 4)
    1.3863
    """
    factor = -np.log(1.0 - recovery) / recovery
    small = recovery < _SMALL_RECOVERY
    if small.any():  # the quotient of two small numbers loses its digits: series to the third term
        factor = np.where(small, 1.0 + recovery * (0.5 + recovery / 3.0), factor)
    return valid_only(factor, (recovery >= 0) & (recovery < 1))


@keeps_type
def true_log_mean(first: Numeric, last: Numeric) -> Numeric:
    r"""Logarithmic mean of two concentrations, for comparison; the standard method does not use it.

    Parameters
    ----------
    first, last : numeric
        Concentration of feed and concentrate. [mg/L, or any unit]

    Returns
    -------
    numeric
        Their common value where the two are equal; NaN unless both are above zero. [as the inputs]

    Notes
    -----
    .. math:: \overline{c} = (c_c - c_f) / \ln(c_c / c_f)

    Examples
    --------
    >>> round(true_log_mean(1.0, 4.0), 5)
    2.16404
    """
    ratio = last / first
    mean = (last - first) / np.log(ratio)
    middle = (first + last) / 2.0
    mean = np.where(np.abs(ratio - 1.0) < 1e-6, middle, mean)
    return valid_only(mean, (first > 0) & (last > 0))


@keeps_type
def arithmetic_mean_concentration_factor(recovery: Numeric) -> Numeric:
    """Mean of feed and concentrate concentration over the feed's, for comparison.

    Parameters
    ----------
    recovery : numeric
        Permeate flow over feed flow, 0 <= recovery < 1. [-]

    Returns
    -------
    numeric
        With full rejection; NaN outside the range. [-]

    Examples
    --------
    >>> arithmetic_mean_concentration_factor(0.75)
    2.5
    """
    return valid_only((1.0 + 1.0 / (1.0 - recovery)) / 2.0, (recovery >= 0) & (recovery < 1))


@keeps_type
def concentrate_concentration(feed: Numeric, permeate: Numeric, recovery: Numeric) -> Numeric:
    r"""Concentration of the concentrate, from the salt balance.

    Parameters
    ----------
    feed, permeate : numeric
        Concentration of feed and permeate; not conductivity, which does not add up. [mg/L]
    recovery : numeric
        Permeate flow over feed flow, 0 <= recovery < 1. [-]

    Returns
    -------
    numeric
        NaN for a recovery or concentration outside its range, or when more salt leaves than enters. [mg/L]

    Notes
    -----
    .. math:: c_c = (c_f - Y c_p) / (1 - Y)

    Examples
    --------
    >>> concentrate_concentration(3000.0, 60.0, 0.75)
    11820.0
    """
    result = (feed - recovery * permeate) / (1.0 - recovery)
    return valid_only(result, (permeate >= 0) & (result >= 0) & (recovery >= 0) & (recovery < 1))


@keeps_type
def element_pressure_drop_bar(mean_flow_m3h: Numeric) -> Numeric:
    r"""Pressure drop to expect along one clean 8-inch spiral element.

    Parameters
    ----------
    mean_flow_m3h : numeric
        Mean of feed and concentrate flow of one vessel. [m3/h]

    Returns
    -------
    numeric
        NaN for a negative flow. [bar]

    Notes
    -----
    .. math:: \Delta p = 0.01 \, q^{1.7} \quad [\text{psi}], \; q \text{ in US gallons per minute}

    For one membrane maker's elements of about 1990 to 2010 with usual spacers, at 20 to 70 gpm (4.5 to 16 m3/h).

    References
    ----------
    .. [1] FilmTec Reverse Osmosis Membranes Technical Manual, system design equations (from memory).

    Examples
    --------
    >>> round(element_pressure_drop_bar(11.356), 3)  # 50 gpm: 7.73 psi
    0.533
    """
    result = 0.01 * BAR_PER_PSI * (mean_flow_m3h * _GPM_PER_M3H) ** 1.7
    return valid_only(result, mean_flow_m3h >= 0)
