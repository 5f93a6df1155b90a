"""A two-stage train in round numbers, every stream of it worked out by hand, for the tests of this folder and beyond.

Feed 40 m3/h of 1000 mg/L at 25 degC. Stage 1 (4 vessels of 6 elements) makes 22 m3/h of 10 mg/L, so its concentrate is
18 m3/h of (40 x 1000 - 22 x 10) / 18 = 2210 mg/L. Stage 2 (2 vessels of 6) makes 8 m3/h of 40 mg/L; its concentrate is
10 m3/h of (18 x 2210 - 8 x 40) / 10 = 3946 mg/L. Permeate 30 m3/h of (22 x 10 + 8 x 40) / 30 = 18 mg/L. One mg/L is
2 uS/cm. The split of permeate is not that of the areas, so that a guess by area can be told from a measurement.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from analytics.plant import Plant
from analytics.plant_file import plant_from_dict

STEADY: Mapping[str, float] = {
    "feed_temperature_c": 25.0,
    "feed_flow_m3h": 40.0,
    "permeate_flow_m3h": 30.0,
    "concentrate_flow_m3h": 10.0,
    "stage1_permeate_flow_m3h": 22.0,
    "feed_pressure_bar": 12.0,
    "stage1_concentrate_pressure_bar": 10.6,
    "concentrate_pressure_bar": 9.4,
    "permeate_pressure_bar": 0.5,
    "feed_conductivity_us_cm": 2000.0,
    "permeate_conductivity_us_cm": 36.0,
    "concentrate_conductivity_us_cm": 7892.0,
    "stage1_permeate_conductivity_us_cm": 20.0,
    "stage2_permeate_conductivity_us_cm": 80.0,
}
"""What every gauge of the train shows."""

ELEMENT_M2 = 37.0


def plant(
    *, stages: tuple[tuple[int, int], ...] = ((4, 6), (2, 6)), boosters: tuple[int, ...] = (), **train: Any
) -> Plant:
    """The plant file of the steady train; `stages` are vessels and elements, `train` further keys of [train]."""
    assumed = {"tds_per_conductivity": 0.5} | dict(train.pop("assumed", {}))
    site = {"name": "Somewhere", "timezone": "UTC"} | dict(train.pop("site", {}))
    membrane = {"area_m2": ELEMENT_M2} | dict(train.pop("membrane", {}))
    tables = [
        {"vessels": vessels, "elements_per_vessel": elements, "membrane": "bw8"}
        | ({"booster": True} if number in boosters else {})
        for number, (vessels, elements) in enumerate(stages, start=1)
    ]
    return plant_from_dict(
        {
            "site": site,
            "train": {"name": "RO 1", "stage": tables, "assumed": assumed} | train,
            "membrane": {"bw8": membrane},
        }
    )


def times(days: float, *, per_day: int = 3, start: str = "2026-01-01T06:00Z") -> pd.DatetimeIndex:
    """Evenly spaced instants."""
    count = round(days * per_day)
    index = pd.date_range(start, periods=count, freq=pd.Timedelta(days=1) / per_day, name="taken_at")
    return pd.DatetimeIndex(index).as_unit("us")


def readings(days: float = 30, *, per_day: int = 3, without: tuple[str, ...] = (), **columns: Any) -> pd.DataFrame:
    """The steady train's log; `columns` replace or add to what the gauges show, by column name."""
    index = times(days, per_day=per_day)
    values = {name: value for name, value in {**STEADY, **columns}.items() if name not in without}
    frame = {
        name: value if isinstance(value, str | list) else np.broadcast_to(np.asarray(value, dtype=float), len(index))
        for name, value in values.items()
    }
    return pd.DataFrame({name: pd.Series(value, index=index) for name, value in frame.items()}, index=index)


def living(
    days: float = 40, *, per_day: int = 3, seed: int = 1, scatter: float = 0.004, **columns: Any
) -> pd.DataFrame:
    """The steady train's log as living gauges show it: a scatter on every value, four digits."""
    frame = readings(days, per_day=per_day, **columns)
    rng = np.random.default_rng(seed)
    for name in frame.columns:
        if frame[name].dtype.kind == "f":
            shown = frame[name].to_numpy() * (1 + scatter * rng.standard_normal(len(frame)))
            frame[name] = np.round(shown, np.clip(3 - np.floor(np.log10(STEADY.get(name, 10.0))), 0, 4).astype(int))
    return frame


def row(**columns: float) -> pd.DataFrame:
    """One reading with just these columns."""
    index = pd.DatetimeIndex(["2026-01-01T06:00Z"], name="taken_at").as_unit("us")
    return pd.DataFrame({name: [float(value)] for name, value in columns.items()}, index=index)


def rows(*cases: Mapping[str, float]) -> pd.DataFrame:
    """One reading a day, each with the columns given for it."""
    return pd.DataFrame(list(cases), index=times(len(cases), per_day=1)).astype(float)
