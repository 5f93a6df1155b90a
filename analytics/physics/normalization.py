"""What a plant measured now would have measured at the reference conditions."""

import numpy as np

from analytics.physics.numeric import Numeric, keeps_type, valid_only


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


@keeps_type
def normalized_pressure_drop(
    pressure_drop_bar: Numeric,
    *,
    mean_flow_m3h: Numeric,
    reference_mean_flow_m3h: Numeric,
    exponent: float = 1.5,
    viscosity_ratio: Numeric | None = None,
) -> Numeric:
    r"""Pressure drop that the channel would have at the reference flow.

    Parameters
    ----------
    pressure_drop_bar : numeric
        Feed to concentrate, of one stage. [bar]
    mean_flow_m3h, reference_mean_flow_m3h : numeric
        Mean of feed and concentrate flow, now and at reference. [m3/h]
    exponent : float
        Exponent n of flow, 1 to 2. [-]
    viscosity_ratio : numeric, optional
        Viscosity at reference over viscosity now; left out, viscosity is not corrected. [-]

    Returns
    -------
    numeric
        NaN where the drop is negative or a flow is not above zero. [bar]

    Notes
    -----
    .. math:: \Delta p_n = \Delta p \, (\overline{Q}_r / \overline{Q})^n \, (\mu_r / \mu)^{2 - n}

    n = 1.5 is printed by a membrane maker's manual [1]_; others use 1.4, 1.7 and 2. The viscosity term follows
    from it: a drop that goes with the power n of flow goes with the power 2 - n of viscosity. Use it stage
    by stage: the drop of a whole staged train is no single power of its flow.

    References
    ----------
    .. [1] "5-4 Data normalization", a membrane maker's manual, pages 76-77, where the sum of feed and concentrate
       flow is written 2 Qc + Qp.

    Examples
    --------
    >>> round(normalized_pressure_drop(1.8, mean_flow_m3h=11.25, reference_mean_flow_m3h=12.5), 3)
    2.108
    """
    result = pressure_drop_bar * _power(reference_mean_flow_m3h / mean_flow_m3h, exponent)
    if viscosity_ratio is not None:
        result = result * _power(viscosity_ratio, 2.0 - exponent)
    return valid_only(result, (pressure_drop_bar >= 0) & (mean_flow_m3h > 0) & (reference_mean_flow_m3h > 0))


def _power(base: Numeric, exponent: float) -> Numeric:
    """`base ** exponent`, by square roots for the halves that are usual here (ten times as fast)."""
    if exponent == 0.5:
        return np.sqrt(base)
    if exponent == 1.5:
        return base * np.sqrt(base)
    return base**exponent
