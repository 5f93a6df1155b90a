"""How often a cleaning pays: cost per day against the interval, its optimum, how flat it is there, and what bounds it.

Money is in the currency of whoever asks; every price is an input. What fouling costs grows with the days since the last
cleaning, a cleaning costs the same each time, and the sum per day has a lowest point. Energy alone seldom pays for a
cleaning before the limits call for it: the limits are there for what cleans off and what does not.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analytics.errors import InvalidSettings

Array = npt.NDArray[np.float64]

LONGEST_DAYS = 1095
"""No interval past three years is looked at; common practice, no source."""
FLAT = 0.05
"""An interval that costs this much more than the best is as good as it, prices being what they are; common practice,
no source. [-]"""
STEP_DAYS = 0.25
HOURS_PER_DAY = 24.0
BAR_M3H_PER_KW = 36.0
"""Hydraulic power: 1 bar times 1 m3/h is 1/36 kW."""


@dataclass(frozen=True)
class CleaningPrice:
    """What one cleaning costs, part by part, in money."""

    chemicals: float = 0.0
    labour: float = 0.0
    lost_production: float = 0.0
    water_and_waste: float = 0.0
    energy: float = 0.0
    exposure: float = 0.0

    @property
    def total(self) -> float:
        return sum(
            (self.chemicals, self.labour, self.lost_production, self.water_and_waste, self.energy, self.exposure)
        )


@dataclass(frozen=True)
class FoulingCost:
    """How the cost of fouling grows with the days since a cleaning.

    Attributes
    ----------
    energy : float
        Growth of the excess cost of energy just after a cleaning. [money/d2]
    growth : float
        Rate at which the fouling itself gets faster; zero for a steady one. [1/d]
    production : float
        Growth of the value of lost permeate once the pump is at its limit. [money/d2]
    pump_limit_days : float
        Days after a cleaning until it is. [d]
    late : float
        Cost of what no longer comes back, for each day past the limit. [money/d]
    limit_days : float
        Days after a cleaning until the limit that calls for the next one; infinite where none is in sight. [d]
    """

    energy: float
    growth: float = 0.0
    production: float = 0.0
    pump_limit_days: float = math.inf
    late: float = 0.0
    limit_days: float = math.inf


@dataclass(frozen=True)
class CleaningInterval:
    """The answer: the economic optimum, its flatness band, and the interval to plan with.

    Attributes
    ----------
    days : Array
        Intervals of the curve. [d]
    cost, cleaning_cost, fouling_cost : Array
        Cost per day of each, and its two parts. [money/d]
    optimum_days, optimum_cost : float
        Of the economics alone. [d, money/d]
    flat_from_days, flat_to_days : float
        Intervals that cost at most `FLAT` more than the best. [d]
    planned_days, planned_cost : float
        The optimum, or the limit where that comes first. [d, money/d]
    bounded_by_limit : bool
    closed_form_days : float
        The square-root law, where it holds; NaN otherwise. [d]
    """

    days: Array
    cost: Array
    cleaning_cost: Array
    fouling_cost: Array
    optimum_days: float
    optimum_cost: float
    flat_from_days: float
    flat_to_days: float
    planned_days: float
    planned_cost: float
    bounded_by_limit: bool
    closed_form_days: float


def square_root_interval(cleaning_cost: float, growth: float) -> float:
    r"""Best interval where the excess cost grows in a straight line after each cleaning.

    Parameters
    ----------
    cleaning_cost : float
        Cost of one cleaning. [money]
    growth : float
        Growth of the excess cost a day, each day. [money/d2]

    Returns
    -------
    float
        Days between cleanings; infinite where nothing grows. [d]

    Notes
    -----
    The mean cost a day is :math:`C/T + aT/2`, lowest at :math:`T^* = \sqrt{2C/a}`, where it is :math:`\sqrt{2Ca}`.
    Any unit of time will do, as long as it is the same in both.

    References
    ----------
    .. [1] The same law is used for the cleaning of photovoltaic modules; a published example (360 a cleaning, 13 200 a
       year, 1 % a year of soiling: 2.3 years) is reproduced by it.

    Examples
    --------
    >>> round(square_root_interval(900.0, 0.02458), 1)
    270.6
    """
    return math.sqrt(2 * cleaning_cost / growth) if growth > 0 else math.inf


def energy_growth(
    pressure_growth_bar: float, *, feed_flow_m3h: float, efficiency: float, price_per_kwh: float, running: float = 1.0
) -> float:
    r"""Growth of the excess cost of energy when the feed pressure has to rise a little every day.

    Parameters
    ----------
    pressure_growth_bar : float
        Rise of the feed pressure a day at the same permeate flow and water. [bar/d]
    feed_flow_m3h : float
        Through the high-pressure pump. [m3/h]
    efficiency : float
        Of pump, motor and drive together. [-]
    price_per_kwh : float
        [money/kWh]
    running : float
        Share of the day that the train runs. [-]

    Returns
    -------
    float
        [money/d2]

    Notes
    -----
    .. math:: a = \frac{Q_f \, \dot p}{36 \, \eta} \cdot 24 \, r \, P

    Examples
    --------
    Ten per cent of flow in 90 days at 9 bar of net driving pressure, 20 m3/h, 0.12 per kWh:

    >>> round(energy_growth(0.010, feed_flow_m3h=20, efficiency=0.70 * 0.93, price_per_kwh=0.12), 5)
    0.02458
    """
    if not 0 < efficiency <= 1:
        raise InvalidSettings(f"efficiency: expected above 0 and at most 1, found {efficiency:g}")
    power_growth = feed_flow_m3h * pressure_growth_bar / (BAR_M3H_PER_KW * efficiency)
    return power_growth * HOURS_PER_DAY * running * price_per_kwh


def pressure_growth(
    *, net_driving_pressure_bar: float, flow_loss_per_day: float, pressure_drop_bar: float, drop_gain_per_day: float
) -> float:
    r"""How much the feed pressure has to rise a day to hold the permeate flow.

    Parameters
    ----------
    net_driving_pressure_bar : float
        At the reference. [bar]
    flow_loss_per_day : float
        Loss of normalized permeate flow a day, as a fraction. [1/d]
    pressure_drop_bar : float
        Feed to concentrate, at the reference. [bar]
    drop_gain_per_day : float
        Gain of normalized pressure drop a day, as a fraction. [1/d]

    Returns
    -------
    float
        [bar/d]

    Notes
    -----
    The driving pressure rises with the loss; half the gain of pressure drop comes on top, because the driving pressure
    holds the mean of feed and concentrate (the definition of ASTM D4516). Losses do not count below zero.

    Examples
    --------
    >>> round(pressure_growth(net_driving_pressure_bar=9, flow_loss_per_day=0.1 / 90,
    ...                       pressure_drop_bar=1.8, drop_gain_per_day=0.0), 4)
    0.01
    """
    loss, gain = max(flow_loss_per_day, 0.0), max(drop_gain_per_day, 0.0)
    return net_driving_pressure_bar * loss + pressure_drop_bar * gain / 2


def fouling_cost(days: npt.ArrayLike, fouling: FoulingCost) -> Array:
    r"""What fouling has cost in all, that many days after a cleaning.

    Parameters
    ----------
    days : array_like
        [d]
    fouling : FoulingCost

    Returns
    -------
    Array
        [money]

    Notes
    -----
    Energy: :math:`a (e^{gT} - 1 - gT) / g^2`, which is :math:`aT^2/2` for a steady fouling. Lost permeate:
    :math:`p (T - T_0)^2 / 2` from the day on which the pump is at its limit. What does not come back: the same for each
    day past the limit.
    """
    t = np.asarray(days, dtype=np.float64)
    g = fouling.growth
    exponent = np.minimum(g * t, 50.0)
    energy = fouling.energy * (t * t / 2 if g <= 1e-9 else (np.expm1(exponent) - exponent) / g**2)
    return np.asarray(
        energy
        + fouling.production * np.maximum(t - fouling.pump_limit_days, 0.0) ** 2 / 2
        + fouling.late * np.maximum(t - fouling.limit_days, 0.0)
    )


def best_interval(price: CleaningPrice, fouling: FoulingCost) -> CleaningInterval:
    """The interval that costs least per day, and what it may be in practice.

    Parameters
    ----------
    price : CleaningPrice
    fouling : FoulingCost

    Returns
    -------
    CleaningInterval

    Raises
    ------
    InvalidSettings
        When a cleaning costs nothing, or a price is negative: then there is nothing to weigh.

    Notes
    -----
    The curve is exact at every quarter of a day up to `LONGEST_DAYS`; the optimum is the lowest of these. The interval
    to plan with never goes past the limit, whatever the money says.
    """
    parts = (price.total, fouling.energy, fouling.production, fouling.late)
    if price.total <= 0 or min(parts) < 0:
        raise InvalidSettings("prices: a cleaning must cost something, and nothing may cost less than nothing")
    days = np.arange(1.0, LONGEST_DAYS + STEP_DAYS / 2, STEP_DAYS)
    cleaning, fouled = price.total / days, fouling_cost(days, fouling) / days
    cost = cleaning + fouled
    best = int(np.argmin(cost))
    flat = np.flatnonzero(cost <= (1 + FLAT) * cost[best])
    bounded = fouling.limit_days < days[best]
    planned = max(min(float(days[best]), fouling.limit_days), 1.0)
    simple = fouling.growth == 0 and fouling.production == 0 and fouling.late == 0
    return CleaningInterval(
        days=days,
        cost=cost,
        cleaning_cost=cleaning,
        fouling_cost=fouled,
        optimum_days=float(days[best]),
        optimum_cost=float(cost[best]),
        flat_from_days=float(days[flat[0]]),
        flat_to_days=float(days[flat[-1]]),
        planned_days=planned,
        planned_cost=float(np.interp(planned, days, cost)),
        bounded_by_limit=bounded,
        closed_form_days=square_root_interval(price.total, fouling.energy) if simple else math.nan,
    )
