"""Plants drawn from a wide range for the scores of the advice: sizes, seasons, noise, metering, rhythm of the readings.

They are not those that thresholds were chosen on (`caused`): one to three stages, warm and cold water with small and
large seasons, quiet and noisy gauges, one to eight readings a day with missed ones, holidays and standstills.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from demo_data.simulator.ageing import Change, Cleaning, Doubling, Settling, cleaned, slow_fouling
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Drift, Meter
from demo_data.simulator.operation import Operation, SetPoint
from demo_data.simulator.scenario import WELL_METERED, Happening, Scenario
from demo_data.simulator.seasons import Season
from demo_data.simulator.shifts import Diary, Span
from demo_data.simulator.water import NATURAL_BRACKISH, SODIUM_CHLORIDE, FloatArray
from tests.benchmarks.caused import CAUSES, changes_of

START = date(2024, 2, 10)
RHYTHMS: tuple[tuple[float, ...], ...] = ((7.0,), (6.0, 14.0, 22.0), (8.0, 16.0), tuple(np.arange(0.0, 24.0, 3.0)))
LACKING: tuple[tuple[str, ...], ...] = (
    (),
    (),
    ("feed_flow_m3h",),
    ("stage1_permeate_flow_m3h", "stage1_permeate_conductivity_us_cm", "stage2_permeate_conductivity_us_cm"),
    ("stage1_concentrate_pressure_bar",),
    ("concentrate_conductivity_us_cm", "permeate_pressure_bar"),
)
WARMING_DAYS = 50.0
OFF_C = 3.0
RECALIBRATED = (
    "feed_pressure_bar", "permeate_flow_m3h", "permeate_conductivity_us_cm", "concentrate_flow_m3h",
    "feed_conductivity_us_cm",
)  # fmt: skip


@dataclass(frozen=True)
class Drawn:
    """A plant, what its story is, and the days of its steps since the start (none for most stories)."""

    story: str
    scenario: Scenario
    steps: tuple[float, ...] = ()
    logged: bool = True


@dataclass(frozen=True)
class Story:
    """What happens to a plant."""

    changes: tuple[Change, ...] = ()
    happenings: tuple[Happening, ...] = ()
    steps: tuple[float, ...] = ()
    recalibrated: tuple[str, float, float, float] | None = None
    salinity: tuple[float, float] | None = None
    thermometer: tuple[float, float] | None = None
    warmer: tuple[float, float] | None = None


@dataclass(frozen=True)
class Stepped:
    """A season that goes on at another level from a day on."""

    season: Season
    day: float
    share: float

    def values(self, start: date, days: FloatArray, rng: np.random.Generator) -> FloatArray:
        return self.season.values(start, days, rng) * (1 + self.share * (days >= self.day))


@dataclass(frozen=True)
class Warmed:
    """A season whose water grows warmer, or colder, by some degrees within `WARMING_DAYS` from a day on."""

    season: Season
    day: float
    degrees: float

    def values(self, start: date, days: FloatArray, rng: np.random.Generator) -> FloatArray:
        return self.season.values(start, days, rng) + self.degrees * np.clip((days - self.day) / WARMING_DAYS, 0, 1)


def _healthy(_: np.random.Generator, days: int, stages: int) -> Story:
    return Story()


def _fouling(rng: np.random.Generator, stages: int) -> Change:
    loss = rng.uniform(0.12, 0.30)
    return slow_fouling(
        1 if rng.uniform() < 0.7 else None, flow_loss_per_year=loss, friction_per_year=rng.uniform(0.3, 1.2) * loss
    )


def _cleanings(rng: np.random.Generator, days: int, stages: int, *, logged: bool) -> Story:
    change = _fouling(rng, stages)
    at = tuple(float(round(day)) for day in (rng.uniform(150, 230), rng.uniform(330, days - 40)))
    change = cleaned(change, *(Cleaning(day, rng.uniform(0.6, 0.95)) for day in at))
    kinds = tuple(Happening(day, "cleaning") for day in at) if logged else ()
    return Story((change,), kinds, at)


def _logged_cleanings(rng: np.random.Generator, days: int, stages: int) -> Story:
    return _cleanings(rng, days, stages, logged=True)


def _unlogged_cleanings(rng: np.random.Generator, days: int, stages: int) -> Story:
    return _cleanings(rng, days, stages, logged=False)


def _unlogged_replacement(rng: np.random.Generator, days: int, stages: int) -> Story:
    day = float(round(rng.uniform(250, days - 60)))
    return Story((cleaned(replace(_fouling(rng, stages), stage=1), Cleaning(day, 1.0)),), (), (day,))


def _recalibration(rng: np.random.Generator, days: int, stages: int) -> Story:
    day = float(round(rng.uniform(150, days - 60)))
    size = rng.uniform(0.04, 0.10) * rng.choice([-1.0, 1.0])
    return Story((), (), (day,), (str(rng.choice(RECALIBRATED)), day, size, 0.01))


def _growing(rng: np.random.Generator, days: int, stages: int) -> Story:
    """Steady growth that reaches the cleaning limit well after the beginning."""
    return Story((_fouling(rng, stages),))


def _accelerating(rng: np.random.Generator, days: int, stages: int) -> Story:
    growth = Doubling(rng.uniform(25, 60), 0.03, begins=rng.uniform(30, 150))
    return Story((Change(growth, 1, water=-0.05, friction=rng.uniform(0.1, 0.2), water_power=1.3, profile="lead"),))


def _levelling(rng: np.random.Generator, days: int, stages: int) -> Story:
    return Story((Change(Settling(rng.uniform(60, 150)), None, water=-rng.uniform(0.12, 0.25)),))


def _caused(cause: str) -> Callable[[np.random.Generator, int, int], Story]:
    def story(rng: np.random.Generator, days: int, stages: int) -> Story:
        return Story(changes_of(cause, rng))

    return story


def _meter(rng: np.random.Generator, days: int, stages: int) -> Story:
    """A meter that drifts away slowly."""
    begins = rng.uniform(40, 0.4 * days)
    size = rng.uniform(0.06, 0.12) * rng.choice([-1.0, 1.0])
    return Story((), (), (), (str(rng.choice(RECALIBRATED)), begins, size, rng.uniform(60, 150)))


def _thermometer(rng: np.random.Generator, days: int, stages: int) -> Story:
    """A thermometer that drifts away by about `OFF_C` after the first year."""
    return Story(thermometer=(rng.uniform(370, days - 100), OFF_C * rng.choice([-1.0, 1.0])))


def _warm_year(rng: np.random.Generator, days: int, stages: int) -> Story:
    """Water that truly is so much warmer, or colder, than a year before."""
    return Story(warmer=(rng.uniform(370, days - 100), OFF_C * rng.choice([-1.0, 1.0])))


def _feed_change(rng: np.random.Generator, days: int, stages: int) -> Story:
    """Another source, saltier or fresher, from one day to the next."""
    return Story(salinity=(rng.uniform(100, 0.6 * days), rng.uniform(0.25, 0.6) * rng.choice([-1.0, 1.0])))


STORIES: dict[str, Callable[[np.random.Generator, int, int], Story]] = {
    "healthy": _healthy,
    "logged cleanings": _logged_cleanings,
    "unlogged cleanings": _unlogged_cleanings,
    "unlogged replacement": _unlogged_replacement,
    "recalibration": _recalibration,
    "growing": _growing,
    "accelerating": _accelerating,
    "levelling": _levelling,
    "meter": _meter,
    "feed-change": _feed_change,
    "thermometer": _thermometer,
    "warm year": _warm_year,
} | {cause: _caused(cause) for cause in sorted(set(CAUSES))}


def draw_plant(story: str, rng: np.random.Generator, *, days: int = 540) -> Drawn:
    """One plant with a story."""
    count = int(rng.choice([1, 2, 2, 2, 3]))
    told = STORIES[story](rng, days, count)
    if any(change.stage not in (None, 1) for change in told.changes):
        count = 2
    element = Element(
        water_permeability_lmh_bar=rng.uniform(2.2, 6.0),
        salt_permeability_lmh=rng.uniform(0.1, 0.4),
        water_slope_k=rng.uniform(2400, 3400),
        salt_slope_k=rng.uniform(2300, 4500),
        friction_bar=rng.uniform(0.17, 0.3),
        friction_exponent=rng.uniform(1.45, 1.8),
        mass_transfer_lmh=rng.uniform(150, 330),
    )
    lead = int(rng.integers(2, 25))
    vessels = [max(1, round(lead * 0.5**n)) for n in range(count)]
    design = Design(
        tuple(Stage(v, 6, element) for v in vessels), NATURAL_BRACKISH if rng.uniform() < 0.6 else SODIUM_CHLORIDE
    )
    flow = rng.uniform(18, 27) * design.area_m2 / 1000
    recovery = {1: rng.uniform(0.45, 0.6), 2: rng.uniform(0.68, 0.8), 3: rng.uniform(0.75, 0.85)}[count]
    changes = ()
    if rng.uniform() < 0.5:
        changes = (SetPoint(rng.uniform(60, days), flow * rng.uniform(0.88, 1.0), recovery - rng.uniform(0, 0.05)),)
    temperature = Season(rng.uniform(11, 29), rng.uniform(0.5, 9), int(rng.integers(1, 365)), rng.uniform(0.3, 1.5))
    salinity = Season(rng.uniform(900, 7000), rng.uniform(20, 600), int(rng.integers(1, 365)), 80.0)
    scenario = Scenario(
        days=days,
        start=START + timedelta(days=int(rng.integers(0, 365))),
        seed=int(rng.integers(1, 10**6)),
        design=design,
        site={"name": "Somewhere", "timezone": str(rng.choice(["America/Denver", "Asia/Kolkata", "UTC"]))},
        operation=Operation(flow, recovery, rng.uniform(0.1, 1.2), changes, rng.uniform(0.005, 0.03), 0.008),
        temperature_c=temperature if told.warmer is None else Warmed(temperature, *told.warmer),
        conductivity_us_cm=salinity if told.salinity is None else Stepped(salinity, *told.salinity),
        ageing=told.changes,
        happenings=told.happenings,
        meters=_with_thermometer(_gauges(rng, count, told, days), told, temperature.mean),
        diary=_diary(rng, days),
        typing_mistakes=0.0005,
        states=bool(rng.uniform() < 0.7),
        train={"name": story},
    )
    offset = int(rng.integers(3, 8))
    span = (scenario.start + timedelta(days=offset), scenario.start + timedelta(days=offset + 14))
    return Drawn(story, replace(scenario, reference=span), told.steps, bool(told.happenings))


def _gauges(rng: np.random.Generator, stages: int, story: Story, days: int) -> dict[str, Meter]:
    louder = rng.uniform(0.5, 2.0)
    lacking = LACKING[int(rng.integers(len(LACKING)))]
    meters = {n: m for n, m in WELL_METERED.items() if n not in lacking and _stage_of(n) <= stages}
    for number in range(2, stages):
        meters[f"stage{number}_concentrate_pressure_bar"] = WELL_METERED["concentrate_pressure_bar"]
        if "stage1_permeate_flow_m3h" in meters:
            meters[f"stage{number}_permeate_flow_m3h"] = WELL_METERED["stage1_permeate_flow_m3h"]
    if stages == 1:
        meters = {n: m for n, m in meters.items() if not n.startswith("stage")}
    meters = {
        n: replace(m, noise=m.noise * louder, noise_share=m.noise_share * louder, offset_share=rng.normal(0, 0.008))
        for n, m in meters.items()
    }
    if story.recalibrated:
        name, day, size, over = story.recalibrated
        meters[name] = replace(WELL_METERED[name], drift=Drift(day, day + over, size))
    return meters


def _with_thermometer(meters: dict[str, Meter], story: Story, mean_c: float) -> dict[str, Meter]:
    if story.thermometer is None:
        return meters
    (day, degrees), name = story.thermometer, "feed_temperature_c"
    return meters | {name: replace(meters[name], drift=Drift(day, day + WARMING_DAYS, degrees / mean_c))}


def _stage_of(name: str) -> int:
    return int(name[5]) if name.startswith("stage") else 1


def _diary(rng: np.random.Generator, days: int) -> Diary:
    pause = rng.uniform(40, days - 40)
    stop = rng.uniform(40, days - 40)
    return Diary(
        hours=RHYTHMS[int(rng.integers(len(RHYTHMS)))],
        lateness_minutes=20.0,
        missed=rng.uniform(0, 0.25),
        holidays=(Span(pause, pause + rng.uniform(3, 16)),) if rng.uniform() < 0.5 else (),
        standstills=(Span(stop, stop + rng.uniform(1, 6)),) if rng.uniform() < 0.5 else (),
        short_stops=0.01,
    )


def drawn_plants(stories: tuple[str, ...], *, each: int, seed: int, days: int = 540) -> Iterator[Drawn]:
    """`each` plants of every story; another seed, other plants."""
    for number, (story, one) in enumerate((s, n) for s in stories for n in range(each)):
        yield draw_plant(story, np.random.default_rng((seed, number, one)), days=days)
