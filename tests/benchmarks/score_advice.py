"""All figures of the advice on plants drawn from a wide range.

`uv run python -m tests.benchmarks.score_advice [EACH] [SEED] [PROCESSES]`: EACH plants of every cause and story, 18 by
default, which makes 216 for the confusion matrix. 2 make 24, and take two minutes of one core in all, 18 about a
quarter of an hour. No more PROCESSES run than there are cores; two when not given.
"""

import os
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from datetime import timedelta

import numpy as np
import pandas as pd

import analytics
from analytics.assess import assess
from analytics.assessment import Assessment
from demo_data.simulator.scenario import simulate
from tests.benchmarks import score_forecast
from tests.benchmarks.drawn import Drawn, drawn_plants
from tests.benchmarks.plants import true_at_reference

CAUSES = (
    "none", "metal-oxide", "colloidal", "scaling", "biofouling", "organic", "oxidation", "hydrolysis", "seal-leak",
    "compaction", "feed-change", "meter",
)  # fmt: skip
STEPPED = ("unlogged cleanings", "unlogged replacement", "recalibration", "healthy", "growing")
THERMOMETERS = ("thermometer", "warm year")
ALARMS = ("plan cleaning", "act now")
TRUE_DANGERS = ("above what its elements may carry", "Pump suction pressure")
"""Some drawn plants push more water through a stage than it may carry: such an alarm is true."""
DAYS = 330
HEALTHY = 40 / 18
"""Healthy plants that are asked again and again, for each plant of a cause."""
NEAR_DAYS = 7
LEAD_EVERY_DAYS, LATE_DAYS = 14, 30
"""A growing plant is asked so often, and so long beyond its limit: a call after that is none."""
EVERY_DAYS = 45
"""A healthy plant is asked so often; alarms of the same plant that follow each other count once."""


def _answer(plant: Drawn) -> Assessment:
    result = simulate(plant.scenario)
    return assess(result.plant, result.readings, result.events)


def named_causes(plant: Drawn) -> tuple[str, list[str], str]:
    """The truth, the causes as ranked, and the level."""
    answer = _answer(plant)
    return plant.story, list(dict.fromkeys(cause.cause for cause in answer.causes)), answer.verdict.level


def found_steps(plant: Drawn) -> tuple[str, int, int, int]:
    """The story, steps there were, found within a week, and found where none was."""
    days = [(one.step.day.date() - plant.scenario.start).days for one in _answer(plant).steps]
    true = [] if plant.logged else list(plant.steps)
    hit = sum(any(abs(day - one) <= NEAR_DAYS for day in days) for one in true)
    false = sum(not any(abs(day - one) <= NEAR_DAYS for one in plant.steps) for day in days)
    return plant.story, len(true), hit, false


def false_alarms(plant: Drawn) -> tuple[int, float]:
    """Alarms on a healthy plant, and the years that it was asked in."""
    result = simulate(plant.scenario)
    alarms, before = 0, False
    begins, last = result.readings.index[0] + timedelta(days=60), result.readings.index[-1]
    for as_of in pd.date_range(begins, last, freq=f"{EVERY_DAYS}D"):
        answer = assess(result.plant, result.readings, result.events, as_of.to_pydatetime())
        danger = any(words in answer.verdict.headline for words in TRUE_DANGERS)
        alarm = answer.verdict.level in ALARMS and not danger
        alarms += alarm and not before
        before = alarm
    return alarms, (last - begins).days / 365.25


def lead_days(plant: Drawn) -> tuple[str, float, float]:
    """Days from the first call to clean, and from the first warning, to the day on which the truth is at its limit.

    NaN where the truth stays within its limits; negative where the call came after it, and without end where none came.
    """
    result = simulate(plant.scenario)
    truth, limits = true_at_reference(plant, result), result.plant.train.limits
    over = (truth.filter(like="permeate_flow") <= limits.permeate_flow_clean).any(axis=1)
    over |= (truth.filter(like="pressure_drop") >= limits.pressure_drop_clean).any(axis=1)
    if not over.any():
        return plant.story, np.nan, np.nan
    reached, found = truth.index[int(np.argmax(over))].tz_localize("UTC"), {}
    last = min(result.readings.index[-1], reached + timedelta(days=LATE_DAYS))
    for as_of in pd.date_range(result.readings.index[0] + timedelta(days=45), last, freq=f"{LEAD_EVERY_DAYS}D"):
        level = assess(result.plant, result.readings, result.events, as_of.to_pydatetime()).verdict.level
        for kind, levels in (("call", ALARMS), ("warning", (*ALARMS, "watch"))):
            if level in levels:
                found.setdefault(kind, (reached - as_of).days)
        if "call" in found:
            break
    return plant.story, found.get("call", -np.inf), found.get("warning", -np.inf)


def accused_thermometer(plant: Drawn) -> tuple[str, bool]:
    """Whether the thermometer is among the meters to check."""
    return plant.story, any(one.quantity == "feed_temperature" for one in _answer(plant).meters)


def print_causes(each: int, seed: int, pool: ProcessPoolExecutor) -> None:
    rows = list(pool.map(named_causes, drawn_plants(CAUSES, each=each, seed=seed, days=DAYS), chunksize=2))
    table = pd.DataFrame(
        {
            "truth": [truth for truth, _, _ in rows],
            "answer": [named[0] if named else "" for _, named, _ in rows],
            "first": [truth in named[:1] for truth, named, _ in rows],
            "first two": [truth in named[:2] for truth, named, _ in rows],
            "level": [level for _, _, level in rows],
        }
    )
    print(f"\nCauses: {len(table)} plants")
    print(pd.crosstab(table["truth"], table["answer"]).to_string())
    print(table.groupby("truth")[["first", "first two"]].mean().round(2).to_string())
    print(table[["first", "first two"]].mean().round(3).to_string())
    healthy = table[table["truth"] == "none"]
    print(f"`none` on healthy plants: {int(healthy['first'].sum())} of {len(healthy)}")
    print(pd.crosstab(table["truth"], table["level"]).to_string())


def print_steps(each: int, seed: int, pool: ProcessPoolExecutor) -> None:
    rows = list(pool.map(found_steps, drawn_plants(STEPPED, each=each, seed=seed), chunksize=2))
    table = pd.DataFrame(rows, columns=["story", "steps", "found", "false"])
    print(f"\nSteps, found within {NEAR_DAYS} days")
    print(table.groupby("story").sum().assign(plants=table.groupby("story").size()).to_string())


def print_alarms(each: int, seed: int, pool: ProcessPoolExecutor) -> None:
    rows = list(pool.map(false_alarms, drawn_plants(("healthy",), each=each, seed=seed)))
    alarms, years = sum(row[0] for row in rows), sum(row[1] for row in rows)
    print(f"\nFalse alarms: {alarms} in {years:.0f} healthy plant-years, {10 * alarms / years:.2f} in ten")


def print_lead(each: int, seed: int, pool: ProcessPoolExecutor) -> None:
    rows = list(pool.map(lead_days, drawn_plants(("growing", "accelerating"), each=each, seed=seed)))
    table = pd.DataFrame(rows, columns=["story", "call", "warning"]).dropna()
    before = table.select_dtypes("number").gt(0).mean()
    print(f"\nDays from call and warning to the limit: {len(table)} plants that reach one")
    print(f"before it: {before['call']:.0%} called, {before['warning']:.0%} warned")
    print(table.groupby("story").quantile([0.25, 0.5, 0.75]).round(0).to_string())


def print_thermometers(each: int, seed: int, pool: ProcessPoolExecutor) -> None:
    rows = list(pool.map(accused_thermometer, drawn_plants(THERMOMETERS, each=each, seed=seed)))
    print("\nThermometers off by 3 degC, and water that is so much warmer or colder")
    for story in THERMOMETERS:
        accused = [yes for told, yes in rows if told == story]
        print(f"{story}: thermometer accused on {sum(accused)} of {len(accused)} plants")


def main(arguments: Sequence[str]) -> None:
    each = int(arguments[0]) if arguments else 18
    seed = int(arguments[1]) if len(arguments) > 1 else 101
    processes = min(int(arguments[2]) if len(arguments) > 2 else 2, os.cpu_count() or 1)
    print(f"analytics {analytics.__version__}, {each} plants of each, seeds {seed} to {seed + 5}", flush=True)
    with ProcessPoolExecutor(processes) as pool:
        print_causes(each, seed, pool)
        print_alarms(round(HEALTHY * each), seed + 2, pool)
        print_steps(each, seed + 1, pool)
        print_lead(each, seed + 4, pool)
        print_thermometers(max(each // 2, 2), seed + 5, pool)
        print("\nForecasts", flush=True)
        score_forecast.main(each=max(each // 2, 2), seed=seed + 3, pool=pool)


if __name__ == "__main__":
    main(sys.argv[1:])
