"""The worksheet of one cleaning: how much solution, how much of what, how fast, how warm, in which steps.

Everything is worked out from the stage as built; what is not known of the cleaning circuit is assumed, and said.
"""

import math
from dataclasses import dataclass
from typing import Literal

from analytics.decisions.cleaning_limits import Finding, check_conditions, highest_ph
from analytics.decisions.cleaning_solution import Programme, Solution
from analytics.decisions.cleaning_volume import Volumes, heating_kwh, solution_volumes, vessel_flow_m3h
from analytics.errors import InvalidSettings
from analytics.plant import CleaningSystem, Stage

KG_PER_M3 = 1000.0
"""Of dilute solutions, which are taken as water."""
RINSE_TIMES = 2.0
"""Rinse volume over solution volume; a published cleaning procedure. [-]"""
PRESSURE_LOW_BAR = 1.4
"""Usual lowest pressure, 20 psi; a practice page gives 20 to 60 psi. [bar]"""
DUMPED = 0.2
PH_HELD = 0.5
Kind = Literal["before", "mix", "clean", "rinse", "restart", "after"]


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
class Step:
    """One step on the sheet: what to do, how long [min], and what to write down.

    `measured` names what the record of a cleaning has a field for, `note` the rest. `bath` is the name of the solution,
    `number` its place, 0 for steps of no bath.
    """

    title: str
    what: str
    minutes_low: float
    minutes_high: float
    note: tuple[str, ...]
    kind: Kind
    bath: str = ""
    number: int = 0
    measured: tuple[str, ...] = ()


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


CAUTIONS: tuple[str, ...] = (
    "This is guidance, not a work permit. The element maker's limits, the safety data sheets and local codes come "
    "first; work that needs a licence needs one.",
    "Only trained people. Goggles or face shield, gloves, apron; eye wash and shower within reach; ventilation.",
    "Acid and caustic go into water, slowly; never water into acid. Caustic soda heats up as it dissolves.",
    "Never bring acid together with hypochlorite (chlorine gas), bisulfite or hydrosulfite (sulfur dioxide) or "
    "sulfide. Never mix two cleaning solutions: rinse to neutral between them.",
    "Make-up water is permeate or softened water without any chlorine: test it.",
    "Take the pressure off, lock out and tag the high-pressure pump, keep the permeate valve open and the permeate at "
    "the drain. Drinking water: prove pH, conductivity and absence of chemicals before it goes back to use.",
    "Neutralise before it goes to the drain, and keep to the permit; EDTA, phosphate, detergents and biocides may need "
    "separate disposal. Write down volume and pH.",
)
"""On every sheet. Maker's bulletins on cleaning, safety data sheets in general, common practice."""


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
    if system.tank_volume_m3 is not None and volumes.make > system.tank_volume_m3:
        remarks.append(
            f"The tank holds {system.tank_volume_m3:g} m3 and {volumes.make:.2f} m3 are needed: clean fewer vessels at "
            "a time, or make the solution up twice."
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
        pressure_drop_limit_bar=min(
            stage.membrane.max_dp_vessel_bar, stage.elements_per_vessel * stage.membrane.max_dp_element_bar
        ),
        heating_kwh=heat,
        heating_hours=None if not system.heater_kw else heat / system.heater_kw,
        rinse_m3=rinse,
        waste_m3=rinse + volumes.make * len(baths),
        steps=_steps(programme, baths),
        refused=tuple(dict.fromkeys(f for f in findings if f.refused)),
        warned=tuple(dict.fromkeys(f for f in findings if not f.refused)),
        remarks=(*volumes.assumed, *remarks),
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


def _steps(programme: Programme, baths: tuple[Bath, ...]) -> tuple[Step, ...]:
    """The steps with their times. Times: published cleaning procedures; ranges are common practice, from memory."""
    steps = [
        Step(
            "Take readings", "Steady readings of every gauge, permeate conductivity of each vessel, photos.",
            15, 30, ("feed pressure", "pressure drop of each stage", "permeate flow", "conductivities"), "before",
        ),
        Step(
            "Make it safe", "Stop, take the pressure off, lock out the high-pressure pump, open the permeate valve, "
            "permeate to drain.", 10, 20, ("who locked out",), "before",
        ),
        Step("Flush", "Flush with permeate at low pressure, to drain.", 10, 15, (), "before"),
    ]  # fmt: skip
    for number, bath in enumerate(baths, start=1):
        steps += _bath_steps(programme, bath, number, last=number == len(baths))
    steps += [
        Step(
            "Restart", "Take the locks off, start up gently, permeate to drain until conductivity and pH are right.",
            10, 60, ("time of restart", "permeate conductivity and pH"), "restart",
        ),
        Step(
            "Prove it", "Readings at 1 h, 24 h and between 48 and 72 h after the restart; then judge, not before.",
            10, 10, ("the same as before the cleaning",), "after",
        ),
    ]  # fmt: skip
    return tuple(steps)


def _bath_steps(programme: Programme, bath: Bath, number: int, *, last: bool) -> list[Step]:
    """The steps of one bath. What the record has one field for in all is measured once: chlorine first, rinse last."""
    name, (soak_low, soak_high) = bath.solution.name, programme.soak_hours
    chlorine = ("make_up_chlorine_mg_l",) if number == 1 else ()
    rinsed = ("rinse_ph", "rinse_conductivity_us_cm", "rinse_foam", "waste_volume_l", "waste_ph") if last else ()
    return [
        Step(
            "Mix", "Fill the tank with permeate, test it for chlorine, warm it up, dissolve everything, and measure pH "
            "and temperature before anything is pumped.",
            20, 60, (*(() if chlorine else ("chlorine test",)), "other amounts and lots"), "mix", name, number,
            (*chlorine, "mass_kg", "lot", "ph_start", "temperature_start_c"),
        ),
        Step(
            "Displace", f"Half flow; send the first {DUMPED:.0%} and the displaced water to drain.",
            5, 10, ("colour", "turbidity"), "clean", name, number,
        ),
        Step(
            "Circulate", f"Low flow; hold pH within {PH_HELD} and the temperature. Make the solution up anew when the "
            f"pH moves by more than {PH_HELD} or the colour is strong.",
            30, 30, ("pH every 10 min", "temperature every 10 min"), "clean", name, number,
            ("minutes", "observations", "renewed"),
        ),
        Step(
            "Soak", "Pump off; with a long soak circulate slowly, so that it stays warm.",
            60 * soak_low, 60 * soak_high, ("begin and end", "temperature at the end"), "clean", name, number,
            ("soak_minutes",),
        ),
        Step(
            "High flow", "Full flow per vessel; watch the pressure drop.",
            30, 60, ("what comes out",), "clean", name, number,
            ("flow_per_vessel_m3h", "pressure_in_bar", "pressure_out_bar", "ph_end", "temperature_end_c"),
        ),
        Step(
            "Rinse", "Permeate until the outlet is between pH 5 and 9, then feed water until pH and conductivity out "
            "are those going in and nothing foams. Neutralise what is drained.",
            20, 40, () if last else ("pH and conductivity at the end", "foam", "volume and pH to drain"), "rinse", name,
            number, rinsed,
        ),
    ]  # fmt: skip
