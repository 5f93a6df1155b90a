"""What colder or warmer water does to the standard method's indicators while the membranes have not changed.

The standard method takes a train, or a stage, as one lump. Its indicators therefore drift a little with temperature,
and its pressure drop by viscosity where that term is switched off. The drift is never corrected for silently: it is an
*allowance*, stated beside the indicator, and a limit counts as passed only by what the allowance does not explain.
"""

from dataclasses import dataclass

import pandas as pd
from scipy import stats

from analytics.judgement.trend import WINDOW_DAYS

NOW_DAYS = 14
"""Days whose temperature counts as today's; common practice, no source."""

YEAR_AGO_DAYS = 30
LEAST_DAYS = 7

PER_DEGREE = {
    ("train", "permeate_flow"): -0.0046,
    ("stage", "permeate_flow"): -0.0036,
    ("train", "salt_passage"): 0.0037,
    ("stage", "salt_passage"): 0.0037,
}
"""Change of an indicator per degC of warming: unchanged membranes computed element by element between 25 and 15 degC at
the same flows, then normalized by the standard method, gave 1.046 (train), 1.024 and 1.047 (stages) for flow and 0.963
for salt passage (docs/method.md, "How far the standard method can be trusted"). [1/degC]"""

VISCOSITY_PER_DEGREE = -0.022
"""Viscosity of water changes by this share per degC near 20 degC (IAPWS). [1/degC]"""
FRICTION_VISCOSITY_POWER = 0.5
"""Largest power of viscosity in the pressure drop of a spacer channel, that of an exponent of 1.5 (2 - n). [-]"""


@dataclass(frozen=True)
class Season:
    """Feed temperature today less that of the reference, and how fast it moves. [degC, degC/d]"""

    warmer: float
    warming_per_day: float


def recent_season(daily_temperature: pd.Series, *, reference_c: float) -> Season:
    """Feed temperature of the last weeks against the reference.

    Parameters
    ----------
    daily_temperature : Series
        Median by local day. [degC]
    reference_c : float
        Median of the reference period. [degC]
    """
    known = daily_temperature[daily_temperature.notna()]
    if not len(known):
        return Season(0.0, 0.0)
    recent = known[known.index > known.index[-1] - pd.Timedelta(days=WINDOW_DAYS)]
    now = recent[recent.index > known.index[-1] - pd.Timedelta(days=NOW_DAYS)]
    days = ((pd.DatetimeIndex(recent.index) - recent.index[0]) / pd.Timedelta(days=1)).to_numpy()
    warming = float(stats.theilslopes(recent.to_numpy(), days).slope) if len(recent) > 1 else 0.0
    return Season(float(now.median()) - reference_c, warming)


def against_last_year(daily: pd.Series) -> float | None:
    """Level of the last weeks over that of the same weeks a year earlier; None without a year of days. [-]

    The same season is the fairest comparison where temperature is not measured.
    """
    known = daily[daily.notna()]
    if not len(known):
        return None
    end = known.index[-1]
    now = known[known.index > end - pd.Timedelta(days=YEAR_AGO_DAYS)]
    year = pd.Timedelta(days=365)
    half = pd.Timedelta(days=YEAR_AGO_DAYS)
    then = known[(known.index > end - year - half) & (known.index <= end - year)]
    if min(len(now), len(then)) < LEAST_DAYS:
        return None
    return float(now.median() / then.median())


def sensitivity(scope: str, name: str, *, viscosity_corrected: bool) -> float:
    """Change of an indicator per degC of warming that is the method's, not the membrane's.

    Parameters
    ----------
    scope : str
        `train`, or a stage.
    name : str
        The indicator.
    viscosity_corrected : bool
        Whether pressure drop was corrected for viscosity.

    Returns
    -------
    float
        [1/degC]
    """
    if name == "pressure_drop":
        return 0.0 if viscosity_corrected else VISCOSITY_PER_DEGREE * FRICTION_VISCOSITY_POWER
    return PER_DEGREE["train" if scope == "train" else "stage", name]


def allowance(value: float, drift: float) -> float:
    """Part of a change that the season may explain: towards one, and never past it.

    Parameters
    ----------
    value : float
        Indicator, ratio to the reference. [-]
    drift : float
        Sensitivity times degrees of warming. [-]

    Returns
    -------
    float
        Of the sign of `value - 1`; zero when the drift points the other way. [-]

    Examples
    --------
    >>> round(allowance(1.12, 0.08), 2), allowance(1.12, -0.08), round(allowance(1.03, 0.08), 2)
    (0.08, 0.0, 0.03)
    """
    change = value - 1.0
    if change * drift <= 0:
        return 0.0
    return min(abs(drift), abs(change)) * (1.0 if change > 0 else -1.0)
