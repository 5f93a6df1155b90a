"""What the true membranes of a simulated train would do at the conditions of its first fortnight, by the simulator.

Feed pressure, concentrate flow, temperature and salinity are held at their medians; flow and salt passage are those of
the membranes today over those of the membranes then. Each stage is run by itself with what enters it then. The pressure
drop is the friction of its channel.
"""

from dataclasses import replace

import numpy as np
import pandas as pd

from demo_data.simulator.ageing import ages
from demo_data.simulator.design import Design
from demo_data.simulator.scenario import Scenario, Simulated
from demo_data.simulator.train import Age, Inlet, run_at_pressure

REFERENCE_DAYS = 14


def truth_at(scenario: Scenario, log: Simulated, day: float) -> dict[str, float]:
    """`<scope>_<indicator>` on a day since the start, over the first fortnight. [-]"""
    then, today = np.array([REFERENCE_DAYS / 2]), np.array([day])
    design = scenario.design
    before, after = ages(design, scenario.ageing, then), ages(design, scenario.ageing, today)
    at = log.exact.iloc[: 3 * REFERENCE_DAYS].median(numeric_only=True)
    inlet = Inlet(
        np.array([at["feed_flow_m3h"]]),
        np.asarray(design.salt.tds_mg_l(np.array([at["feed_conductivity_us_cm"]]))),
        np.array([at["feed_temperature_c"]]),
        np.array([at["permeate_pressure_bar"]]),
    )
    pressure = np.array([at["feed_pressure_bar"]])
    reference = run_at_pressure(design, before, inlet, pressure)
    result = _changes("train", design, before, after, inlet, pressure)
    for number, (stage, run) in enumerate(zip(design.stages, reference.stages, strict=True), start=1):
        alone = Design((replace(stage, booster_bar=0.0),), design.salt)
        entering = replace(inlet, feed_flow_m3h=run.feed_flow_m3h, feed_tds_mg_l=run.feed_tds_mg_l)
        one = slice(number - 1, number)
        result |= _changes(f"stage{number}", alone, before[one], after[one], entering, run.feed_pressure_bar)
        drop = log.truth[f"stage{number}_pressure_drop"]
        nearest = int(np.argmin(np.abs((log.truth.index - log.truth.index[0]) / pd.Timedelta(days=1) - day)))
        result[f"stage{number}_pressure_drop"] = float(drop.iloc[nearest])
    return result


def _changes(
    scope: str, design: Design, before: tuple[Age, ...], after: tuple[Age, ...], inlet: Inlet, pressure: np.ndarray
) -> dict[str, float]:
    reference = run_at_pressure(design, before, inlet, pressure)
    kept = inlet.feed_flow_m3h - reference.permeate_flow_m3h
    feed = inlet.feed_flow_m3h
    for _ in range(40):  # the concentrate valve is held: what the permeate loses, the feed loses
        run = run_at_pressure(design, after, replace(inlet, feed_flow_m3h=feed), pressure)
        feed = feed - 0.8 * (feed - run.permeate_flow_m3h - kept)
    return {
        f"{scope}_permeate_flow": float((run.permeate_flow_m3h / reference.permeate_flow_m3h)[0]),
        f"{scope}_salt_passage": float((run.permeate_tds_mg_l / reference.permeate_tds_mg_l)[0]),
    }
