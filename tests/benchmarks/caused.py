"""Simulated plants of every cause, with sizes, places and courses drawn at random, for a confusion matrix."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from demo_data.simulator.ageing import Change, Doubling, Growth, Linear, Settling, Spell
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Meter
from demo_data.simulator.operation import Operation
from demo_data.simulator.scenario import WELL_METERED, Scenario
from demo_data.simulator.seasons import Season
from demo_data.simulator.water import NATURAL_BRACKISH, SODIUM_CHLORIDE, FloatArray

DAYS = 300
CAUSES = (
    "none", "metal-oxide", "colloidal", "scaling", "biofouling", "organic", "oxidation", "hydrolysis", "seal-leak",
    "compaction", "none",
)  # fmt: skip
METERING = (
    (),
    ("stage1_permeate_conductivity_us_cm", "stage2_permeate_conductivity_us_cm"),
    ("stage1_concentrate_pressure_bar",),
)


@dataclass(frozen=True)
class Late:
    """A growth that only begins on a day."""

    growth: Growth
    begins: float

    def after(self, value: float, since: float, days: FloatArray) -> FloatArray:
        return self.growth.after(value, max(since, self.begins), np.maximum(days, self.begins))


@dataclass(frozen=True)
class Caused:
    """A plant with its cause, and the meters it lacks."""

    cause: str
    lacking: tuple[str, ...]
    scenario: Scenario


def changes_of(cause: str, rng: np.random.Generator) -> tuple[Change, ...]:
    """What a cause does to a two-stage train, its size, place and course drawn at random."""
    size, begins = rng.uniform(0.08, 0.22), rng.uniform(30, 90)
    steady = Linear(1 / rng.uniform(120, 200), begins)
    return _deposits(cause, size, begins, steady, rng) or _damage(cause, size, begins, rng)


def _deposits(cause: str, size: float, begins: float, steady: Linear, rng: np.random.Generator) -> tuple[Change, ...]:
    """What lies on the membranes."""
    u = rng.uniform
    match cause:
        case "metal-oxide":
            return (
                Change(steady, 1, water=-size, salt=u(0, 0.3) * size, friction=u(0.35, 0.8) * size, profile="lead"),
                Change(steady, 2, water=-u(0.1, 0.35) * size, friction=u(0, 0.2) * size),
            )
        case "colloidal":
            return (
                Change(
                    steady,
                    1,
                    water=-u(0.4, 0.9) * size,
                    salt=u(0.1, 0.4) * size,
                    friction=u(0.9, 1.6) * size,
                    profile="lead",
                ),
                Change(steady, 2, water=-u(0, 0.2) * size, friction=u(0, 0.25) * size),
            )
        case "scaling":
            return (
                Change(
                    steady,
                    2,
                    water=-size,
                    salt=u(0.7, 1.4) * size,
                    friction=u(0.1, 0.6) * size,
                    friction_power=2.0,
                    profile="tail",
                ),
            )
        case "biofouling":
            growth = Doubling(u(25, 45), 0.03, begins=begins)
            return (Change(growth, 1, water=-0.05, salt=0.0, friction=u(0.1, 0.2), water_power=1.3, profile="lead"),)
        case "organic":
            growth = Late(Settling(u(30, 60)), begins)
            return (
                Change(growth, 1, water=-size, salt=-u(0, 0.3) * size, friction=u(0, 0.15) * size),
                Change(growth, 2, water=-u(0.6, 1.0) * size, salt=-u(0, 0.3) * size),
            )
        case _:
            return ()


def _damage(cause: str, size: float, begins: float, rng: np.random.Generator) -> tuple[Change, ...]:
    """What the membranes themselves, or their seals, have come to."""
    u = rng.uniform
    match cause:
        case "oxidation":
            spell = Spell(begins + 60, begins + 120)
            return (
                Change(spell, 1, water=u(0.3, 0.7) * size, salt=u(1.5, 4) * size, profile="lead"),
                Change(spell, 2, water=u(0.05, 0.25) * size, salt=u(0.4, 1.2) * size),
            )
        case "hydrolysis":
            return (Change(Spell(begins + 80, begins + 81), None, water=u(0.2, 0.5) * size, salt=u(1.2, 3) * size),)
        case "seal-leak":
            return (
                Change(
                    Spell(begins + 80, begins + 81), int(rng.integers(1, 3)), water=u(0, 0.02), salt=u(1.5, 4) * size
                ),
            )
        case "compaction":
            return (Change(Settling(u(15, 40)), None, water=-0.7 * size, salt=-u(0.2, 0.5) * size),)
        case _:
            return ()


def caused_plants(*, rounds: int = 2, seed: int = 11) -> Iterator[Caused]:
    """`rounds` times every cause with every metering."""
    for number, (_, cause, lacking) in enumerate((r, c, m) for r in range(rounds) for c in CAUSES for m in METERING):
        rng = np.random.default_rng((seed, number))
        element = Element(
            water_permeability_lmh_bar=rng.uniform(2.8, 4.8),
            water_slope_k=rng.uniform(2500, 3300),
            salt_slope_k=rng.uniform(2300, 4300),
            friction_exponent=rng.uniform(1.5, 1.75),
            mass_transfer_lmh=rng.uniform(160, 320),
        )
        meters: dict[str, Meter] = {name: m for name, m in WELL_METERED.items() if name not in lacking}
        scenario = Scenario(
            days=DAYS,
            seed=int(rng.integers(1, 10**6)),
            design=Design(
                (Stage(4, 6, element), Stage(2, 6, element)),
                NATURAL_BRACKISH if rng.uniform() < 0.7 else SODIUM_CHLORIDE,
            ),
            operation=Operation(30.0, rng.uniform(0.70, 0.78)),
            temperature_c=Season(rng.uniform(14, 24), rng.uniform(2, 8), int(rng.integers(20, 60)), 0.8),
            conductivity_us_cm=Season(rng.uniform(1200, 4500), rng.uniform(50, 350), int(rng.integers(1, 365)), 60.0),
            ageing=changes_of(cause, rng),
            meters=meters,
            reference=(date(2025, 8, 3), date(2025, 8, 17)),
            train={"name": cause},
        )
        yield Caused(cause, lacking, scenario)
