"""The log of the steady train in which a single reading shows other values."""

from typing import Any

import numpy as np

from analytics.condition.normalized import NormalizedLog, normalize_log
from analytics.plant import Plant
from tests.analytics.condition.steady_train import living, plant

PLANT = plant()
AT = 60
"""A reading well inside the log, whose neighbours are as they should be."""


def log_with(of: Plant = PLANT, at: int = AT, **changed: Any) -> NormalizedLog:
    """A living log in which one reading shows other values."""
    frame = living()
    for name, value in changed.items():
        if name not in frame.columns:
            frame[name] = "" if isinstance(value, str) else np.nan
        frame.loc[frame.index[at], name] = value
    return normalize_log(of, frame)


def reason_of(log: NormalizedLog, at: int = AT) -> str:
    return str(log.reason.iloc[at])
