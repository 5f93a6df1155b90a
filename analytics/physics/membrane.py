"""What drives water and salt through the membrane, and what the flow and permeate would be at reference conditions."""

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


@keeps_type
def normalized_permeate_flow(
    permeate_flow: Numeric,
    *,
    ndp: Numeric,
    reference_ndp: Numeric,
    tcf: Numeric = 1.0,
    reference_tcf: Numeric = 1.0,
) -> Numeric:
    r"""Permeate flow that the membrane would give at reference pressure, salinity and temperature.

    Parameters
    ----------
    permeate_flow : numeric
        Permeate flow. [m3/h, or any unit]
    ndp, reference_ndp : numeric
        Net driving pressure now and at reference. [bar]
    tcf, reference_tcf : numeric
        Water temperature factor now and at reference; left out, temperature is not corrected. [-]

    Returns
    -------
    numeric
        NaN where flow is negative, or a driving pressure or factor is not above zero. [as `permeate_flow`]

    Notes
    -----
    .. math:: Q_n = Q_p \frac{NDP_r \, TCF_r}{NDP \, TCF}

    References
    ----------
    .. [1] ASTM D4516-19, section 6.1, as described on tnlab.org.

    Examples
    --------
    >>> round(normalized_permeate_flow(14.6, ndp=8.141, reference_ndp=6.818, tcf=0.8599), 2)
    14.22
    """
    result = permeate_flow * (reference_ndp * reference_tcf) / (ndp * tcf)
    valid = (permeate_flow >= 0) & (ndp > 0) & (reference_ndp > 0) & (tcf > 0) & (reference_tcf > 0)
    return valid_only(result, valid)


@keeps_type
def normalized_salt_passage(
    salt_passage: Numeric,
    *,
    permeate_flow: Numeric,
    reference_permeate_flow: Numeric,
    concentration_factor: Numeric,
    reference_concentration_factor: Numeric,
    stcf: Numeric = 1.0,
    reference_stcf: Numeric = 1.0,
) -> Numeric:
    r"""Salt passage that the membrane would have at reference flow, recovery and temperature.

    Parameters
    ----------
    salt_passage : numeric
        Permeate over feed concentration. [-]
    permeate_flow, reference_permeate_flow : numeric
        Permeate flow per element, or of the same elements together, as measured. [m3/h, or any unit]
    concentration_factor, reference_concentration_factor : numeric
        Mean feed-concentrate concentration over the one of the feed. [-]
    stcf, reference_stcf : numeric
        Salt temperature factor; left out, temperature is not corrected. [-]

    Returns
    -------
    numeric
        NaN where passage or flow is negative, or another value is not above zero. [-]

    Notes
    -----
    With EPF the permeate flow per element and r for reference, everything else as measured:

    .. math:: SP_n = SP \, \frac{EPF}{EPF_r} \, \frac{STCF_r}{STCF} \,
        \frac{\overline{c}_r / c_{f,r}}{\overline{c} / c_f}

    It follows the membrane's salt permeability: salt passes at the same rate into less water when flow falls. The
    form follows from solution-diffusion; the layout in the standard is from memory.

    References
    ----------
    .. [1] ASTM D4516, Standard practice for standardizing reverse osmosis performance data.

    Examples
    --------
    >>> round(normalized_salt_passage(0.01, permeate_flow=47.0, reference_permeate_flow=50.0, stcf=0.84119,
    ...     concentration_factor=1.362345, reference_concentration_factor=1.386294), 6)
    0.011371
    """
    result = salt_passage * permeate_flow * (reference_stcf * reference_concentration_factor)
    result = result / (reference_permeate_flow * (stcf * concentration_factor))
    positive = (reference_permeate_flow > 0) & (stcf > 0) & (reference_stcf > 0)
    positive = positive & (concentration_factor > 0) & (reference_concentration_factor > 0)
    return valid_only(result, (salt_passage >= 0) & (permeate_flow >= 0) & positive)


@keeps_type
def normalized_permeate_concentration(
    permeate_tds: Numeric,
    *,
    ndp: Numeric,
    reference_ndp: Numeric,
    feed_side_tds: Numeric,
    reference_feed_side_tds: Numeric,
) -> Numeric:
    r"""Permeate concentration at reference pressure and salinity: the handbook's form, as a quality to expect.

    Parameters
    ----------
    permeate_tds : numeric
        Dissolved solids of the permeate. [mg/L]
    ndp, reference_ndp : numeric
        Net driving pressure now and at reference. [bar]
    feed_side_tds, reference_feed_side_tds : numeric
        Mean feed-concentrate concentration now and at reference. [mg/L]

    Returns
    -------
    numeric
        NaN where the permeate is negative, or another value is not above zero. [mg/L]

    Notes
    -----
    .. math:: c_{p,n} = c_p \frac{NDP}{NDP_r} \frac{\overline{c}_r}{\overline{c}}

    Never mix it with `normalized_salt_passage`: it takes the flow at which the membrane *would* run, so it equals that
    passage (with STCF = TCF) times the reference feed times reference over normalized flow. When a membrane loses
    flow and passes salt as before, this rises and the other does not. To follow the membrane, use the other.

    References
    ----------
    .. [1] FilmTec Reverse Osmosis Membranes Technical Manual, section on plant performance normalization (from memory).

    Examples
    --------
    >>> round(normalized_permeate_concentration(80.0, ndp=21.3, reference_ndp=20.0,
    ...     feed_side_tds=4052.0, reference_feed_side_tds=3671.0), 1)
    77.2
    """
    result = permeate_tds * (ndp * reference_feed_side_tds) / (reference_ndp * feed_side_tds)
    valid = (permeate_tds >= 0) & (ndp > 0) & (reference_ndp > 0)
    return valid_only(result, valid & (feed_side_tds > 0) & (reference_feed_side_tds > 0))
