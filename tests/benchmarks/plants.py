"""Simulated plants with known membranes, whose closures differ from the model's: osmotic law, exponents, slopes, film.

Truth is what the true train would do at the reference conditions; of its channels, the friction at the reference flow.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.daily import local_days
from demo_data.simulator.ageing import (
    Change,
    Cleaning,
    ages,
    biofouling,
    cleaned,
    compaction,
    oxidation,
    scaling,
    slow_fouling,
)
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Meter
from demo_data.simulator.operation import Operation, SetPoint
from demo_data.simulator.scenario import WELL_METERED, Happening, Scenario, Simulated
from demo_data.simulator.seasons import Season
from demo_data.simulator.train import Age, Inlet, run_at_pressure
from demo_data.simulator.water import NATURAL_BRACKISH, SODIUM_CHLORIDE

Array = npt.NDArray[np.float64]

DAYS = 420
METERING = {
    "all": (),
    "no stage flow": (
        "stage1_permeate_flow_m3h",
        "stage1_permeate_conductivity_us_cm",
        "stage2_permeate_conductivity_us_cm",
    ),
    "no interstage": ("stage1_concentrate_pressure_bar",),
}


@dataclass(frozen=True)
class Known:
    """A simulated plant, by name, and what it was made with."""

    name: str
    cause: str
    metering: str
    scenario: Scenario


def story_of(cause: str, rng: np.random.Generator) -> tuple[tuple[Change, ...], tuple[Happening, ...]]:
    """What the cause does to the membranes, of a size drawn at random, and what the log says of it."""
    size = rng.uniform(0.6, 1.4)
    if cause == "none":
        return (), ()
    if cause == "compaction":
        return (compaction(0.05 * size, time_constant_days=20.0),), ()
    if cause == "slow":
        return (slow_fouling(None, flow_loss_per_year=0.08 * size, friction_per_year=0.05 * size),), ()
    if cause == "biofouling":
        return (biofouling(1, doubling_days=45.0, seed=0.05 * size),), ()
    if cause == "scaling":
        return (scaling(2, flow_loss=0.15 * size, over_days=300.0, begins=60.0),), ()
    if cause == "oxidation":
        return (oxidation(1, begins=200.0, ends=260.0, flow_gain=0.10 * size, salt_gain=0.6 * size),), ()
    day = 230.0
    fouling = cleaned(
        slow_fouling(1, flow_loss_per_year=0.20 * size, friction_per_year=0.25 * size), Cleaning(day, 0.8)
    )
    return (fouling,), (Happening(day, "cleaning", "alkaline, then acid", 1),)


CAUSES = ("none", "compaction", "slow", "biofouling", "scaling", "oxidation", "cleaned")


def known_plants(*, seed: int = 7) -> Iterator[Known]:
    """Every cause with every metering, closures drawn at random."""
    for number, (cause, metering) in enumerate((c, m) for c in CAUSES for m in METERING):
        rng = np.random.default_rng((seed, number))
        changes, happenings = story_of(cause, rng)
        element = Element(
            water_permeability_lmh_bar=rng.uniform(2.8, 4.8),
            salt_permeability_lmh=rng.uniform(0.12, 0.35),
            water_slope_k=rng.uniform(2500, 3300),
            salt_slope_k=rng.uniform(2300, 4300),
            friction_exponent=rng.uniform(1.5, 1.75),
            mass_transfer_lmh=rng.uniform(160, 320),
        )
        salt = NATURAL_BRACKISH if rng.uniform() < 0.7 else SODIUM_CHLORIDE
        temperature = Season(rng.uniform(14, 24), rng.uniform(2, 8), int(rng.integers(20, 60)), 0.8)
        salinity = Season(rng.uniform(1200, 4500), rng.uniform(50, 350), int(rng.integers(1, 365)), 60.0)
        recovery = rng.uniform(0.70, 0.78)
        operation = Operation(
            30.0, recovery, changes=(SetPoint(rng.uniform(150, 300), rng.uniform(27, 32), recovery - 0.04),)
        )
        meters: dict[str, Meter] = {name: m for name, m in WELL_METERED.items() if name not in METERING[metering]}
        scenario = Scenario(
            days=DAYS,
            seed=int(rng.integers(1, 10**6)),
            design=Design((Stage(4, 6, element), Stage(2, 6, element)), salt),
            operation=operation,
            temperature_c=temperature,
            conductivity_us_cm=salinity,
            ageing=changes,
            happenings=happenings,
            meters=meters,
            typing_mistakes=0.0005,
            train={"name": f"{cause}, {metering}"},
            reference=(date(2025, 8, 3), date(2025, 8, 21)),
        )
        yield Known(f"{cause}, {metering}", cause, metering, scenario)


class _Played(Protocol):
    """Whatever holds a scenario."""

    @property
    def scenario(self) -> Scenario: ...


def true_at_reference(known: _Played, result: Simulated) -> pd.DataFrame:
    """By local day: what the true train does at the feed pressure, concentrate flow and water of the reference."""
    days = local_days(pd.DatetimeIndex(result.exact.index), known.scenario.timezone)
    first, last = known.scenario.reference or (None, None)
    within = np.asarray((days >= pd.Timestamp(first)) & (days <= pd.Timestamp(last)))
    running = (
        (result.readings["state"] == "running").to_numpy() if "state" in result.readings else np.ones(len(days), bool)
    )
    at = result.exact[within & running].median(numeric_only=True)
    unique = days.unique()
    elapsed = np.asarray((unique - pd.Timestamp(known.scenario.start)) / pd.Timedelta(days=1)) + 0.5
    membranes = ages(known.scenario.design, known.scenario.ageing, elapsed)
    flow, passage = at_conditions(known.scenario.design, membranes, at, len(unique))
    truth = result.truth.set_axis(days).groupby(level=0).median()
    frame = pd.DataFrame({"train_permeate_flow": flow, "train_salt_passage": passage}, index=unique)
    for name in truth.columns:
        if name.endswith("_pressure_drop"):
            frame[name] = truth[name]
    reference_days = (unique >= pd.Timestamp(first)) & (unique <= pd.Timestamp(last))
    return frame / frame[reference_days].mean()


def at_conditions(design: Design, membranes: tuple[Age, ...], at: pd.Series, count: int) -> tuple[Array, Array]:
    """Flow and salinity of the permeate of a true train at given conditions, for some states of its membranes."""
    kept = np.full(count, float(at["concentrate_flow_m3h"]))
    pressure = np.full(count, float(at["feed_pressure_bar"]))
    tds = np.full(count, float(design.salt.tds_mg_l(np.asarray([at["feed_conductivity_us_cm"]]))[0]))
    temperature = np.full(count, float(at["feed_temperature_c"]))
    back = np.full(count, float(at["permeate_pressure_bar"]))
    feed = kept + float(at["permeate_flow_m3h"])
    for _ in range(40):
        run = run_at_pressure(design, membranes, Inlet(feed, tds, temperature, back), pressure)
        miss = feed - run.permeate_flow_m3h - kept
        feed = feed - 0.8 * miss
        if np.max(np.abs(miss)) < 1e-9:
            break
    return run.permeate_flow_m3h, run.permeate_tds_mg_l / tds
