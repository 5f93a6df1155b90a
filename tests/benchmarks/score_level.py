"""Today's level by the smoothing spline against that by a robust straight line, on the same days of the same plants.

    uv run python -m tests.benchmarks.score_level 101

At some dates of each plant of a seed, with what was known then: the level of the spline, and the end of the
line of Theil and Sen through its unsmoothed days of the last weeks. Prints root mean square errors in per cent and the
share of dates on which the 90 % interval holds the truth: of the spline as published, of the line for scatter alone.
"""

import sys

import numpy as np
import pandas as pd
from scipy import stats

from analytics.assess import assess
from analytics.condition.membrane_model import ModelDays
from demo_data.simulator.scenario import simulate
from tests.benchmarks.plants import known_plants, true_at_reference
from tests.benchmarks.score_model import INTERVAL, SCORED

DATES = (0.3, 0.55, 0.8, 1.0)
"""Shares of the log that were there already. [-]"""
WINDOW_DAYS = 30
MEDIAN_EFFICIENCY = float(np.sqrt(np.pi / 2))
"""Standard error of a median over that of a mean, of normal values. [-]"""


def scores(seed: int) -> pd.DataFrame:
    """One row by plant, date and indicator: errors of both levels and their standard errors. [-]"""
    rows = []
    for known in known_plants(seed=seed):
        result = simulate(known.scenario)
        truth = true_at_reference(known, result)
        last = len(result.readings) - 1
        for moment in (result.readings.index[int(share * last)] for share in DATES):
            model = assess(result.plant, result.readings, result.events, as_of=moment.to_pydatetime()).model
            names = [name for name in SCORED if model is not None and name in model.level]
            rows += [{"indicator": name} | _errors(model, name, truth[name]) for name in names]
    return pd.DataFrame(rows)


def _errors(model: ModelDays, name: str, truth: pd.Series) -> dict[str, float]:
    level, error = model.level[name].dropna(), model.error[name].dropna()
    today, known = level.index[-1], model.daily[name].dropna()
    line, spread = robust_end(known[known.index > today - pd.Timedelta(days=WINDOW_DAYS)])
    true = float(np.log(truth[today]))
    return {
        "spline": float(np.log(level.iloc[-1])) - true,
        "spline error": float(error.iloc[-1]),
        "line": line - true,
        "line error": spread,
    }


def robust_end(values: pd.Series) -> tuple[float, float]:
    """End of the line of Theil and Sen through the logarithms, and its standard error for scatter alone."""
    y, x = np.log(values.to_numpy()), np.asarray((values.index - values.index[-1]).days, dtype=float)
    slope = float(stats.theilslopes(y, x).slope) if len(y) > 2 else 0.0
    ends = y - slope * x
    scatter = 1.4826 * float(np.median(np.abs(ends - np.median(ends))))
    return float(np.median(ends)), 2 * MEDIAN_EFFICIENCY * scatter / np.sqrt(len(y))


def _print(table: pd.DataFrame) -> None:
    for name, one in table.groupby("indicator"):
        parts = [
            f"{kind} {100 * np.sqrt((one[kind] ** 2).mean()):.2f} %,"
            f" holds {100 * (one[kind].abs() < INTERVAL * one[f'{kind} error']).mean():.0f} %"
            for kind in ("spline", "line")
        ]
        print(f"{name}: {'; '.join(parts)}; {len(one)} dates")


if __name__ == "__main__":
    _print(scores(int(sys.argv[1]) if len(sys.argv) > 1 else 101))
