"""Score both methods against simulated truth: `uv run python -m tests.benchmarks.score_model`."""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from analytics.assess import STANDARD_PREFIX, Assessment, assess
from demo_data.simulator.scenario import simulate
from tests.benchmarks.plants import Known, known_plants, true_at_reference

SMOOTHING_DAYS = 10
SCORED = ("train_permeate_flow", "train_salt_passage", "stage1_pressure_drop", "stage2_pressure_drop")
BARS = dict(zip(SCORED, (0.01, 0.02, 0.015, 0.015), strict=True))


def scores(plants: Iterator[Known] | None = None) -> pd.DataFrame:
    """Root mean square error of each indicator, by plant: columns (method, indicator). [-]"""
    rows = {}
    for known in plants or known_plants():
        result = simulate(known.scenario)
        assessment = assess(result.plant, result.readings, result.events)
        truth = true_at_reference(known, result)
        rows[known.name] = {
            (method, name): rms
            for method in ("standard", "model", "level")
            for name in SCORED
            if (rms := _rms(_days(assessment, method, name), truth[name])) is not None
        }
    return pd.DataFrame.from_dict(rows, orient="index")


def _days(assessment: Assessment, method: str, name: str) -> pd.Series | None:
    daily = assessment.daily
    if method == "level":
        return None if assessment.model is None else assessment.model.level.get(name)
    if method == "standard":
        column = STANDARD_PREFIX + name
        return daily[column] if column in daily else daily.get(name)
    return daily.get(name)


def _rms(found: pd.Series | None, truth: pd.Series) -> float | None:
    if found is None:
        return None
    smooth = found.rolling(SMOOTHING_DAYS, center=True, min_periods=3).mean()
    error = smooth / truth.reindex(smooth.index) - 1
    return float(np.sqrt(np.nanmean(error**2)))


if __name__ == "__main__":
    table = (100 * scores()).round(2)
    print(table.to_string())
    print((table.mean()).round(2).to_string())
