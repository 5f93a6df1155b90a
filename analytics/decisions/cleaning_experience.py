"""What cleanings of this train cost and give back, from its own records, for whoever plans the next ones."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from analytics.decisions.cleaning_effect import (
    ACCEPTED,
    LEAST_ERROR,
    LEAST_LOSS,
    Z90,
    IndicatorEffect,
    Level,
    efficiency,
)
from analytics.decisions.cleaning_history import JudgedCleaning
from analytics.decisions.wear import GivenBack

OWN_PART = 0.5
"""Part of the variance of what the trade expects that lies between cleanings of one train; the rest lies between
trains, and is what its records can tell. Common practice, no source. [-]"""
NEW = Level(1.0, LEAST_ERROR, 0)
"""Where the first run begins: at the reference. [-]"""


@dataclass(frozen=True)
class Spent:
    """What one cleaning took, as written down; None for what was not. `energy_kwh` is heat and pumping. [money, h]"""

    elements: int
    chemicals: float | None = None
    labour_hours: float | None = None
    waste: float | None = None
    energy_kwh: float | None = None


@dataclass(frozen=True)
class CostPerElement:
    """Mean over the records that say enough, its standard error (NaN from one), and how many they are. [money]"""

    value: float
    error: float
    records: int
    left_out: int


def cost_per_element(
    spent: Sequence[Spent], *, labour_rate: float | None, energy_price: float = 0.0
) -> CostPerElement | None:
    """What a cleaning of this train costs per element that was cleaned; permeate that was not made is left out.

    Parameters
    ----------
    spent : sequence of Spent
        One for each record in use.
    labour_rate : float or None
        Of an hour; without it nothing can be said. [money/h]
    energy_price : float
        Of a kilowatt hour. [money/kWh]

    Returns
    -------
    CostPerElement or None
        None where no record names both chemicals and labour, the two that make most of the cost.

    Examples
    --------
    >>> cost_per_element([Spent(36, chemicals=365.0, labour_hours=15.0)], labour_rate=30.0).value.__round__(2)
    22.64
    """
    enough = [one for one in spent if one.chemicals is not None and one.labour_hours is not None and one.elements > 0]
    if labour_rate is None or not enough:
        return None
    each = [
        ((one.chemicals or 0.0) + (one.labour_hours or 0.0) * labour_rate
         + (one.waste or 0.0) + (one.energy_kwh or 0.0) * energy_price) / one.elements
        for one in enough
    ]  # fmt: skip
    error = float(np.std(each, ddof=1)) / math.sqrt(len(each)) if len(each) > 1 else math.nan
    return CostPerElement(float(np.mean(each)), error, len(each), len(spent) - len(each))


@dataclass(frozen=True)
class ExpectedShare:
    """Share of a run's loss that the next cleaning gives back, and how many cleanings of this train it rests on."""

    given_back: GivenBack
    cleanings: int


def expected_share(
    cleanings: Sequence[JudgedCleaning], *, stage: int, name: str, trade: GivenBack, since: date | None = None
) -> ExpectedShare:
    r"""What the next cleaning of a stage is expected to give back of one indicator.

    Parameters
    ----------
    cleanings : sequence of JudgedCleaning
        Of the train, oldest first.
    stage : int
        By its own values where it has some, else by those of the train.
    name : str
        Of the indicator.
    trade : GivenBack
        What the trade expects of one cleaning anywhere. [-]
    since : date, optional
        Day on which the present elements came; what was cleaned before says nothing of them.

    Returns
    -------
    ExpectedShare
        `trade` itself while no cleaning says anything. [-]

    Notes
    -----
    Normal, with the trade as what is known before. Half of its variance :math:`\sigma^2` lies between trains, half
    between cleanings of one train. With shares :math:`y_i \pm e_i`,

    .. math:: w_i = \frac{1}{\sigma^2/2 + e_i^2}, \quad
        \mu = \frac{m\,/(\sigma^2/2) + \sum w_i y_i}{1/(\sigma^2/2) + \sum w_i}, \quad
        s^2 = \frac{1}{1/(\sigma^2/2) + \sum w_i} + \frac{\sigma^2}{2}.
    """
    shares = _shares_of_runs([one for one in cleanings if since is None or one.days.first > since], stage, name)
    own = OWN_PART * trade.error**2
    between = trade.error**2 - own
    if not shares or between <= 0:
        return ExpectedShare(trade, 0)
    weights = [1 / (own + error**2) for _, error in shares]
    precision = 1 / between + sum(weights)
    weighed = zip(weights, shares, strict=True)
    mean = (trade.share / between + sum(weight * share for weight, (share, _) in weighed)) / precision
    return ExpectedShare(GivenBack(min(max(mean, 0.0), 1.0), math.sqrt(1 / precision + own)), len(shares))


def _shares_of_runs(cleanings: Sequence[JudgedCleaning], stage: int, name: str) -> list[tuple[float, float]]:
    """Of each run that ended with a cleaning of that stage: the share of its own loss that came back, and its error."""
    stages_own = f"stage{stage}"
    told = {effect.scope for one in cleanings for effect in one.result.effects if effect.name == name}
    scope = stages_own if stages_own in told else "train"
    found: list[tuple[float, float]] = []
    began = NEW
    for one in cleanings:
        effect = next((e for e in one.result.effects if (e.scope, e.name) == (scope, name)), None)
        if effect is None:
            continue
        if one.days.stage in (None, stage):
            found += _share(began, effect)
        began = effect.after or began
    return found


def _share(began: Level, effect: IndicatorEffect) -> list[tuple[float, float]]:
    """Nothing where too little was lost to tell."""
    before, after = effect.before, effect.after
    if before is None or after is None:
        return []
    lost = (began.value - before.value) * (1 if ACCEPTED[effect.name] < 1 else -1)
    if lost < max(LEAST_LOSS, Z90 * math.hypot(before.error, began.error)):
        return []
    share = efficiency(
        before.value, after.value, reference=began.value, before_error=before.error, after_error=after.error
    )
    of_start = (after.value - before.value) / lost**2 * began.error
    return [(share.value, math.hypot((share.high - share.low) / (2 * Z90), of_start))]
