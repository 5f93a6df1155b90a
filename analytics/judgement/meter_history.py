"""How the balances have stood over time, and how far each meter would have been off if it were the only one."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pandas as pd

from analytics.judgement.balances import DailyBalance, daily_balances
from analytics.judgement.meters import (
    CLOSED,
    LEAST_DAYS,
    RECENT_DAYS,
    BalanceDrift,
    Bias,
    Equation,
    bias_alone,
    drift_between,
)
from analytics.plant import Train

LEAST_REFERENCE_DAYS = 3
"""Days of the reference on which a balance must be known, so that its level there is no single reading. [d]"""


@dataclass(frozen=True)
class Stretch:
    """Some weeks, first and last day included, with what was found of them and its interval. [-]"""

    first: pd.Timestamp
    last: pd.Timestamp
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class BalanceHistory:
    """One balance since the reference, whose median is taken off: by day, and weeks at a time. [-]"""

    name: str
    tolerance: float
    meters: tuple[str, ...]
    days: pd.Series
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True)
class MeterHistory:
    """By how much one meter would have been off, weeks at a time, if it were the only one. [-]"""

    quantity: str
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True)
class MeterHistories:
    """All balances of a train, and all meters that they say something of."""

    balances: tuple[BalanceHistory, ...]
    meters: tuple[MeterHistory, ...]


def meter_histories(days: pd.DataFrame, train: Train, reference: tuple[pd.Timestamp, pd.Timestamp]) -> MeterHistories:
    """Follow balances and meters since the reference.

    Parameters
    ----------
    days : DataFrame
        The medians of what was measured, by local day, as `raw_<column>`.
    train : Train
    reference : pair of Timestamp
        First and last day.

    Notes
    -----
    Stretches of `RECENT_DAYS` are counted back from the last day, so that the last one is the one that the verdict
    looks at. A stretch with too few days is left out. Each meter is fitted alone, as in `suspect_meters`: of several
    that share a balance, at most one curve is true.
    """
    found = [known for one in daily_balances(days, train, reference) if (known := _known(one, reference)) is not None]
    spans = list(_spans(days, reference[1]))
    drifts = {one.balance.name: [_drift(one, *span) for span in spans] for one in found}
    balances = tuple(_history(one, spans, drifts[one.balance.name]) for one in found)
    names = dict.fromkeys(name for one in found for name in one.balance.moves)
    meters = [MeterHistory(name, tuple(_biases(name, found, spans, drifts))) for name in names]
    return MeterHistories(balances, tuple(meter for meter in meters if meter.stretches))


@dataclass(frozen=True)
class _Known:
    """A balance with the days that have it, and those of them in the reference."""

    balance: DailyBalance
    days: pd.Series
    before: pd.Series


def _spans(days: pd.DataFrame, end: pd.Timestamp) -> Iterator[tuple[pd.Timestamp, pd.Timestamp]]:
    """Stretches after the reference, oldest first; the oldest may be shorter."""
    if not len(days):
        return
    last, spans = pd.Timestamp(days.index[-1]), []
    while last > end:
        first = max(last - pd.Timedelta(days=RECENT_DAYS - 1), end + pd.Timedelta(days=1))
        spans.append((first, last))
        last = first - pd.Timedelta(days=1)
    yield from reversed(spans)


def _known(balance: DailyBalance, reference: tuple[pd.Timestamp, pd.Timestamp]) -> _Known | None:
    """None where the days of the reference are too few, and where the balance closes by construction."""
    known = balance.imbalance.dropna()
    before = known.loc[reference[0] : reference[1]]
    if not balance.moves or len(before) < LEAST_REFERENCE_DAYS or float(known.abs().max()) < CLOSED:
        return None
    return _Known(balance, known, before)


def _drift(known: _Known, first: pd.Timestamp, last: pd.Timestamp) -> BalanceDrift | None:
    there = known.days.loc[first:last]
    return None if len(there) < LEAST_DAYS else drift_between(known.before, there)


def _history(
    known: _Known, spans: Sequence[tuple[pd.Timestamp, pd.Timestamp]], drifts: Sequence[BalanceDrift | None]
) -> BalanceHistory:
    stretches = [
        Stretch(*span, drift.now, drift.now - drift.error, drift.now + drift.error)
        for span, drift in zip(spans, drifts, strict=True)
        if drift is not None
    ]
    balance = known.balance
    days = balance.imbalance - float(known.before.median())
    return BalanceHistory(balance.name, balance.tolerance, tuple(balance.moves), days, tuple(stretches))


def _biases(
    name: str,
    balances: Sequence[_Known],
    spans: Sequence[tuple[pd.Timestamp, pd.Timestamp]],
    drifts: dict[str, list[BalanceDrift | None]],
) -> Iterator[Stretch]:
    for n, span in enumerate(spans):
        equations = [
            Equation(one.balance.name, drift, one.balance.tolerance, one.balance.moves)
            for one in balances
            if (drift := drifts[one.balance.name][n]) is not None
        ]
        bias: Bias | None = bias_alone(name, equations) if equations else None
        if bias is not None:
            yield Stretch(*span, bias.value, bias.low, bias.high)
