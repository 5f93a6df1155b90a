"""What the standard method makes of membranes that are known: trains computed element by element, outside this code.

The train: 10 vessels of 7 elements feed 5 of 7, 37.16 m2 each, A = 3.28 L/m2/h/bar, B = 0.186 L/m2/h, 100 m3/h of
2000 mg/L at 25 degC, 75 % recovery, 0.5 bar of back pressure. The expected figures were computed for us by a script of
its own, not by a publisher; they are the errors that the method has even with perfect meters, since it knows neither
polarization nor how flux falls along a vessel. The few lines of physics here share nothing with `analytics`: they
polarize by exp(0.7 Y), lose 0.01 q^1.7 psi an element (q in US gallons a minute), and search by halving.
"""

import math
from dataclasses import dataclass, replace

import pandas as pd
import pytest

from analytics.condition.balance import complete_streams
from analytics.condition.forces import driving_forces
from analytics.condition.standard import normalize, ratios, reference_conditions
from analytics.plant import Membrane, Plant, Site, Stage, Train

ELEMENT_M2, BAR_PER_PSI, M3H_PER_GPM = 37.16, 0.0689476, 0.2271247
ARRAY = ((10, 7), (5, 7))
PLANT = Plant(Site("Somewhere"), Train("RO 1", tuple(Stage(n, k, Membrane(ELEMENT_M2)) for n, k in ARRAY)))


@dataclass(frozen=True)
class Run:
    """What the train is asked for, and its membranes. [degC, mg/L, -, bar, L/m2/h/bar, L/m2/h]"""

    temperature: float = 25.0
    feed_tds: float = 2000.0
    recovery: float = 0.75
    back_pressure: float = 0.5
    a: float = 3.28
    b: float = 0.186


@dataclass(frozen=True)
class Out:
    """Of one vessel or stage: permeate, its salt, and the concentrate. [m3/h, mg/L, mg/L, bar]"""

    permeate: float
    permeate_tds: float
    tds: float
    pressure: float


def _osmotic(tds: float, temperature: float) -> float:
    return tds * (temperature + 320) / 491_000


def _element(run: Run, flow: float, tds: float, pressure: float) -> Out:
    warmth = math.exp((2640 if run.temperature >= 25 else 3020) * (1 / 298 - 1 / (273 + run.temperature)))
    low, high = 0.0, 0.99 * flow
    for _ in range(50):
        made = (low + high) / 2
        flux = 1000 * made / ELEMENT_M2
        passed = run.b * warmth / (flux + run.b * warmth)  # of the concentration at the wall
        wall = math.exp(0.7 * made / flow) / 2
        permeate_tds = passed * wall * tds * (2 * flow - made) / (flow - made + passed * wall * made)
        concentrate = (flow * tds - made * permeate_tds) / (flow - made)
        drop = 0.01 * ((flow - made / 2) / M3H_PER_GPM) ** 1.7 * BAR_PER_PSI
        osmotic = _osmotic(wall * (tds + concentrate), run.temperature) - _osmotic(permeate_tds, run.temperature)
        driving = pressure - drop / 2 - run.back_pressure - osmotic
        low, high = (made, high) if run.a * warmth * driving > flux else (low, made)
    return Out(made, permeate_tds, concentrate, pressure - drop)


def _stages(run: Run, pressure: float) -> list[Out]:
    flow, tds, found = 100.0, run.feed_tds, []
    for vessels, elements in ARRAY:
        channel, made, salt = flow / vessels, 0.0, 0.0
        for _ in range(elements):
            one = _element(run, channel, tds, pressure)
            channel, tds, pressure = channel - one.permeate, one.tds, one.pressure
            made, salt = made + one.permeate, salt + one.permeate * one.permeate_tds
        found.append(Out(made * vessels, salt / made, tds, pressure))
        flow = channel * vessels
    return found


def reading(run: Run) -> dict[str, float]:
    """What perfect meters show at the feed pressure that makes the permeate; salt in mg/L, so without a law between."""
    low, high = 2.0, 40.0
    for _ in range(30):
        pressure = (low + high) / 2
        first, second = _stages(run, pressure)
        enough = first.permeate + second.permeate > 100 * run.recovery
        low, high = (low, pressure) if enough else (pressure, high)
    permeate = first.permeate + second.permeate
    return {
        "feed_temperature_c": run.temperature, "feed_flow_m3h": 100.0, "permeate_flow_m3h": permeate,
        "stage1_permeate_flow_m3h": first.permeate, "feed_pressure_bar": pressure,
        "stage1_concentrate_pressure_bar": first.pressure, "concentrate_pressure_bar": second.pressure,
        "permeate_pressure_bar": run.back_pressure, "feed_tds_mg_l": run.feed_tds,
        "permeate_tds_mg_l": (first.permeate * first.permeate_tds + second.permeate * second.permeate_tds) / permeate,
        "stage1_permeate_tds_mg_l": first.permeate_tds, "stage2_permeate_tds_mg_l": second.permeate_tds,
    }  # fmt: skip


def test_the_train_itself_is_the_one_that_was_computed() -> None:
    """10.972 bar, 8.015 bar and 43.605 mg/L at 25 degC; 13.321, 10.147 and 29.537 at 15 degC."""
    for run, into, out, salt in ((Run(), 10.972, 8.015, 43.605), (Run(temperature=15.0), 13.321, 10.147, 29.537)):
        shown = reading(run)
        assert shown["feed_pressure_bar"] == pytest.approx(into, abs=0.0006)
        assert shown["concentrate_pressure_bar"] == pytest.approx(out, abs=0.0006)
        assert shown["permeate_tds_mg_l"] == pytest.approx(salt, abs=0.0006)


@pytest.mark.parametrize(
    ("now", "train", "stages", "passage"),
    [
        (Run(temperature=15.0), 1.046, (1.024, 1.047), 0.963),
        (Run(temperature=18.0, feed_tds=2600.0), 1.004, (1.007, 1.008), 0.993),
        (Run(recovery=0.70), 1.035, (1.003, 1.021), 0.969),
        (Run(temperature=30.0, feed_tds=1500.0, back_pressure=1.0), 1.014, (1.001, 1.009), 0.994),
        (replace(Run(temperature=15.0), a=0.85 * 3.28), 0.901, (0.877, 0.902), 0.949),
        (replace(Run(), b=1.3 * 0.186), 1.003, None, 1.290),
    ],
    ids=["colder", "saltier", "less recovery", "warmer, more back pressure", "15 % of A lost", "B up by 30 %"],
)
def test_the_error_of_the_method_is_the_known_one(
    now: Run, train: float, stages: tuple[float, float] | None, passage: float
) -> None:
    frame = pd.DataFrame([reading(Run()), reading(now)])
    found = {}
    first = frame.index.to_numpy() == 0
    for forces in driving_forces(complete_streams(frame, PLANT), PLANT):
        indicators = ratios(normalize(forces, reference_conditions(forces, first)), first)
        found |= {f"{forces.scope}_{name}": values[1] for name, values in indicators.items()}
    assert found["train_permeate_flow"] == pytest.approx(train, abs=0.001)
    assert found["train_salt_passage"] == pytest.approx(passage, abs=0.001)
    if stages is not None:
        assert [found[f"stage{n}_permeate_flow"] for n in (1, 2)] == pytest.approx(stages, abs=0.001)
