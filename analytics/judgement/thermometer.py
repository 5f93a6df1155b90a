"""A thermometer held against the season and against the membranes.

Water has its yearly course, and membranes have none once the temperature is corrected for. A thermometer that has
drifted departs from the course of its first year, and takes normalized flow and salt passage with it the other way; in
a warm year the water departs and the membranes stay. One that swings too little or too much leaves a season in
normalized flow.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import stats

from analytics.judgement.season import PER_DEGREE

Array = npt.NDArray[np.float64]

YEAR_DAYS, BLOCK_DAYS = 365.25, 30
"""Days of a year, and days whose mean counts as one value: weather forgets itself in a few days, so that the means of
months are nearly independent. Common practice, no source."""
LEAST_DAYS, LEAST_BLOCKS = 7, 10
"""Fewest days with a temperature in a block, and of blocks in the first year, for a course to be told."""
LEAST_SPAN_DAYS = 425
"""A year to learn the course, and two months to hold against it: 14 months. Judgement, no source. [d]"""
BETWEEN_YEARS_C = 0.7
"""By how much the same month of two years differs in feed temperature beside what the scatter of months tells, as a
standard deviation; judgement: wells keep to tenths, rivers to a degree or so. [degC]"""
OF_ELEMENTS = 0.01
"""Temperature factors of elements differ by 0.6 % a degree, U of 2400 to 3400 K at 20 degC, and the method leaves a few
tenths: healthy drawn plants stay within this. [1/degC]"""


@dataclass(frozen=True)
class Departure:
    """Feed temperature of the last month less what the season of the first year has for it, with the interval that
    holds 90 times in 100. Positive where the thermometer shows more. [degC]"""

    degrees: float
    low: float
    high: float

    @property
    def error(self) -> float:
        """Half of the interval as a standard error. [degC]"""
        return (self.high - self.low) / 2 / 1.645

    @property
    def stands_apart(self) -> bool:
        """The interval leaves out nought."""
        return self.low > 0 or self.high < 0

    @property
    def words(self) -> str:
        """Such as "feed temperature stands 2.4 °C (1.0 to 3.8 °C) above the course of its first year"."""
        way, sign = ("above", 1) if self.degrees > 0 else ("below", -1)
        low, high = sorted((sign * self.low, sign * self.high))
        if not self.stands_apart:
            between = f"{self.low:+.1f} to {self.high:+.1f} °C".replace("-", "−")
            return f"feed temperature keeps to the course of its first year ({between})"
        return (
            f"feed temperature stands {abs(self.degrees):.1f} °C ({low:.1f} to {high:.1f} °C) {way} the course of its"
            " first year"
        )


@dataclass(frozen=True)
class Following:
    """By how much normalized permeate flow follows feed temperature, beyond what the method itself leaves, with the
    interval that holds 90 times in 100. [1/degC]"""

    per_degree: float
    low: float
    high: float

    @property
    def odd(self) -> bool:
        """More than the temperature factors of elements differ."""
        return self.low > OF_ELEMENTS or self.high < -OF_ELEMENTS

    @property
    def words(self) -> str:
        """What it is, and where it is more than elements differ, what that speaks for."""
        said = f"{self.per_degree:+.1%} a degree Celsius ({self.low:+.1%} to {self.high:+.1%})"
        said = said.replace("-", "−").replace("%", " %")
        if not self.odd:
            return (
                f"normalized permeate flow follows feed temperature by {said}, no more than temperature factors differ"
            )
        swings = "too little" if self.per_degree > 0 else "too much"
        return (
            f"normalized permeate flow follows feed temperature by {said}, which membranes do not: the thermometer"
            f" swings {swings}, or the temperature correction is not that of these elements; compare it with a"
            " reference thermometer in the coldest and in the warmest month"
        )


@dataclass(frozen=True)
class ThermometerCheck:
    """What a year and more say of the thermometer; each part None where it cannot be told, `unknown` says why."""

    departure: Departure | None = None
    following: Following | None = None
    unknown: str = ""


def check_thermometer(temperature: pd.Series | None, flow: pd.Series | None) -> ThermometerCheck:
    """Hold feed temperature against its own first year, and normalized flow against feed temperature.

    Parameters
    ----------
    temperature : Series, optional
        Median by local day, ascending. [degC]
    flow : Series, optional
        Permeate flow of the train, normalized by the standard method, by local day, days out of line NaN. [-]
    """
    known = None if temperature is None else temperature.dropna()
    if known is None or not len(known):
        return ThermometerCheck(unknown="feed temperature is not measured")
    span = (known.index[-1] - known.index[0]).days
    if span < LEAST_SPAN_DAYS:
        return ThermometerCheck(
            unknown="it takes 14 months of temperatures, a year to learn its course and two months to hold against it;"
            f" there are {span / YEAR_DAYS * 12:.0f}"
        )
    departure = departure_from_season(known)
    why = "" if departure else "months of the first year, or the last days, have too few temperatures"
    return ThermometerCheck(departure, None if flow is None else flow_with_temperature(known, flow), why)


def departure_from_season(daily_temperature: pd.Series) -> Departure | None:
    """Lay a yearly wave through the first year and hold the last month against it.

    Parameters
    ----------
    daily_temperature : Series
        Median by local day, ascending, without NaN. [degC]

    Returns
    -------
    Departure or None
        None with less than `LEAST_SPAN_DAYS`, or where months of the first year are missing.

    Notes
    -----
    Least squares of T = a + b cos(2 pi d / 365.25) + c sin(2 pi d / 365.25) on the means of blocks of 30 days; the
    interval is that of a further block (Student's t, as in any text of linear regression) widened by `BETWEEN_YEARS_C`.
    A warm year departs as well: only with the membranes' apparent change does it speak for the thermometer.
    """
    age, values = _ages(daily_temperature), daily_temperature.to_numpy(dtype=np.float64)
    if not len(age) or age[-1] < LEAST_SPAN_DAYS:
        return None
    recent, block = age > age[-1] - BLOCK_DAYS, age // BLOCK_DAYS
    months = [rows for n in range(int(YEAR_DAYS // BLOCK_DAYS)) if np.count_nonzero(rows := block == n) >= LEAST_DAYS]
    if np.count_nonzero(recent) < LEAST_DAYS or len(months) < LEAST_BLOCKS:
        return None
    design = np.stack([_wave(float(age[rows].mean())) for rows in months])
    fitted, scatter = _least_squares(design, np.array([values[rows].mean() for rows in months]))
    now = _wave(float(age[recent].mean()))
    leverage = float(now @ np.linalg.inv(design.T @ design) @ now)
    degrees = float(values[recent].mean() - now @ fitted)
    of_months = _two_sided(len(months) - 3) * scatter * np.sqrt(1 + leverage)
    half = float(np.hypot(of_months, 1.645 * BETWEEN_YEARS_C))
    return Departure(degrees, degrees - half, degrees + half)


def flow_with_temperature(temperature: pd.Series, flow: pd.Series) -> Following | None:
    """How normalized flow follows feed temperature, beside a straight line over time, by the means of months.

    Parameters
    ----------
    temperature, flow : Series
        By local day, ascending. [degC, -]

    Returns
    -------
    Following or None
        None with less than `LEAST_SPAN_DAYS` or 12 months that have both, and where temperature keeps the same.
    """
    both = pd.DataFrame({"temperature": temperature, "flow": flow}).dropna()
    both = both[both["flow"] > 0]
    age = _ages(both)
    if not len(age) or age[-1] < LEAST_SPAN_DAYS:
        return None
    monthly = both.assign(flow=np.log(both["flow"]), age=age).groupby(age // BLOCK_DAYS)
    means = monthly.mean()[monthly.size() >= LEAST_DAYS]
    if len(means) < LEAST_BLOCKS + 2 or float(means["temperature"].std()) < BETWEEN_YEARS_C:
        return None
    design = np.column_stack([np.ones(len(means)), means["age"] / YEAR_DAYS, means["temperature"]])
    fitted, scatter = _least_squares(design, means["flow"].to_numpy())
    half = _two_sided(len(means) - 3) * scatter * float(np.sqrt(np.linalg.inv(design.T @ design)[2, 2]))
    middle = float(fitted[2]) - PER_DEGREE["train", "permeate_flow"]
    return Following(middle, middle - half, middle + half)


def _ages(daily: pd.Series | pd.DataFrame) -> Array:
    """Days since the first one. [d]"""
    return (
        ((pd.DatetimeIndex(daily.index) - daily.index[0]) / pd.Timedelta(days=1)).to_numpy()
        if len(daily)
        else np.array([])
    )


def _wave(day: float) -> Array:
    angle = 2 * np.pi * day / YEAR_DAYS
    return np.array([1.0, np.cos(angle), np.sin(angle)])


def _least_squares(design: Array, values: Array) -> tuple[Array, float]:
    """Coefficients, and the standard deviation of what is left."""
    fitted: Array = np.asarray(np.linalg.lstsq(design, values, rcond=None)[0], dtype=np.float64)
    left = values - design @ fitted
    return fitted, float(np.sqrt(left @ left / (len(values) - design.shape[1])))


def _two_sided(free: int) -> float:
    """Student's t that holds 90 times in 100."""
    return float(stats.t.ppf(0.95, free))
