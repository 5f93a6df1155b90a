"""What antiscalant really goes in: by drawdown, by the level of the tank, against what was meant.

All doses are in mg of product as delivered to a litre of feed; times the active share they are mg of active.
"""

from dataclasses import dataclass

from analytics.errors import InvalidSettings

TOLERANCE = 0.15
"""Difference from the target that is accepted; common practice, no source. [-]"""


@dataclass(frozen=True)
class Dosing:
    """The solution in the tank and the feed it goes to: volume fraction of product [-], its density [kg/L], m3/h."""

    product_share: float
    density_kg_l: float
    feed_flow_m3h: float

    def __post_init__(self) -> None:
        for name, value, most in (
            ("share of product", self.product_share, 1.0), ("density", self.density_kg_l, 2.0),
            ("feed flow", self.feed_flow_m3h, 1e5),
        ):  # fmt: skip
            if not 0 < value <= most:
                raise InvalidSettings(f"{name}: {value:g} is not above 0 and at most {most:g}")


def pump_rate_ml_min(dosing: Dosing, target_mg_l: float) -> float:
    """Rate of the dosing pump for a target. [mL/min]

    Examples
    --------
    >>> round(pump_rate_ml_min(Dosing(0.10, 1.15, 20.0), 3.0), 2)
    8.7
    """
    return target_mg_l * dosing.feed_flow_m3h / (dosing.product_share * dosing.density_kg_l) / 60


def dose_from_drawdown(dosing: Dosing, volume_ml: float, seconds: float) -> float:
    """Dose from the time in which a calibration column empties: mL and s in, mg of product to L of feed out.

    Raises
    ------
    InvalidSettings
        When volume or time is not above zero.

    Examples
    --------
    >>> round(dose_from_drawdown(Dosing(0.10, 1.15, 20.0), 50.0, 345.0), 2)
    3.0
    """
    return dose_from_tank(dosing, volume_ml / 1000, seconds / 3600)


def dose_from_tank(dosing: Dosing, litres: float, hours: float) -> float:
    """Dose from what has left the tank: L and h in, mg of product to L of feed out.

    Raises
    ------
    InvalidSettings
        When volume or time is not above zero.

    Notes
    -----
    .. math:: d = V s d_p / (t Q_f)

    with the volume fraction s of product in the tank, and its density. Mass balance.

    Examples
    --------
    >>> round(dose_from_tank(Dosing(0.10, 1.15, 20.0), 12.5, 24.0), 2)
    2.99
    """
    if not litres > 0 or not hours > 0:
        raise InvalidSettings("volume and time must be above zero")
    return litres / hours * dosing.product_share * dosing.density_kg_l * 1000 / dosing.feed_flow_m3h


def judge_dose(dose_mg_l: float, target_mg_l: float, *, active_share: float = 1.0) -> str:
    """What to make of a dose, in words; product and active are both named. [mg/L, mg/L, -]

    Raises
    ------
    InvalidSettings
        When the target is not above zero.
    """
    if not target_mg_l > 0:
        raise InvalidSettings("the target must be above zero")
    off = dose_mg_l / target_mg_l - 1
    said = f"{dose_mg_l:.2f} mg/L of product ({dose_mg_l * active_share:.2f} mg/L of active)"
    if abs(off) <= TOLERANCE:
        return f"{said}: within 15 % of the {target_mg_l:g} that are meant."
    if off > 0:
        return (
            f"{said}: {dose_mg_l / target_mg_l:.1f} times what is meant. Too much can foul the membranes by itself:"
            " check the pump's setting, the strength of the solution, and that the dosing stops with the train."
        )
    return f"{said}: {-100 * off:.0f} % too little. Scale can form within days: check pump, tubing, tank and air lock."
