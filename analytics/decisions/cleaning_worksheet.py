"""The worksheet of one cleaning: how much solution, how much of what, how fast, how warm, in which steps.

Everything is worked out from the stage as built; what is not known of the cleaning circuit is assumed, and said.
"""

import math
from dataclasses import dataclass

from analytics.decisions.cleaning_limits import Finding, check_conditions, highest_ph
from analytics.decisions.cleaning_solution import Programme, Solution
from analytics.decisions.cleaning_steps import Step, cleaning_steps
from analytics.decisions.cleaning_volume import Volumes, heating_kwh, solution_volumes, vessel_flow_m3h
from analytics.errors import InvalidSettings
from analytics.plant import CleaningSystem, Stage

KG_PER_M3 = 1000.0
"""Of dilute solutions, which are taken as water."""
RINSE_TIMES = 2.0
"""Rinse volume over solution volume; a published cleaning procedure. [-]"""
PRESSURE_LOW_BAR = 1.4
"""Usual lowest pressure, 20 psi; a practice page gives 20 to 60 psi. [bar]"""


@dataclass(frozen=True)
class DoseMass:
    """One chemical to weigh in. `most`: not more than this. [kg of pure substance, fraction by weight]"""

    name: str
    share: float
    mass_kg: float
    most: bool


@dataclass(frozen=True)
class Bath:
    """One solution as it is mixed for this stage, with the pH that both it and the element allow. [-, degC]"""

    solution: Solution
    doses: tuple[DoseMass, ...]
    ph_low: float
    ph_high: float
    ph: float
    temperature_c: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Worksheet:
    """A cleaning of one stage. Flows m3/h, pressures bar, energy kWh, times h.

    `refused` holds what must not be done; a sheet with any is no sheet to work from.
    """

    stage: int
    vessels: int
    groups: int
    volumes: Volumes
    baths: tuple[Bath, ...]
    flow_per_vessel_low: float
    flow_per_vessel_high: float
    pump_flow_low: float
    pump_flow_high: float
    pressure_low_bar: float
    pressure_high_bar: float
    pressure_drop_limit_bar: float
    heating_kwh: float
    heating_hours: float | None
    rinse_m3: float
    waste_m3: float
    steps: tuple[Step, ...]
    refused: tuple[Finding, ...]
    warned: tuple[Finding, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class Wishes:
    """What whoever cleans chooses. None takes what is usual. [degC, -, bar]"""

    vessels: int | None = None
    make_up_temperature_c: float = 20.0
    temperature_c: float | None = None
    ph: tuple[float | None, ...] = ()
    pressure_bar: float | None = None


def plan_worksheet(
    stage: Stage, number: int, system: CleaningSystem, programme: Programme, wishes: Wishes | None = None
) -> Worksheet:
    """Work out the sheet for one stage.

    Parameters
    ----------
    stage : Stage
    number : int
        Of the stage, from 1.
    system : CleaningSystem
    programme : Programme
        With at least one solution.
    wishes : Wishes, optional

    Returns
    -------
    Worksheet

    Raises
    ------
    InvalidSettings
        When the programme has no solution, or the stage has fewer vessels than are wished for.
    """
    wishes = wishes or Wishes()
    if not programme.solutions:
        raise InvalidSettings(programme.why)
    low, high = vessel_flow_m3h(stage.membrane.diameter_inch)
    vessels, remarks = _together(stage, system, wishes, low)
    volumes = solution_volumes(stage, system, vessels)
    baths = tuple(
        _bath(stage, solution, volumes.make, wishes, _nth(wishes.ph, n))
        for n, solution in enumerate(programme.solutions)
    )
    pressure = min(stage.membrane.cleaning_max_pressure_bar, stage.membrane.max_pressure_bar)
    findings = [f for bath in baths for f in bath.findings]
    findings += check_conditions(stage.membrane, pressure_bar=wishes.pressure_bar)
    heat = max(heating_kwh(volumes.make, wishes.make_up_temperature_c, bath.temperature_c) for bath in baths)
    rinse = RINSE_TIMES * volumes.make * len(baths)
    return Worksheet(
        stage=number,
        vessels=vessels,
        groups=math.ceil(stage.vessels / vessels),
        volumes=volumes,
        baths=baths,
        flow_per_vessel_low=low,
        flow_per_vessel_high=high,
        pump_flow_low=vessels * low,
        pump_flow_high=vessels * high,
        pressure_low_bar=min(PRESSURE_LOW_BAR, pressure),
        pressure_high_bar=wishes.pressure_bar if wishes.pressure_bar is not None else pressure,
        pressure_drop_limit_bar=_drop_limit(stage),
        heating_kwh=heat,
        heating_hours=None if not system.heater_kw else heat / system.heater_kw,
        rinse_m3=rinse,
        waste_m3=rinse + volumes.make * len(baths),
        steps=cleaning_steps(programme),
        refused=tuple(dict.fromkeys(f for f in findings if f.refused)),
        warned=tuple(dict.fromkeys(f for f in findings if not f.refused)),
        remarks=(*volumes.assumed, *remarks, *_tank(system, volumes.make)),
    )


def _nth(values: tuple[float | None, ...], n: int) -> float | None:
    return values[n] if n < len(values) else None


def _together(stage: Stage, system: CleaningSystem, wishes: Wishes, low: float) -> tuple[int, list[str]]:
    """How many vessels go together: as wished, else as many as the pump can feed, else all of the stage."""
    if wishes.vessels is not None:
        if not 1 <= wishes.vessels <= stage.vessels:
            raise InvalidSettings(f"vessels: the stage has {stage.vessels}, {wishes.vessels} were asked for")
        if system.pump_flow_m3h is not None and wishes.vessels * low > system.pump_flow_m3h:
            return wishes.vessels, [
                f"The pump gives {system.pump_flow_m3h:g} m3/h, {wishes.vessels} vessels need "
                f"{wishes.vessels * low:.1f}: clean fewer at a time, or the flow will be too low to carry anything off."
            ]
        return wishes.vessels, []
    if system.pump_flow_m3h is None:
        return stage.vessels, []
    able = max(1, min(stage.vessels, math.floor(system.pump_flow_m3h / low)))
    if able == stage.vessels:
        return able, []
    return able, [f"The pump feeds {able} of the {stage.vessels} vessels at a time: clean them in groups."]


def _tank(system: CleaningSystem, make_m3: float) -> tuple[str, ...]:
    if system.tank_volume_m3 is None or make_m3 <= system.tank_volume_m3:
        return ()
    return (
        f"The tank holds {system.tank_volume_m3:g} m3 and {make_m3:.2f} m3 are needed: clean fewer vessels at "
        "a time, or make the solution up twice.",
    )


def _drop_limit(stage: Stage) -> float:
    """Along a vessel. [bar]"""
    membrane = stage.membrane
    return min(membrane.max_dp_vessel_bar, stage.elements_per_vessel * membrane.max_dp_element_bar)


def _bath(stage: Stage, solution: Solution, volume_m3: float, wishes: Wishes, ph: float | None) -> Bath:
    membrane = stage.membrane
    usual = min((solution.temperature_low_c + solution.temperature_high_c) / 2, membrane.cleaning_max_temperature_c)
    temperature = wishes.temperature_c if wishes.temperature_c is not None else usual
    most = highest_ph(membrane, temperature)
    high = solution.ph_high if math.isnan(most) else min(solution.ph_high, most)
    low = max(solution.ph_low, membrane.cleaning_min_ph)
    chosen = ph if ph is not None else min(max(solution.ph_target, low), high)
    return Bath(
        solution=solution,
        doses=tuple(DoseMass(d.name, d.share, d.share * volume_m3 * KG_PER_M3, d.most) for d in solution.doses),
        ph_low=low,
        ph_high=high,
        ph=chosen,
        temperature_c=temperature,
        findings=check_conditions(membrane, ph=chosen, temperature_c=temperature),
    )
