"""What a simulated train is made of. Everything here is the truth of new elements at 25 degC."""

from dataclasses import dataclass, field

from demo_data.simulator.water import NATURAL_BRACKISH, Salt

NOMINAL_FLOW_M3H = 8.0
"""Mean channel flow of one vessel at which friction and mass transfer are stated. [m3/h]"""


@dataclass(frozen=True)
class Element:
    """One spiral element, new, at 25 degC.

    `friction_bar` is its pressure drop and `mass_transfer_lmh` its film coefficient at `NOMINAL_FLOW_M3H`.
    Typical values of 8-inch brackish elements; the slopes [K] and exponents [-] are chosen a little beside those
    of the usual normalization formulas, as real elements are.
    """

    area_m2: float = 37.0
    water_permeability_lmh_bar: float = 3.6
    salt_permeability_lmh: float = 0.19
    water_slope_k: float = 2850.0
    salt_slope_k: float = 3250.0
    friction_bar: float = 0.23
    friction_exponent: float = 1.66
    mass_transfer_lmh: float = 240.0
    mass_transfer_exponent: float = 0.7


@dataclass(frozen=True)
class Stage:
    """`vessels` in parallel. The booster stands before the stage, the throttle in its permeate line. [bar]"""

    vessels: int
    elements_per_vessel: int
    element: Element = field(default_factory=Element)
    booster_bar: float = 0.0
    permeate_throttle_bar: float = 0.0

    @property
    def area_m2(self) -> float:
        return self.vessels * self.elements_per_vessel * self.element.area_m2


@dataclass(frozen=True)
class Design:
    """A train: its stages in the order of the water, and the salt in it."""

    stages: tuple[Stage, ...]
    salt: Salt = NATURAL_BRACKISH

    @property
    def area_m2(self) -> float:
        return sum(stage.area_m2 for stage in self.stages)
