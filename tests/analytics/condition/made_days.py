"""Days of one stage whose water permeability, and what disturbs it, are known."""

import numpy as np
import pandas as pd

from analytics.condition.fit import StageFit
from analytics.condition.parameter_days import ParameterDays

DAYS = 200
NUMBERS = np.arange(DAYS)
INDEX = pd.date_range("2026-01-01", periods=DAYS, freq="D", name="day")
REFERENCE = NUMBERS < 14
INVERSE = -1.0 / (273.15 + 18 + 7 * np.cos(2 * np.pi * NUMBERS / 180))
"""Course of temperature. [1/K]"""


def fit(*, shared: bool = False, scope: str = "stage1") -> StageFit:
    return StageFit(scope, np.ones(1), np.ones(1), np.ones(1), shared, shared, shared)


def days_of(columns: dict[str, np.ndarray]) -> ParameterDays:
    at_reference = {name: float(pd.Series(values[REFERENCE]).mean()) for name, values in columns.items()}
    return ParameterDays(INDEX, columns, at_reference, REFERENCE)


def scatter(size: float, seed: int = 3) -> np.ndarray:
    return size * np.random.default_rng(seed).standard_normal(DAYS)
