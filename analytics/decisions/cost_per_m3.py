"""What a cubic metre of permeate costs, by component; and the power of a pump."""

from collections.abc import Mapping
from dataclasses import dataclass

from analytics.decisions.annualised import HOURS_PER_YEAR
from analytics.physics.numeric import Numeric, keeps_type, valid_only

BAR_M3H_PER_KW = 36.0
"""1 kW is 36 bar m3/h: 1 bar = 1e5 Pa, 1 h = 3600 s."""
THREE_PHASE = 3.0**0.5


@keeps_type
def pump_power_kw(flow_m3h: Numeric, rise_bar: Numeric, efficiency: Numeric) -> Numeric:
    """Electric power of a pump.

    Parameters
    ----------
    flow_m3h : numeric
        [m3/h]
    rise_bar : numeric
        Pressure rise. [bar]
    efficiency : numeric
        Wire to water: pump times motor times drive. [-]

    Returns
    -------
    numeric
        [kW]

    Examples
    --------
    >>> round(pump_power_kw(20, 12, 0.70 * 0.93), 2)
    10.24
    """
    return valid_only(flow_m3h * rise_bar / (BAR_M3H_PER_KW * efficiency), efficiency > 0)


@keeps_type
def motor_power_kw(voltage_v: Numeric, current_a: Numeric, power_factor: Numeric) -> Numeric:
    """Electric power that a three-phase motor takes.

    Parameters
    ----------
    voltage_v : numeric
        Between phases. [V]
    current_a : numeric
        Of one phase. [A]
    power_factor : numeric
        [-]

    Returns
    -------
    numeric
        [kW]

    Examples
    --------
    >>> round(motor_power_kw(400, 20, 0.86), 2)
    11.92
    """
    return THREE_PHASE * voltage_v * current_a * power_factor / 1000.0


@keeps_type
def yearly_volume_m3(permeate_flow_m3h: Numeric, availability: Numeric) -> Numeric:
    """Permeate of a year.

    Parameters
    ----------
    permeate_flow_m3h : numeric
        While running. [m3/h]
    availability : numeric
        Share of the year that it runs. [-]

    Returns
    -------
    numeric
        [m3/a]

    Examples
    --------
    >>> yearly_volume_m3(15, 0.9)
    118260.0
    """
    return permeate_flow_m3h * HOURS_PER_YEAR * availability


@dataclass(frozen=True)
class CostShare:
    """One component of the cost of water; `share` of all components together. [money/m3, -]"""

    name: str
    per_m3: float
    share: float


@dataclass(frozen=True)
class WaterCost:
    """Cost per m3 by component, largest first. [money/m3]"""

    components: tuple[CostShare, ...]
    total: float


def cost_per_m3(yearly: Mapping[str, float], volume_m3: float) -> WaterCost:
    """Spread the yearly cost of each component over the permeate of a year.

    Parameters
    ----------
    yearly : mapping
        Component -> cost of a year. [money/a]
    volume_m3 : float
        Above zero. [m3/a]

    Examples
    --------
    36 elements at 600 every five years, 15 m3/h for nine tenths of the year:

    >>> round(cost_per_m3({"elements": 4320.0}, 118260.0).total, 4)
    0.0365
    """
    total = sum(yearly.values())
    ordered = sorted(yearly.items(), key=lambda item: -item[1])
    shares = tuple(CostShare(name, cost / volume_m3, cost / total if total else 0.0) for name, cost in ordered)
    return WaterCost(shares, total / volume_m3)
