"""The steps of one cleaning as they stand on its worksheet, and the cautions above them."""

from dataclasses import dataclass
from typing import Literal

from analytics.decisions.cleaning_solution import Programme

DUMPED = 0.2
"""Of the solution, sent to drain with the water that it displaces; published cleaning procedures. [-]"""
PH_HELD = 0.5
"""How far the pH of a solution may move; published cleaning procedures. [-]"""
Kind = Literal["before", "mix", "clean", "rinse", "restart", "after"]


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


def cleaning_steps(programme: Programme) -> tuple[Step, ...]:
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
    for number in range(1, len(programme.solutions) + 1):
        steps += _bath_steps(programme, number)
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


def _bath_steps(programme: Programme, number: int) -> list[Step]:
    """The steps of one bath. What the record has one field for in all is measured once: chlorine first, rinse last."""
    name, last = programme.solutions[number - 1].name, number == len(programme.solutions)
    soak_low, soak_high = programme.soak_hours
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
