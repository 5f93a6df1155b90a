r"""Closed forms of life and of yearly cost: what a pocket calculator says; the simulations are checked against it.

Money is in one currency that the caller keeps track of; rates are fractions per year.
"""

import numpy as np

from analytics.physics.numeric import Numeric, keeps_type, valid_only

HOURS_PER_YEAR = 8760.0
"""Of a common year; trade figures of cost per m3 use it. [h]"""


@keeps_type
def years_to_limit_compound(now: Numeric, limit: Numeric, rate: Numeric) -> Numeric:
    r"""Time until something that changes by the same share every year reaches a limit.

    Parameters
    ----------
    now, limit : numeric
        In one unit, both above zero. [-]
    rate : numeric
        Change per year as a fraction of what is there; below zero for a loss. [1/a]

    Returns
    -------
    numeric
        NaN where the change leads away from the limit or there is none; zero where it is reached. [a]

    Notes
    -----
    .. math:: t = \ln(x_{limit} / x_{now}) / \ln(1 + r)

    Examples
    --------
    Salt passage of 1.5 % that grows by a tenth a year reaches 2.5 %:

    >>> round(years_to_limit_compound(1.5, 2.5, 0.10), 2)
    5.36
    """
    way, pace = np.log(limit / now), np.log1p(rate)
    return valid_only(np.maximum(way / pace, 0.0), (now > 0) & (limit > 0) & (way * pace > 0) | (way == 0))


@keeps_type
def years_to_limit_linear(now: Numeric, limit: Numeric, rate: Numeric) -> Numeric:
    """Time until something that changes by the same amount every year reaches a limit.

    Parameters
    ----------
    now, limit : numeric
        In one unit. [-]
    rate : numeric
        Change per year as a fraction of `now`. [1/a]

    Returns
    -------
    numeric
        NaN where the change leads away from the limit or there is none. [a]

    Examples
    --------
    >>> round(years_to_limit_linear(1.5, 2.5, 0.10), 2)
    6.67
    """
    way, pace = limit - now, rate * now
    return valid_only(way / pace, (way * pace > 0) | (way == 0))


@keeps_type
def yearly_rate(ratio: Numeric, years: Numeric) -> Numeric:
    """The even rate that makes a ratio in some years: 0.70 in three years is 11.2 % a year lost.

    Parameters
    ----------
    ratio : numeric
        At the end over at the beginning. [-]
    years : numeric
        [a]

    Returns
    -------
    numeric
        [1/a]

    Examples
    --------
    >>> round(yearly_rate(0.70, 3), 3), round(yearly_rate(2.0, 3), 3)
    (-0.112, 0.26)
    """
    return valid_only(ratio ** (1.0 / years) - 1.0, (ratio > 0) & (years > 0))


@keeps_type
def share_after(rate: Numeric, years: Numeric) -> Numeric:
    """What is left, or has grown, after some years of an even rate.

    Parameters
    ----------
    rate : numeric
        Below zero for a loss. [1/a]
    years : numeric
        [a]

    Returns
    -------
    numeric
        [-]

    Examples
    --------
    >>> round(share_after(-0.07, 3), 3), round(share_after(-0.07, 5), 3)
    (0.804, 0.696)
    """
    return valid_only((1.0 + rate) ** years, rate > -1)


@keeps_type
def flat_budget(elements: Numeric, price: Numeric, life_years: Numeric) -> Numeric:
    """The flat method: every year the same share of the set.

    Parameters
    ----------
    elements : numeric
        [-]
    price : numeric
        Of one element. [money]
    life_years : numeric
        Mean life. [a]

    Returns
    -------
    numeric
        [money/a]

    Examples
    --------
    >>> flat_budget(36, 600, 5)
    4320.0
    """
    return valid_only(elements * price / life_years, life_years > 0)


@keeps_type
def present_value(amount: Numeric, rate: Numeric, years: Numeric) -> Numeric:
    """What an amount of a later year is worth today.

    Parameters
    ----------
    amount : numeric
        [money]
    rate : numeric
        Discount rate. [1/a]
    years : numeric
        From today. [a]

    Returns
    -------
    numeric
        [money]

    Examples
    --------
    >>> round(present_value(1000, 0.08, 5), 2)
    680.58
    """
    return valid_only(amount / (1.0 + rate) ** years, rate > -1)


@keeps_type
def annualised_cost(worth: Numeric, rate: Numeric, years: Numeric) -> Numeric:
    r"""The even payment at the end of each year that is worth as much as one amount today.

    Parameters
    ----------
    worth : numeric
        Present value. [money]
    rate : numeric
        Discount rate. [1/a]
    years : numeric
        [a]

    Returns
    -------
    numeric
        [money/a]

    Notes
    -----
    .. math:: a = P \, r / (1 - (1 + r)^{-n}), \quad \to P / n \text{ as } r \to 0

    Examples
    --------
    >>> round(annualised_cost(21600, 0.06, 5), 2), annualised_cost(21600, 0.0, 5)
    (5127.76, 4320.0)
    """
    share = np.where(rate == 0, 1.0 / years, rate / -np.expm1(-years * np.log1p(rate)))
    return valid_only(worth * share, (years > 0) & (rate > -1))


@keeps_type
def cheapest_interval(cost: Numeric, growth: Numeric) -> Numeric:
    r"""Interval between interventions at which their cost and a loss that grows in proportion to time are least.

    Parameters
    ----------
    cost : numeric
        Of one intervention, such as a cleaning. [money]
    growth : numeric
        Growth of the loss: money per time, and again per time; the result has that time's unit. [money/d2]

    Returns
    -------
    numeric
        [d]

    Notes
    -----
    The mean over an interval T is C / T + a T / 2, least at

    .. math:: T^* = \sqrt{2 C / a}

    The cost of pressure alone puts it far beyond the point at which a deposit can still be removed; never read it
    without the cleaning limits.

    Examples
    --------
    >>> round(cheapest_interval(900, 0.02458), 1)
    270.6
    """
    return valid_only(np.sqrt(2.0 * cost / growth), (cost >= 0) & (growth > 0))


@keeps_type
def excess_cost(interval: Numeric, cost: Numeric, growth: Numeric) -> Numeric:
    """Mean cost of intervening at an interval and of what is lost between, see `cheapest_interval`.

    Parameters
    ----------
    interval : numeric
        [d]
    cost : numeric
        [money]
    growth : numeric
        [money/d2]

    Returns
    -------
    numeric
        [money/d]

    Examples
    --------
    >>> round(excess_cost(90, 900, 0.02458), 2)
    11.11
    """
    return valid_only(cost / interval + growth * interval / 2.0, interval > 0)
