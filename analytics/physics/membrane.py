"""What drives water and salt through the membrane, and how easily they pass."""

import numpy as np

from analytics.physics.numeric import Numeric, keeps_type, valid_only

_LITRES_PER_M3 = 1000.0


@keeps_type
def net_driving_pressure_bar(
    feed_pressure: Numeric,
    pressure_drop: Numeric,
    permeate_pressure: Numeric,
    feed_side_osmotic: Numeric,
    permeate_osmotic: Numeric,
) -> Numeric:
    r"""Pressure that is left to push water through the membrane, on average along the channel (NDP).

    Parameters
    ----------
    feed_pressure, permeate_pressure : numeric
        Gauge pressures, the feed's behind any booster. [bar]
    pressure_drop : numeric
        Feed to concentrate. [bar]
    feed_side_osmotic, permeate_osmotic : numeric
        Osmotic pressure of the mean feed-concentrate, and of the permeate. [bar]

    Returns
    -------
    numeric
        May be zero or negative, when no permeate can flow. [bar]

    Notes
    -----
    .. math:: NDP = p_f - \Delta p / 2 - p_p - \pi_{fc} + \pi_p

    References
    ----------
    .. [1] ASTM D4516-19, section 6.1, as described on tnlab.org.

    Examples
    --------
    >>> round(net_driving_pressure_bar(12.0, 1.8, 0.5, 3.823, 0.041), 3)
    6.818
    """
    return feed_pressure - 0.5 * pressure_drop - permeate_pressure - feed_side_osmotic + permeate_osmotic


@keeps_type
def flux_lmh(permeate_flow_m3h: Numeric, area_m2: Numeric) -> Numeric:
    """Permeate per membrane area.

    Parameters
    ----------
    permeate_flow_m3h : numeric
        Permeate flow. [m3/h]
    area_m2 : numeric
        Area of all its membranes. [m2]

    Returns
    -------
    numeric
        NaN for a negative flow or an area not above zero. [L/m2/h]

    Examples
    --------
    >>> flux_lmh(15.0, 600.0)
    25.0
    """
    result = permeate_flow_m3h * _LITRES_PER_M3 / area_m2
    return valid_only(result, (permeate_flow_m3h >= 0) & (area_m2 > 0))


@keeps_type
def salt_passage(permeate_tds: Numeric, feed_tds: Numeric) -> Numeric:
    """Concentration of the permeate over the one of the feed.

    Parameters
    ----------
    permeate_tds, feed_tds : numeric
        Dissolved solids. [mg/L]

    Returns
    -------
    numeric
        NaN for a negative permeate or a feed not above zero. [-]

    Examples
    --------
    >>> salt_passage(60.0, 3000.0)
    0.02
    """
    return valid_only(permeate_tds / feed_tds, (permeate_tds >= 0) & (feed_tds > 0))


@keeps_type
def water_permeability_lmh_bar(flux: Numeric, ndp: Numeric, tcf: Numeric) -> Numeric:
    r"""Water permeability of the membrane at 25 degC, its A value.

    Parameters
    ----------
    flux : numeric
        Permeate flux. [L/m2/h]
    ndp : numeric
        Net driving pressure. [bar]
    tcf : numeric
        Water temperature factor. [-]

    Returns
    -------
    numeric
        NaN where driving pressure or factor is not above zero, or flux is negative. [L/m2/h/bar]

    Notes
    -----
    .. math:: A = J / (NDP \cdot TCF)

    Examples
    --------
    >>> water_permeability_lmh_bar(24.0, 8.0, 1.0)
    3.0
    """
    return valid_only(flux / (ndp * tcf), (flux >= 0) & (ndp > 0) & (tcf > 0))


@keeps_type
def salt_permeability_lmh(
    flux: Numeric, permeate_tds: Numeric, feed_side_tds: Numeric, stcf: Numeric, polarization: Numeric = 1.0
) -> Numeric:
    r"""Salt permeability of the membrane at 25 degC, its B value.

    Parameters
    ----------
    flux : numeric
        Permeate flux. [L/m2/h]
    permeate_tds, feed_side_tds : numeric
        Dissolved solids of the permeate, and of the mean feed-concentrate. [mg/L]
    stcf : numeric
        Salt temperature factor. [-]
    polarization : numeric
        Concentration at the membrane over the one in the channel. [-]

    Returns
    -------
    numeric
        NaN where the permeate is saltier than the feed side, or a value is negative. [L/m2/h]

    Notes
    -----
    .. math:: B = \frac{J c_p}{(\beta \overline{c} - c_p) \, STCF}

    Examples
    --------
    >>> round(salt_permeability_lmh(25.0, 20.0, 4020.0, 1.0), 6)
    0.125
    """
    difference = polarization * feed_side_tds - permeate_tds
    valid = (flux >= 0) & (permeate_tds >= 0) & (difference > 0) & (stcf > 0)
    return valid_only(flux * permeate_tds / (difference * stcf), valid)


@keeps_type
def polarization_factor(element_recovery: Numeric) -> Numeric:
    r"""Salt concentration at the membrane over the one in the channel, for one spiral element.

    Parameters
    ----------
    element_recovery : numeric
        Permeate flow over feed flow of one element, 0 <= recovery < 1. [-]

    Returns
    -------
    numeric
        NaN outside the range. [-]

    Notes
    -----
    .. math:: \beta = e^{0.7 Y_i}

    Makers ask for at most 1.2, which is 26 % per element.

    References
    ----------
    .. [1] FilmTec Reverse Osmosis Membranes Technical Manual, system design equations (from memory).

    Examples
    --------
    >>> round(polarization_factor(0.15), 4)
    1.1107
    """
    return valid_only(np.exp(0.7 * element_recovery), (element_recovery >= 0) & (element_recovery < 1))


@keeps_type
def mean_element_recovery(recovery: Numeric, elements_in_series: Numeric) -> Numeric:
    r"""Recovery that each of n equal elements in series needs for the recovery of all.

    Parameters
    ----------
    recovery : numeric
        Permeate flow over feed flow, 0 <= recovery < 1. [-]
    elements_in_series : numeric
        Elements along the way of the water, over all stages. [-]

    Returns
    -------
    numeric
        NaN outside the range or for less than one element. [-]

    Notes
    -----
    .. math:: \overline{Y_i} = 1 - (1 - Y)^{1/n}

    Examples
    --------
    >>> round(mean_element_recovery(0.75, 12), 4)
    0.1091
    """
    result = 1.0 - (1.0 - recovery) ** (1.0 / elements_in_series)
    return valid_only(result, (recovery >= 0) & (recovery < 1) & (elements_in_series >= 1))
