"""Numbers, days and instants as a document holds them: NaN is null."""

import math
from datetime import UTC, date, datetime

import numpy as np
import pandas as pd


def number(value: float | None) -> float | None:
    """To five decimals."""
    return None if value is None or not math.isfinite(value) else round(float(value), 5)


def exact(value: float) -> float | None:
    """To eight digits: what something is worked out from again."""
    return float(f"{value:.8g}") if math.isfinite(value) else None


def numbers(series: pd.Series) -> list[float | None]:
    """A column, to five decimals."""
    values = series.to_numpy(dtype=np.float64)
    rounded = np.round(values, 5).astype(object)
    rounded[~np.isfinite(values)] = None
    return list(rounded.tolist())


def instant(value: datetime) -> str:
    """In UTC."""
    return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def day_text(value: date | datetime | None) -> str | None:
    """Such as 2026-03-01."""
    return None if value is None else value.isoformat()[:10]
