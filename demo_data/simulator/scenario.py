"""One call from a story to its readings and its truth: `simulate(Scenario(...))`.

Examples
--------
A two-stage train whose second stage loses a tenth of its water permeability in a year, without meter noise
(after 30 days 8 per mille; less of the flow against the mean of the first 14 days):

>>> from demo_data.simulator.ageing import scaling
>>> story = Scenario(days=30, ageing=(scaling(2, flow_loss=0.10, over_days=365.0),), noise=False)
>>> result = simulate(story)
>>> len(result.readings), round(float(result.truth["stage2_permeate_flow"].iloc[-1]), 3)
(90, 0.994)
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, Final

import numpy as np
import pandas as pd

from analytics.events import Event
from analytics.plant import Plant
from analytics.plant_file import plant_from_dict
from analytics.quantities import COLUMNS
from analytics.units import to_canonical
from demo_data.simulator.ageing import Change, ages
from demo_data.simulator.design import Design, Stage
from demo_data.simulator.exact import exact_quantities, unsteady
from demo_data.simulator.meters import Meter, shown
from demo_data.simulator.mistakes import Mistake, type_wrong
from demo_data.simulator.operation import Operation, wanted
from demo_data.simulator.seasons import Season
from demo_data.simulator.shifts import Diary, Span, taken_readings
from demo_data.simulator.train import Inlet, run_at_permeate_flow
from demo_data.simulator.truth import truth_frame
from demo_data.simulator.water import FloatArray

Extra = Callable[[FloatArray, np.random.Generator], FloatArray]
"""A further quantity that the train does not make itself, from the days since the start: (days, rng) -> canonical."""

PRESSURE: Final = Meter("bar", 0.1, noise=0.03)
FLOW: Final = Meter("m3/h", 0.1, noise_share=0.006)
CONDUCTIVITY: Final = Meter("uS/cm", 1.0, noise_share=0.008)
TEMPERATURE: Final = Meter("degC", 0.1, noise=0.1)

TEMPERATE: Final = Season(16.0, swing=6.0, lowest_day_of_year=35, wander=0.6)
BRACKISH: Final = Season(1800.0, swing=150.0, lowest_day_of_year=100, wander=40.0)

WELL_METERED: Final[Mapping[str, Meter]] = {
    "feed_temperature_c": TEMPERATURE,
    "feed_pressure_bar": PRESSURE,
    "stage1_concentrate_pressure_bar": PRESSURE,
    "concentrate_pressure_bar": PRESSURE,
    "permeate_pressure_bar": PRESSURE,
    "feed_flow_m3h": FLOW,
    "permeate_flow_m3h": FLOW,
    "concentrate_flow_m3h": FLOW,
    "stage1_permeate_flow_m3h": FLOW,
    "feed_conductivity_us_cm": CONDUCTIVITY,
    "permeate_conductivity_us_cm": Meter("uS/cm", 0.1, noise_share=0.008),
    "concentrate_conductivity_us_cm": CONDUCTIVITY,
    "stage1_permeate_conductivity_us_cm": Meter("uS/cm", 0.1, noise_share=0.008),
    "stage2_permeate_conductivity_us_cm": Meter("uS/cm", 0.1, noise_share=0.008),
}
"""Meters of a two-stage train that has them all."""


@dataclass(frozen=True)
class Happening:
    """Something for the events file, by days since the local start."""

    day: float
    kind: str
    detail: str = ""
    stage: int | None = None


@dataclass(frozen=True)
class Scenario:
    """A train and its story; the defaults make a healthy, well-metered two-stage train on a year of seasons.

    site, train : keys of the tables [site] and [train] of a plant file, as far as the design does not give them.
    membrane : keys of the table [membrane.bw8]; the data sheet, not the truth.
    reference : first and last local day against which the truth's ratios are taken; the first 14 days if not given.
    noise : gauge noise, rounding, frozen gauges and typing mistakes; drift of a meter is part of the story and stays.
    meters, recorded : gauges by column, read and typed by people, or written down by a recorder, which makes no slips.
    typing_mistakes : share of values typed wrong. [-]
    states, remarks : whether the log has these columns.
    """

    days: int = 365
    start: date = date(2025, 8, 1)
    seed: int = 1
    noise: bool = True
    site: Mapping[str, Any] = field(default_factory=lambda: {"name": "Somewhere", "timezone": "Europe/Vienna"})
    train: Mapping[str, Any] = field(default_factory=lambda: {"name": "RO 1"})
    membrane: Mapping[str, Any] = field(default_factory=lambda: {"area_m2": 37.0})
    design: Design = field(default_factory=lambda: Design((Stage(4, 6), Stage(2, 6))))
    operation: Operation = field(default_factory=lambda: Operation(30.0, 0.75))
    temperature_c: Season = TEMPERATE
    conductivity_us_cm: Season = BRACKISH
    ageing: tuple[Change, ...] = ()
    meters: Mapping[str, Meter] = field(default_factory=lambda: WELL_METERED)
    recorded: Mapping[str, Meter] = field(default_factory=dict)
    extras: Mapping[str, Extra] = field(default_factory=dict)
    diary: Diary = field(default_factory=Diary)
    happenings: tuple[Happening, ...] = ()
    reference: tuple[date, date] | None = None
    typing_mistakes: float = 0.0
    states: bool = True
    remarks: bool = False

    @property
    def gauges(self) -> dict[str, Meter]:
        """Everything in the log, in its order."""
        return {**self.meters, **self.recorded}

    @property
    def timezone(self) -> str:
        return str(self.site.get("timezone", "UTC"))

    def moment(self, day: float) -> pd.Timestamp:
        """Instant (UTC) of a number of days since the local start."""
        local = pd.Timestamp(self.start).as_unit("us") + pd.Timedelta(minutes=round(day * 24 * 60))
        return local.tz_localize(self.timezone, ambiguous=True, nonexistent="shift_forward").tz_convert("UTC")


@dataclass(frozen=True)
class Simulated:
    """What `simulate` returns.

    readings : canonical columns of the log by `taken_at` (UTC), as `analytics` takes them.
    typed : the same in the unit of each gauge, as somebody wrote it down.
    exact : every quantity of the same readings without any error of measurement.
    truth : see `truth_frame`; one row per reading.
    """

    readings: pd.DataFrame
    typed: pd.DataFrame
    exact: pd.DataFrame
    truth: pd.DataFrame
    events: tuple[Event, ...]
    plant: Plant
    mistakes: tuple[Mistake, ...]


def simulate(scenario: Scenario) -> Simulated:
    """Run a scenario; the same seed gives the same readings.

    Raises
    ------
    NoSolution
        When a wanted permeate flow cannot be made.
    """
    shifts, waters, asked, starts, gauges, extras, pens = np.random.default_rng(scenario.seed).spawn(7)
    taken = taken_readings(scenario.diary, scenario.start, scenario.days, scenario.timezone, shifts)
    days, state = taken["day"].to_numpy(), taken["state"].to_numpy()
    want = wanted(scenario.operation, scenario.start, days, dict(scenario.meters), asked)
    inlet = Inlet(
        want.feed_flow_m3h,
        scenario.design.salt.tds_mg_l(scenario.conductivity_us_cm.values(scenario.start, days, waters)),
        scenario.temperature_c.values(scenario.start, days, waters),
        want.permeate_pressure_bar,
    )
    membranes = ages(scenario.design, scenario.ageing, days)
    run = run_at_permeate_flow(scenario.design, membranes, inlet, want.permeate_flow_m3h)
    index = pd.DatetimeIndex(taken.index)
    exact = unsteady(exact_quantities(scenario.design, inlet, run, index), state, starts)
    for (name, extra), rng in zip(scenario.extras.items(), extras.spawn(len(scenario.extras)), strict=True):
        exact[name] = extra(days, rng)
    typed = _shown_frame(scenario, exact, days, gauges)
    mistakes = type_wrong(typed, scenario.meters, scenario.typing_mistakes if scenario.noise else 0.0, pens)
    for mistake in mistakes:
        typed.loc[mistake.taken_at, mistake.column] = mistake.typed
    typed = _with_words(scenario, typed, state)
    return Simulated(
        readings=_canonical_frame(typed, scenario.gauges),
        typed=typed,
        exact=exact,
        truth=truth_frame(scenario.design, membranes, run, _in_reference(scenario, days), index),
        events=_events(scenario),
        plant=plant_from_dict(plant_table(scenario)),
        mistakes=mistakes,
    )


def plant_table(scenario: Scenario) -> dict[str, Any]:
    """The plant file of a scenario as a dictionary: what its owner knows, not the truth."""
    stages = []
    for stage in scenario.design.stages:
        table: dict[str, Any] = {"vessels": stage.vessels, "elements_per_vessel": stage.elements_per_vessel}
        table["membrane"] = "bw8"
        if stage.booster_bar:
            table["booster"] = True
        stages.append(table)
    train = dict(scenario.train)
    if scenario.reference:
        first, last = scenario.reference
        train["reference"] = {"start": first.isoformat(), "end": last.isoformat()}
    return {
        "site": dict(scenario.site),
        "train": train | {"stage": stages},
        "membrane": {"bw8": dict(scenario.membrane)},
    }


def span_of(scenario_start: date, first: date, last: date) -> Span:
    """Span of whole local days, both included."""
    return Span((first - scenario_start) / timedelta(days=1), (last - scenario_start) / timedelta(days=1) + 1)


def _events(scenario: Scenario) -> tuple[Event, ...]:
    return tuple(
        Event(scenario.moment(one.day).to_pydatetime(), one.kind, one.stage, one.detail)
        for one in sorted(scenario.happenings, key=lambda one: one.day)
    )


def _shown_frame(scenario: Scenario, exact: pd.DataFrame, days: FloatArray, rng: np.random.Generator) -> pd.DataFrame:
    """Every metered quantity in the unit of its gauge."""
    columns = {}
    for (column, meter), own in zip(scenario.gauges.items(), rng.spawn(len(scenario.gauges)), strict=True):
        values = exact[column].to_numpy()
        columns[column] = shown(meter, COLUMNS[column].unit, values, days, noise=scenario.noise, rng=own)
    return pd.DataFrame(columns, index=exact.index)


def _canonical_frame(typed: pd.DataFrame, meters: Mapping[str, Meter]) -> pd.DataFrame:
    result = typed.copy()
    for column, meter in meters.items():
        result[column] = to_canonical(typed[column].to_numpy(), meter.unit, COLUMNS[column].unit)
    return result


def _with_words(scenario: Scenario, typed: pd.DataFrame, state: FloatArray) -> pd.DataFrame:
    result = typed.copy()
    if scenario.states:
        result["state"] = pd.Series(state, index=typed.index, dtype="str")
    if scenario.remarks:
        words = {"starting": "just started", "stopped": "plant standing", "running": ""}
        result["remark"] = pd.Series([words[one] for one in state], index=typed.index, dtype="str")
    return result


def _in_reference(scenario: Scenario, days: FloatArray) -> np.ndarray:
    if scenario.reference is None:
        return days < 14
    return span_of(scenario.start, *scenario.reference).holds(days)
