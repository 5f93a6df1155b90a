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
    found = [one for one in daily_balances(days, train, reference) if one.moves and _known(one, reference) is not None]
    spans = list(_spans(days, reference[1]))
    drifts = {one.name: [_drift(one, reference, *span) for span in spans] for one in found}
    balances = tuple(_balance(one, reference, spans, drifts[one.name]) for one in found)
    names = dict.fromkeys(name for one in found for name in one.moves)
    meters = [MeterHistory(name, tuple(_biases(name, found, spans, drifts))) for name in names]
    return MeterHistories(balances, tuple(meter for meter in meters if meter.stretches))


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


def _known(balance: DailyBalance, reference: tuple[pd.Timestamp, pd.Timestamp]) -> pd.Series | None:
    """The days of the reference; None where they are too few, or where the balance closes by construction."""
    known = balance.imbalance.dropna()
    before = known[(known.index >= reference[0]) & (known.index <= reference[1])]
    return before if len(before) >= LEAST_REFERENCE_DAYS and float(known.abs().max()) >= CLOSED else None


def _drift(
    balance: DailyBalance, reference: tuple[pd.Timestamp, pd.Timestamp], first: pd.Timestamp, last: pd.Timestamp
) -> BalanceDrift | None:
    known, before = balance.imbalance.dropna(), _known(balance, reference)
    there = known[(known.index >= first) & (known.index <= last)]
    return None if before is None or len(there) < LEAST_DAYS else drift_between(before, there)


def _balance(
    balance: DailyBalance,
    reference: tuple[pd.Timestamp, pd.Timestamp],
    spans: Sequence[tuple[pd.Timestamp, pd.Timestamp]],
    drifts: Sequence[BalanceDrift | None],
) -> BalanceHistory:
    before = _known(balance, reference)
    usual = 0.0 if before is None else float(before.median())
    stretches = [
        Stretch(*span, drift.now, drift.now - drift.error, drift.now + drift.error)
        for span, drift in zip(spans, drifts, strict=True)
        if drift is not None
    ]
    days = balance.imbalance - usual
    return BalanceHistory(balance.name, balance.tolerance, tuple(balance.moves), days, tuple(stretches))


def _biases(
    name: str,
    balances: Sequence[DailyBalance],
    spans: Sequence[tuple[pd.Timestamp, pd.Timestamp]],
    drifts: dict[str, list[BalanceDrift | None]],
) -> Iterator[Stretch]:
    for n, span in enumerate(spans):
        equations = [
            Equation(one.name, drift, one.tolerance, one.moves)
            for one in balances
            if (drift := drifts[one.name][n]) is not None
        ]
        bias: Bias | None = bias_alone(name, equations) if equations else None
        if bias is not None:
            yield Stretch(*span, bias.value, bias.low, bias.high)
