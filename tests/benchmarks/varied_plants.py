"""Plants of every size with the stories of causes or none, meters missing in ten ways, read daily to hourly.

What `plants` and `wide_plants` hold fixed varies here: which meters are missing, how noisy they are, how far they are
off, and how often they are read. Nothing in the model was chosen on the seeds that decision 20 scores.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import numpy as np

from demo_data.simulator.design import Design, Stage
from demo_data.simulator.meters import Meter
from demo_data.simulator.scenario import FLOW, WELL_METERED, Scenario
from demo_data.simulator.seasons import Season
from demo_data.simulator.shifts import Diary
from demo_data.simulator.water import NATURAL_BRACKISH, SODIUM_CHLORIDE, Salt
from tests.benchmarks.plants import CAUSES, Known, story_of
from tests.benchmarks.wide_plants import ARRAYS, draw_element, draw_operation, draw_story

STAGE_WATER = ("permeate_flow", "permeate_conductivity")
STAGE_PRESSURE = ("feed_pressure", "concentrate_pressure")
MISSING: dict[str, tuple[str, ...]] = {
    "all": (),
    "no feed flow": ("feed_flow_m3h",),
    "no concentrate flow": ("concentrate_flow_m3h", "concentrate_conductivity_us_cm"),
    "no permeate pressure": ("permeate_pressure_bar",),
    "no interstage": tuple(f"stage{n}_{what}" for n in (1, 2, 3) for what in STAGE_PRESSURE),
    "no stage flow": tuple(f"stage{n}_{what}" for n in (1, 2, 3) for what in STAGE_WATER),
    "no stage flow, analysed": tuple(f"stage{n}_permeate_flow" for n in (1, 2, 3)),
    "no stage water": tuple(f"stage{n}_permeate_conductivity" for n in (1, 2, 3)),
    "total only": tuple(f"stage{n}_{what}" for n in (1, 2, 3) for what in (*STAGE_WATER, *STAGE_PRESSURE)),
    "bare": (
        *(f"stage{n}_{what}" for n in (1, 2, 3) for what in STAGE_WATER),
        "feed_flow_m3h",
        "concentrate_conductivity_us_cm",
    ),
}
"""Beginnings of the columns that are not metered."""
HOURS = ((9.0,), (7.0, 19.0), (6.0, 14.0, 22.0), tuple(np.arange(24.0)))


def varied_plants(count: int, *, seed: int) -> Iterator[Known]:
    """Plants drawn at random; the same seed gives the same ones, and each metering comes in turn."""
    for number in range(count):
        yield _plant(np.random.default_rng((seed, number)), number)


def _plant(rng: np.random.Generator, number: int) -> Known:
    metering = list(MISSING)[number % len(MISSING)]
    arrays = ARRAYS if metering in list(MISSING)[:4] else [array for array in ARRAYS if len(array) > 1]
    array = arrays[rng.integers(len(arrays))]
    element, count = draw_element(rng), len(array)
    stages = tuple(Stage(vessels, int(rng.integers(5, 8)), element) for vessels in array)
    salts = (
        NATURAL_BRACKISH,
        SODIUM_CHLORIDE,
        Salt(rng.uniform(29.2, 38.0), rng.uniform(0.5, 0.66), rng.uniform(0.02, 0.06)),
    )
    design = Design(stages, salts[rng.integers(3)])
    hours = HOURS[rng.integers(len(HOURS))]
    days = int(rng.integers(120, 200)) if len(hours) > 3 else int(rng.integers(240, 500))
    cause = str(rng.choice(CAUSES)) if rng.uniform() < 0.6 and count > 1 else "drawn"
    changes, happenings = draw_story(rng, count, days) if cause == "drawn" else story_of(cause, rng)
    start = date(2025, int(rng.integers(1, 13)), 1)
    scenario = Scenario(
        days=days,
        start=start,
        seed=int(rng.integers(1, 10**6)),
        design=design,
        operation=draw_operation(rng, design, days),
        temperature_c=Season(
            rng.uniform(12, 27), rng.uniform(0.5, 8), int(rng.integers(1, 365)), rng.uniform(0.3, 1.0)
        ),
        conductivity_us_cm=Season(
            rng.uniform(800, 4000), rng.uniform(30, 350), int(rng.integers(1, 365)), rng.uniform(10, 80)
        ),
        ageing=changes,
        happenings=tuple(one for one in happenings if one.day < days),
        meters=_meters(rng, count, metering),
        diary=Diary(hours=hours, missed=float(rng.choice([0.0, 0.05, 0.2]))),
        typing_mistakes=0.0005,
        train={"name": f"RO {number}"},
        reference=(date.fromordinal(start.toordinal() + 2), date.fromordinal(start.toordinal() + 17)),
    )
    told = f"{number} {array} {len(hours)} a day, {cause}"
    return Known(told, cause, metering, scenario)


def _meters(rng: np.random.Generator, stages: int, metering: str) -> dict[str, Meter]:
    """Half to two and a half times the usual noise, gauges fine and coarse, each off by a constant share."""
    louder, fine = rng.uniform(0.5, 2.5), rng.uniform() < 0.4
    meters = {n: m for n, m in WELL_METERED.items() if not n.startswith("stage")}
    for stage in range(1, stages + 1 if stages > 1 else 1):
        meters[f"stage{stage}_permeate_conductivity_us_cm"] = WELL_METERED["permeate_conductivity_us_cm"]
        if stage < stages:
            meters[f"stage{stage}_permeate_flow_m3h"] = FLOW
            meters[f"stage{stage}_concentrate_pressure_bar"] = WELL_METERED["concentrate_pressure_bar"]
    return {
        name: replace(
            meter,
            noise=meter.noise * louder,
            noise_share=meter.noise_share * louder,
            step=meter.step / 10 if fine and meter.unit in ("bar", "m3/h") else meter.step,
            offset_share=rng.normal(0, 0.005),
        )
        for name, meter in meters.items()
        if not name.startswith(MISSING[metering] or ("-",))
    }
