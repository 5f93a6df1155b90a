"""Indicators against their limits: the value today, where it stands, and when it reaches the limit."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from analytics.judgement.reach import DateRange, days_to_a_date, reaches
from analytics.judgement.season import allowance
from analytics.judgement.trend import WIDE, Trend
from analytics.plant import Limits

Standing = Literal["fine", "warn", "clean", "too late"]

STANDINGS: tuple[Standing, ...] = ("fine", "warn", "clean", "too late")
DEADBAND = 0.1
CONVINCING = 0.3
"""Shares of the way from one to the limit; common practice, no source. [-]"""

SOURCES = {
    "permeate_flow": "published cleaning criteria of membrane makers: 10 % loss of flow; too late at twice that",
    "salt_passage": "published cleaning criteria of membrane makers differ: 5 to 20 % rise; 50 % is common practice",
    "pressure_drop": "published cleaning criteria of membrane makers: 10 to 15 % rise of normalized pressure drop",
    "max_dp_element_bar": "membrane maker's technical manual, high pressure drop: 15 psi (1.0 bar) per element",
    "max_dp_vessel_bar": "membrane maker's technical manual, high pressure drop: 50 psi (3.5 bar) per vessel",
    "min_suction_pressure_bar": "common practice, no source: trip at 20 psi (1.4 bar)",
    "max_chlorine_exposure_ppm_h": "membrane maker's manual: polyamide shows it after 200 to 1000 mg/L x h",
    "max_orp_rise_mv": "common practice, no source: 50 mV above the site's own ORP without chlorine",
    "max_free_chlorine_mg_l": "common practice, no source: polyamide feed below 0.1 mg/L free chlorine",
}
"""Where each default comes from. Makers disagree, so every limit is a setting of the train."""


@dataclass(frozen=True)
class Indicator:
    """One indicator of one scope today. Values are ratios to the reference. [-]

    `allowance` is the part of its change that the season may explain (see `season`); `standing` is judged without it.
    `closure` is the standard error of its logarithm that the method leaves, beside the interval (see `closure`);
    `days_needed` how many more days with readings a date needs, where more of them would bring one.
    """

    scope: str
    name: str
    value: float
    low: float
    high: float
    change_per_30_days: float | None
    change_low: float | None
    change_high: float | None
    warn: float
    limit: float
    too_late: float
    allowance: float
    standing: Standing
    reaches_limit: DateRange | None
    temperature_corrected: bool
    days: int
    closure: float = 0.0
    days_needed: int | None = None

    @property
    def falling_is_bad(self) -> bool:
        return self.limit < 1

    @property
    def half(self) -> float:
        """Half of the interval that holds the truth, what the method leaves included. [-]"""
        return _half((self.high - self.low) / 2, self.value, self.closure)


def judge_indicator(
    trend: Trend, limits: Limits, *, temperature_corrected: bool, drift: float = 0.0, closure: float = 0.0
) -> Indicator:
    """Set a trend against the limits of its indicator.

    Parameters
    ----------
    trend : Trend
    limits : Limits
    temperature_corrected : bool
        False where feed temperature is not known: then neither change nor date is given, because a season would be
        taken for a trend.
    drift : float
        What the season may have done to the indicator since the reference. [-]
    closure : float
        Standard error of its logarithm that the method leaves. [-]
    """
    warn = float(getattr(limits, f"{trend.name}_warn"))
    clean = float(getattr(limits, f"{trend.name}_clean"))
    too_late = float(getattr(limits, f"{trend.name}_too_late"))
    has_slope = trend.slope == trend.slope and temperature_corrected
    explained = allowance(trend.value, drift)
    return Indicator(
        scope=trend.scope,
        name=trend.name,
        value=trend.value,
        low=trend.low,
        high=trend.high,
        change_per_30_days=30 * trend.slope if has_slope else None,
        change_low=30 * trend.slope_low if has_slope else None,
        change_high=30 * trend.slope_high if has_slope else None,
        warn=warn,
        limit=clean,
        too_late=too_late,
        allowance=explained,
        standing=_steady_standing(trend, explained, closure, _Lines(warn, clean, too_late)),
        reaches_limit=reaches(trend, clean) if has_slope else None,
        temperature_corrected=temperature_corrected,
        days=trend.days,
        closure=closure,
        days_needed=days_to_a_date(trend, clean) if temperature_corrected else None,
    )


def _half(interval: float, value: float, closure: float) -> float:
    return float(np.hypot(interval, WIDE * closure * value))


@dataclass(frozen=True)
class _Lines:
    warn: float
    clean: float
    too_late: float

    def of(self, value: float) -> int:
        """Place of a value in `STANDINGS`."""
        return STANDINGS.index(standing(value, warn=self.warn, clean=self.clean, too_late=self.too_late))


def _steady_standing(trend: Trend, explained: float, closure: float, lines: _Lines) -> Standing:
    """Where an indicator stands, so that it does not flicker and no scatter passes a limit.

    The levels of the last days are followed in order: a limit counts as passed once two levels in a row have passed it,
    and as left behind again only `DEADBAND` of the way further back. What then stands is lowered where the interval
    still reaches too far back: to `CONVINCING` of the way for a limit, to one for a warning.
    """
    worse = -1.0 if lines.clean < 1 else 1.0
    way = abs(lines.clean - 1)
    path = [level - explained for level in trend.recent] or [trend.value - explained]
    state = lines.of(path[0])
    for before, level in pairwise(path):
        rises = min(lines.of(before), lines.of(level))
        falls = lines.of(level + worse * DEADBAND * way)
        state = rises if rises > state else min(state, falls)
    half = _half((trend.high - trend.low) / 2, trend.value, closure)
    sure = (path[-1] - worse * half - 1) * worse / way
    most = 3 if sure >= CONVINCING * 2 else 2 if sure >= CONVINCING else 1 if sure > 0 else 0
    return STANDINGS[min(state, most)]


def standing(value: float, *, warn: float, clean: float, too_late: float) -> Standing:
    """Where a value stands; a limit that is met counts as reached.

    Values are compared at a thousandth, as they are shown, so that 0.9000004 is 0.900.

    Examples
    --------
    >>> [standing(v, warn=0.93, clean=0.90, too_late=0.80) for v in (0.95, 0.901, 0.90, 0.79)]
    ['fine', 'warn', 'clean', 'too late']
    """
    sign = -1 if clean < 1 else 1
    shown = round(value, 3)
    for limit, name in ((too_late, "too late"), (clean, "clean"), (warn, "warn")):
        if sign * (shown - limit) >= 0:
            return name  # type: ignore[return-value]
    return "fine"
