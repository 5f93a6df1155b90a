"""What each year of a log took for a cubic metre: energy of the feed pump and feed water, by its days."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.decisions.annualised import HOURS_PER_YEAR
from analytics.decisions.cost_per_m3 import BAR_M3H_PER_KW

LEAST_DAYS = 28
"""A year with fewer days on which everything was read says nothing; common practice, no source. [d]"""


@dataclass(frozen=True)
class WaterYear:
    """One calendar year of a log: days with readings, and means over them; None where it was not read.

    Attributes
    ----------
    share : float
        Of the year, from the first to the last of its days. [-]
    permeate_flow_m3h : float
    energy_kwh_m3 : float or None
        Of the feed pump, wire to water. [kWh/m3]
    feed_m3_m3 : float or None
        Feed for a cubic metre of permeate. [-]
    """

    year: int
    days: int
    share: float
    permeate_flow_m3h: float
    energy_kwh_m3: float | None
    feed_m3_m3: float | None


def water_years(measured: pd.DataFrame, *, efficiency: float) -> tuple[WaterYear, ...]:
    r"""Years of a log, oldest first.

    Parameters
    ----------
    measured : DataFrame
        Daily medians by local day: `permeate_flow_m3h`, `feed_pressure_bar`, and `feed_flow_m3h` or
        `concentrate_flow_m3h`, as far as they are read.
    efficiency : float
        Of the pump, wire to water. [-]

    Notes
    -----
    A day of equal hours makes :math:`Q_p` and takes :math:`Q_f p / (36 \eta)`; a year's figure is the sum of the one
    over the sum of the other. The suction side and boosters are left out.
    """
    if "permeate_flow_m3h" not in measured.columns:
        return ()
    permeate = measured["permeate_flow_m3h"].where(lambda flow: flow > 0)
    feed = _feed(measured, permeate)
    pressure = _column(measured, "feed_pressure_bar")
    known = permeate.dropna()
    years = pd.DatetimeIndex(known.index).year
    found = []
    for year in sorted(set(years)):
        made = known[years == year]
        if len(made) < LEAST_DAYS:
            continue
        first, last = made.index[0], made.index[-1]
        found.append(
            WaterYear(
                int(year), len(made), ((last - first).days + 1) / (366 if first.is_leap_year else 365),
                float(made.mean()), _over(pressure * feed / (BAR_M3H_PER_KW * efficiency), made), _over(feed, made),
            )
        )  # fmt: skip
    return tuple(found)


def _feed(measured: pd.DataFrame, permeate: pd.Series) -> pd.Series:
    return _column(measured, "feed_flow_m3h").fillna(_column(measured, "concentrate_flow_m3h") + permeate)


def _column(measured: pd.DataFrame, name: str) -> pd.Series:
    return measured[name] if name in measured.columns else pd.Series(np.nan, index=measured.index)


def _over(taken: pd.Series, made: pd.Series) -> float | None:
    """Sum of what was taken over what was made, on the days of `made` on which both are known."""
    both = taken.reindex(made.index).dropna()
    return float(both.sum() / made[both.index].sum()) if len(both) >= LEAST_DAYS else None


def per_m3(year: WaterYear, amounts: Mapping[str, float], *, availability: float) -> dict[str, float]:
    """Amounts of money of one year over the water that it made. [money/m3]

    Parameters
    ----------
    year : WaterYear
    amounts : mapping
        Component -> money spent within the days of that year.
    availability : float
        Share of the time that the train runs. [-]

    Examples
    --------
    >>> year = WaterYear(2026, 365, 1.0, 15.0, None, None)
    >>> round(per_m3(year, {"cleaning": 900.0}, availability=0.9)["cleaning"], 4)
    0.0076
    """
    volume = year.permeate_flow_m3h * year.share * HOURS_PER_YEAR * availability
    return {name: amount / volume for name, amount in amounts.items()}
