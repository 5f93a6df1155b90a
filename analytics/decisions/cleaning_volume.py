"""How much solution fills the circuit of a cleaning, how fast it must go, and the heat to warm it."""

import math
from dataclasses import dataclass

from analytics.plant import CleaningSystem, Stage
from analytics.units import to_canonical

METRES_PER_INCH = 0.0254
PIPES_ASSUMED, FILTER_ASSUMED = 0.25, 0.10
"""Shares of the vessels' hold-up that are assumed for pipes and filter where the circuit is not known: those of a
published worked example, rounded. [-]"""
MADE_IN_STEPS_OF_M3 = 0.05
HEAT_KWH_PER_M3_K = 4.186 / 3.6
"""Heat capacity of water, 4.186 kJ/(kg K), by volume."""
FLOW_GPM: dict[float, tuple[float, float]] = {
    2.5: (3.0, 5.0), 4.0: (8.0, 10.0), 6.0: (16.0, 20.0), 8.0: (30.0, 40.0), 16.0: (120.0, 160.0),
}  # fmt: skip
"""High flow per vessel by element diameter [inch: US gpm]; a membrane maker's technical manual, from memory, and the
30 to 40 gpm of 8-inch elements from a practice page too. 16-inch: four times the 8-inch, by cross-section."""


@dataclass(frozen=True)
class Volumes:
    """Where the solution is. [m3]

    `bare_vessel` is one empty vessel; `vessels` all that are cleaned together, filled with elements; `net` their sum
    with pipes and filter; `heel` what the tank must hold beside; `make` what is mixed, rounded up.
    """

    bare_vessel: float
    vessels: float
    pipes: float
    filter: float
    net: float
    heel: float
    make: float
    assumed: tuple[str, ...]


def bare_vessel_m3(diameter_inch: float, length_m: float, elements: int) -> float:
    """Volume of one empty vessel: the cylinder of its elements.

    Parameters
    ----------
    diameter_inch : float
        Of the elements. [inch]
    length_m : float
        Of one element. [m]
    elements : int

    Returns
    -------
    float
        [m3]

    Examples
    --------
    >>> round(bare_vessel_m3(8.0, 1.016, 6), 3), round(bare_vessel_m3(4.0, 1.016, 6), 4)
    (0.198, 0.0494)
    """
    return math.pi / 4 * (diameter_inch * METRES_PER_INCH) ** 2 * length_m * elements


def cylinder_m3(diameter_mm: float, length_m: float) -> float:
    """Volume of a pipe or housing. [m3]

    Examples
    --------
    >>> round(cylinder_m3(82.0, 50.0), 3)
    0.264
    """
    return math.pi / 4 * (diameter_mm / 1000) ** 2 * length_m


def solution_volumes(stage: Stage, system: CleaningSystem, vessels: int) -> Volumes:
    """How much solution is needed for some vessels of a stage together.

    Parameters
    ----------
    stage : Stage
    system : CleaningSystem
    vessels : int

    Returns
    -------
    Volumes

    Notes
    -----
    Vessels times their hold-up (a share `vessel_fill` of the bare volume), pipes and filter; on top the tank's heel.
    A published worked example for 9 vessels of 6 8-inch elements gives 1.70 m3 bare and 1.19 m3 loaded (with 1.0 m
    elements, 20 cm and pi = 3.14).
    """
    bare = bare_vessel_m3(stage.membrane.diameter_inch, stage.membrane.element_length_m, stage.elements_per_vessel)
    loaded = vessels * bare * system.vessel_fill
    assumed = []
    if system.pipe_length_m is None or system.pipe_diameter_mm is None:
        pipes = PIPES_ASSUMED * loaded
        assumed.append("Pipes and hoses are not known: a quarter of the vessels' volume is assumed for them.")
    else:
        pipes = cylinder_m3(system.pipe_diameter_mm, system.pipe_length_m)
    if system.filter_length_m is None or system.filter_diameter_mm is None:
        housing = FILTER_ASSUMED * loaded
        assumed.append("The filter housing is not known: a tenth of the vessels' volume is assumed for it.")
    else:
        housing = cylinder_m3(system.filter_diameter_mm, system.filter_length_m)
    net = loaded + pipes + housing
    heel = system.tank_heel * net
    steps = math.ceil((net + heel) / MADE_IN_STEPS_OF_M3 - 1e-9)
    return Volumes(bare, loaded, pipes, housing, net, heel, steps * MADE_IN_STEPS_OF_M3, tuple(assumed))


def vessel_flow_m3h(diameter_inch: float) -> tuple[float, float]:
    """Lowest and highest usual flow per vessel in a cleaning; in between diameters by cross-section. [m3/h]

    Examples
    --------
    >>> tuple(round(4 * flow, 1) for flow in vessel_flow_m3h(8.0))
    (27.3, 36.3)
    """
    nearest = min(FLOW_GPM, key=lambda known: abs(known - diameter_inch))
    scale = (diameter_inch / nearest) ** 2
    low, high = (float(to_canonical(scale * gpm, "gpm", "m3/h")) for gpm in FLOW_GPM[nearest])
    return low, high


def heating_kwh(volume_m3: float, from_c: float, to_c: float) -> float:
    """Heat to warm a solution; losses are not in it.

    Parameters
    ----------
    volume_m3 : float
        [m3]
    from_c, to_c : float
        [degC]

    Returns
    -------
    float
        Zero where it is warm enough. [kWh]

    Examples
    --------
    >>> round(heating_kwh(1.0, 18.0, 30.0), 1)
    14.0
    """
    return volume_m3 * HEAT_KWH_PER_M3_K * max(to_c - from_c, 0.0)
