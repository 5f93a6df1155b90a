"""Simulated plants of every size and habit, to see that the model was not fitted to the plants of `plants`.

One to three stages, five to eight elements, hourly to daily logs, gauges fine and coarse, meters missing, water of 8 to
32 degC, boosters, permeate back-pressure, changes of flow, recovery and salinity, and membranes that change in places
that no story of `plants` knows.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import numpy as np

from demo_data.simulator.ageing import Change, Cleaning, Doubling, Linear, Profile, Settling, Spell, cleaned
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Meter
from demo_data.simulator.operation import Operation, SetPoint
from demo_data.simulator.scenario import Happening, Scenario
from demo_data.simulator.seasons import Season
from demo_data.simulator.shifts import Diary
from demo_data.simulator.water import Salt
from tests.benchmarks.plants import Known

ARRAYS = ((1,), (2,), (5,), (2, 1), (4, 2), (6, 3), (10, 5), (3, 2, 1), (8, 4, 2))
GAPS = ("all", "no stage flow", "no interstage", "no stage water", "bare")
HABITS = {"daily": (9.0,), "shifts": (6.0, 14.0, 22.0), "two-hourly": tuple(np.arange(0.0, 24.0, 2.0))}


def wide_plants(count: int, *, seed: int = 2026) -> Iterator[Known]:
    """Plants drawn at random; the same seed gives the same ones."""
    for number in range(count):
        yield _wide_plant(np.random.default_rng((seed, number)), number)


def _wide_plant(rng: np.random.Generator, number: int) -> Known:
    array = ARRAYS[rng.integers(len(ARRAYS))]
    metering = GAPS[rng.integers(len(GAPS))] if len(array) > 1 else "all"
    elements = int(rng.integers(5, 9))
    element = draw_element(rng)
    stages = tuple(
        Stage(
            vessels,
            elements,
            element,
            booster_bar=float(rng.uniform(1, 4))
            if place and metering != "no interstage" and rng.uniform() < 0.25
            else 0.0,
        )
        for place, vessels in enumerate(array)
    )
    salt = Salt(rng.uniform(29.2, 38.0), rng.uniform(0.5, 0.66), rng.uniform(0.02, 0.06))
    design = Design(stages, salt)
    habit = list(HABITS)[rng.integers(len(HABITS))]
    days = int(rng.integers(220, 480)) if habit != "two-hourly" else int(rng.integers(150, 300))
    changes, happenings = draw_story(rng, len(array), days)
    first = date(2025, int(rng.integers(1, 13)), 1)
    start = first.replace(day=1)
    scenario = Scenario(
        days=days,
        start=start,
        seed=int(rng.integers(1, 10**6)),
        design=design,
        operation=draw_operation(rng, design, days),
        temperature_c=Season(rng.uniform(14, 26), rng.uniform(1, 6), int(rng.integers(1, 60)), rng.uniform(0.3, 1.0)),
        conductivity_us_cm=Season(
            rng.uniform(800, 3500), rng.uniform(30, 350), int(rng.integers(1, 365)), rng.uniform(10, 80)
        ),
        ageing=changes,
        happenings=happenings,
        meters=_meters(rng, len(array), metering),
        diary=Diary(hours=HABITS[habit], missed=float(rng.choice([0.0, 0.05, 0.15]))),
        typing_mistakes=0.0005,
        train={"name": f"RO {number}"},
        reference=(date.fromordinal(start.toordinal() + 2), date.fromordinal(start.toordinal() + 16)),
    )
    changed = " ".join(f"{one.stage or 'all'}:{type(one.growth).__name__}" for one in changes)
    return Known(f"{number} {array}x{elements} {habit}, {changed}", changed, metering, scenario)


def draw_element(rng: np.random.Generator) -> Element:
    """An element whose slopes, exponents and film are not those of the model."""
    return Element(
        area_m2=float(rng.choice([37.0, 37.2, 40.9])),
        water_permeability_lmh_bar=rng.uniform(2.6, 4.8),
        salt_permeability_lmh=rng.uniform(0.10, 0.40),
        water_slope_k=rng.uniform(2400, 3400),
        salt_slope_k=rng.uniform(2200, 4600),
        friction_bar=rng.uniform(0.16, 0.30),
        friction_exponent=rng.uniform(1.45, 1.8),
        mass_transfer_lmh=rng.uniform(150, 330),
        mass_transfer_exponent=rng.uniform(0.35, 0.75),
    )


def draw_story(rng: np.random.Generator, stages: int, days: int) -> tuple[tuple[Change, ...], tuple[Happening, ...]]:
    """None to three changes, each of a stage or of all, with shares that obey no signature; perhaps a cleaning."""
    changes = [_change(rng, stages, days) for _ in range(int(rng.integers(0, 4)))]
    if not changes or rng.uniform() > 0.35:
        return tuple(changes), ()
    day, stage = float(rng.uniform(0.3, 0.8) * days), int(rng.integers(1, stages + 1))
    washed = [cleaned(one, Cleaning(day, rng.uniform(0.4, 0.95))) if one.stage == stage else one for one in changes]
    return tuple(washed), (Happening(day, "cleaning", "alkaline, then acid", stage),)


def _change(rng: np.random.Generator, stages: int, days: int) -> Change:
    stage = int(rng.integers(0, stages + 1)) or None
    kind = rng.choice(["linear", "doubling", "settling", "spell"])
    profiles: tuple[Profile, ...] = ("even", "lead", "tail")
    profile = profiles[rng.integers(3)]
    if kind == "settling":
        share = rng.uniform(0.02, 0.08)
        return Change(Settling(rng.uniform(8, 30)), stage, water=-share, salt=-0.6 * share)
    if kind == "spell":
        begins = rng.uniform(0.2, 0.7) * days
        spell = Spell(begins, begins + rng.uniform(10, 80))
        return Change(spell, stage, water=rng.uniform(0, 0.12), salt=rng.uniform(0.1, 0.7), profile=profile)
    loss, salt = rng.uniform(0.0, 0.18), rng.uniform(-0.02, 0.2)
    friction = float(rng.choice([0.0, rng.uniform(0.0, 0.4)]))
    if kind == "linear":
        growth = Linear(1 / days, begins=rng.uniform(0, 0.5) * days)
        return Change(growth, stage, water=-loss, salt=salt, friction=friction, profile=profile)
    doubling = Doubling(rng.uniform(25, 70), seed=0.03, most=1.5)
    return Change(doubling, stage, water=-loss, salt=salt, friction=friction, water_power=1.3, profile=profile)


def draw_operation(rng: np.random.Generator, design: Design, days: int) -> Operation:
    """Flux and recovery of the trade, with up to three changes of set-points."""
    recovery = {1: (0.45, 0.60), 2: (0.66, 0.80), 3: (0.74, 0.86)}[len(design.stages)]
    share = rng.uniform(*recovery)
    flow = design.area_m2 * rng.uniform(19, 27) / 1000
    changes = tuple(
        SetPoint(float(day), flow * rng.uniform(0.85, 1.08), share + rng.uniform(-0.06, 0.02))
        for day in np.sort(rng.uniform(0.15, 0.95, int(rng.integers(0, 4)))) * days
    )
    return Operation(
        flow,
        share,
        permeate_pressure_bar=rng.uniform(0.0, 1.5),
        changes=changes,
        flow_wander=rng.uniform(0.005, 0.03),
        recovery_wander=rng.uniform(0.002, 0.01),
        permeate_pressure_wander_bar=float(rng.choice([0.0, 0.15])),
    )


def _meters(rng: np.random.Generator, stages: int, metering: str) -> dict[str, Meter]:
    psi = rng.uniform() < 0.4
    pressure = (
        Meter("psi", 1.0, noise=rng.uniform(0.2, 0.8)) if psi else Meter("bar", 0.1, noise=rng.uniform(0.01, 0.05))
    )
    if rng.uniform() < 0.3:
        pressure = Meter("bar", 0.01, noise=rng.uniform(0.005, 0.03))
    flow = (
        Meter("gpm", 1.0, noise_share=rng.uniform(0.003, 0.01))
        if psi
        else Meter("m3/h", 0.1, noise_share=rng.uniform(0.003, 0.01))
    )
    salinity = Meter("uS/cm", 1.0, noise_share=rng.uniform(0.004, 0.012))
    fine = replace(salinity, step=0.1)
    result = {
        "feed_temperature_c": Meter("degC", 0.1, noise=0.1),
        "feed_pressure_bar": pressure,
        "concentrate_pressure_bar": pressure,
        "permeate_pressure_bar": pressure,
        "permeate_flow_m3h": flow,
        "concentrate_flow_m3h": flow,
        "feed_conductivity_us_cm": salinity,
        "permeate_conductivity_us_cm": fine,
    }
    if metering != "bare":
        result |= {"feed_flow_m3h": flow, "concentrate_conductivity_us_cm": salinity}
    for stage in range(1, stages + 1):
        if stage > 1:
            result[f"stage{stage}_feed_pressure_bar"] = pressure
        if stage < stages:
            result[f"stage{stage}_permeate_flow_m3h"] = flow
            result[f"stage{stage}_concentrate_pressure_bar"] = pressure
        if stages > 1:
            result[f"stage{stage}_permeate_conductivity_us_cm"] = fine
    missing = {
        "no stage flow": ("permeate_flow", "permeate_conductivity"),
        "no interstage": ("feed_pressure", "concentrate_pressure"),
        "no stage water": ("permeate_conductivity",),
        "bare": ("permeate_flow", "permeate_conductivity"),
    }.get(metering, ())
    gone = [name for name in result if name.startswith("stage") and name[7:].startswith(tuple(missing))]
    return {name: meter for name, meter in result.items() if name not in gone}
