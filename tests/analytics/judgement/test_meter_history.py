"""A meter that drifts is followed through the weeks: made from the steady train, with the truth known."""

import numpy as np
import pandas as pd
import pytest

from analytics.condition.reference import ReferencePeriod
from analytics.judgement.balances import equations_of_days
from analytics.judgement.meter_history import MeterHistories, meter_histories
from analytics.judgement.meters import suspect_meters
from tests.analytics.condition.steady_train import STEADY, plant

DAYS = 180
REFERENCE = (pd.Timestamp("2026-01-03"), pd.Timestamp("2026-01-23"))
METERED = ("feed_flow_m3h", "permeate_flow_m3h", "concentrate_flow_m3h", "feed_conductivity_us_cm",
           "concentrate_conductivity_us_cm")  # fmt: skip


def days(seed: int, *, bias: float = 0.0, gap: slice | None = None) -> pd.DataFrame:
    """The permeate meter drifts evenly to its bias from day 30 to the end; all meters scatter by 1 %."""
    rng = np.random.default_rng(seed)
    ramp = np.clip((np.arange(DAYS) - 30) / (DAYS - 30), 0, 1)
    frame = pd.DataFrame(
        {f"raw_{name}": STEADY[name] * (1 + 0.01 * rng.standard_normal(DAYS)) for name in METERED},
        index=pd.date_range("2026-01-01", periods=DAYS, name="day"),
    )
    frame["raw_permeate_flow_m3h"] *= 1 + bias * ramp
    if gap is not None:
        frame.iloc[gap] = np.nan
    return frame


def found(seed: int, **how: float | slice | None) -> MeterHistories:
    return meter_histories(days(seed, **how), plant().train, REFERENCE)  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_the_bias_follows_the_truth_within_its_interval(seed: int) -> None:
    (permeate,) = [one for one in found(seed, bias=-0.08).meters if one.quantity == "permeate_flow"]
    inside = 0
    for one in permeate.stretches:
        middle = ((one.first - pd.Timestamp("2026-01-01")).days + (one.last - pd.Timestamp("2026-01-01")).days) / 2
        truth = -0.08 * np.clip((middle - 30) / (DAYS - 30), 0, 1)
        inside += one.low <= truth <= one.high
    assert inside >= len(permeate.stretches) - 1 and len(permeate.stretches) == 8


def test_the_last_weeks_are_those_of_the_verdict() -> None:
    frame = days(14, bias=-0.08)
    period = ReferencePeriod(*(day.date() for day in REFERENCE), 21, 21, "plant file", np.zeros(0, dtype=bool))
    equations = equations_of_days(frame, plant().train, period)
    (accused,) = [one for one in suspect_meters(equations) if one.quantity == "permeate_flow"]
    histories = meter_histories(frame, plant().train, REFERENCE)
    (permeate,) = [one for one in histories.meters if one.quantity == "permeate_flow"]
    last = permeate.stretches[-1]
    assert (last.value, last.low, last.high) == pytest.approx((accused.bias, accused.low, accused.high))
    for balance, equation in zip(histories.balances, equations, strict=True):
        assert balance.name == equation.name and balance.stretches[-1].value == pytest.approx(equation.drift.now)


def test_weeks_without_readings_are_left_out_and_not_bridged() -> None:
    (permeate,) = [one for one in found(15, gap=slice(60, 110)).meters if one.quantity == "permeate_flow"]
    assert len(permeate.stretches) == 6
    assert all(
        one.last < pd.Timestamp("2026-03-23") or one.first > pd.Timestamp("2026-03-26") for one in permeate.stretches
    )


def test_without_balances_or_a_reference_there_is_nothing_to_follow() -> None:
    nothing = days(16)[["raw_feed_flow_m3h"]]
    assert meter_histories(nothing, plant().train, REFERENCE) == MeterHistories((), ())
    late = (pd.Timestamp("2027-01-01"), pd.Timestamp("2027-01-14"))
    assert meter_histories(days(16), plant().train, late) == MeterHistories((), ())
