"""Meters on made-up balances: the one that is off is named, or is among those named; good ones never are."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest

from analytics.condition.imbalance import flow_imbalance, salt_imbalance
from analytics.judgement.balances import TOLERANCE
from analytics.judgement.meters import BalanceDrift, Equation, Meter, balance_drift, drift_between, suspect_meters
from tests.analytics.condition.steady_train import STEADY, plant

DAYS = 120
REFERENCE = (pd.Timestamp("2026-01-03"), pd.Timestamp("2026-01-16"))
RECOVERY = 0.75
CONCENTRATE_SHARE = 10 * 3946 / (40 * 1000)
METERS = {
    "feed_flow": "feed_flow_m3h",
    "permeate_flow": "permeate_flow_m3h",
    "concentrate_flow": "concentrate_flow_m3h",
    "feed_conductivity": "feed_conductivity_us_cm",
    "concentrate_conductivity": "concentrate_conductivity_us_cm",
}


@dataclass(frozen=True)
class Drifts:
    flow: BalanceDrift | None
    salt: BalanceDrift | None


def drifts(seed: int = 1, *, scatter: float = 0.01, bias: dict[str, float] | None = None, **offset: float) -> Drifts:
    """Daily balances of the steady train: gauges scatter, may always have been off (`offset`), and one drifts to its
    bias between day 30 and day 90."""
    rng = np.random.default_rng(seed)
    ramp = np.clip((np.arange(DAYS) - 30) / 60, 0, 1)
    shown = {}
    for name, column in METERS.items():
        gain = (1 + (bias or {}).get(name, 0.0) * ramp) * (1 + offset.get(name, 0.0))
        shown[column] = STEADY[column] * gain * (1 + scatter * rng.standard_normal(DAYS))
    index = pd.date_range("2026-01-01", periods=DAYS, name="day")
    flow, salt = flow_imbalance(shown), salt_imbalance(shown, plant().train)
    return Drifts(
        balance_drift(pd.Series(flow, index), reference=REFERENCE),
        balance_drift(pd.Series(salt, index), reference=REFERENCE),
    )


FLOW_MOVES = {"feed_flow": 1.0, "permeate_flow": -RECOVERY, "concentrate_flow": RECOVERY - 1}
SALT_MOVES = {
    "feed_flow": CONCENTRATE_SHARE, "concentrate_flow": -CONCENTRATE_SHARE,
    "concentrate_conductivity": -CONCENTRATE_SHARE, "feed_conductivity": CONCENTRATE_SHARE,
}  # fmt: skip


def suspects(found: Drifts) -> tuple[Meter, ...]:
    known = []
    if found.flow is not None:
        known.append(Equation("flow balance", found.flow, TOLERANCE["flow balance"], FLOW_MOVES))
    if found.salt is not None:
        known.append(Equation("salt balance", found.salt, TOLERANCE["salt balance"], SALT_MOVES))
    return suspect_meters(known)


# Biases far enough out of what good meters are allowed (3 % of the feed, 8 % of the salt) to be seen in the balance.
CASES = [
    ("feed_flow", 0.10), ("feed_flow", -0.10), ("permeate_flow", 0.08), ("permeate_flow", -0.08),
    ("concentrate_flow", 0.25), ("concentrate_flow", -0.25), ("feed_conductivity", 0.15),
    ("feed_conductivity", -0.15), ("concentrate_conductivity", 0.15), ("concentrate_conductivity", -0.15),
]  # fmt: skip


class TestOneMeterOff:
    @pytest.mark.parametrize(("name", "bias"), CASES)
    def test_it_is_named_with_its_bias(self, name: str, bias: float) -> None:
        for seed in range(20):
            found = {one.quantity: one for one in suspects(drifts(seed, bias={name: bias}))}
            assert name in found, (seed, found)
            assert found[name].bias == pytest.approx(bias, abs=0.04)  # three errors of the balances' medians
            assert found[name].low < found[name].bias < found[name].high

    @pytest.mark.parametrize("bias", [0.08, -0.08, 0.15])
    def test_a_permeate_meter_is_the_only_one_that_leaves_the_salt_alone(self, bias: float) -> None:
        found = [suspects(drifts(seed, bias={"permeate_flow": bias})) for seed in range(20)]
        assert {one[0].quantity for one in found} == {"permeate_flow"}
        assert sum(one[0].suspect for one in found) >= 17  # told from the others with some 90 % confidence

    @pytest.mark.parametrize("name", ["feed_conductivity", "concentrate_conductivity"])
    def test_cells_cannot_be_told_apart_by_one_salt_balance(self, name: str) -> None:
        found = suspects(drifts(bias={name: 0.15}))
        assert {one.quantity for one in found} == {"feed_conductivity", "concentrate_conductivity"}
        assert not any(one.suspect for one in found)

    @pytest.mark.parametrize("name", ["feed_flow", "permeate_flow", "concentrate_flow"])
    def test_without_cells_three_flow_meters_are_all_candidates(self, name: str) -> None:
        """One equation cannot tell which of three is wrong."""
        flow = drifts(bias={name: 0.25}).flow
        found = suspects(Drifts(flow, None))
        assert {one.quantity for one in found} == {"feed_flow", "permeate_flow", "concentrate_flow"}
        assert not any(one.suspect for one in found)

    def test_row_16_a_gross_error(self) -> None:
        """23.0 in, 15.0 and 5.0 out: 13 % of the feed, z = 5.4 at 2 %; row 15, 20.9 in: z = 1.7, may be as it is."""
        gross = BalanceDrift((23.0 - 20.0) / 23.0, 0.01, 21)
        assert suspects(Drifts(gross, None))
        allowed = BalanceDrift((20.9 - 20.0) / 20.9 - 0.02, 0.02, 21)
        assert suspects(Drifts(allowed, None)) == ()


class TestNoMeterOff:
    def test_healthy_balances_accuse_nobody(self) -> None:
        assert sum(bool(suspects(drifts(seed))) for seed in range(100)) == 0

    def test_what_was_off_from_the_start_is_not_drift(self) -> None:
        """A meter that always read 8 % low has moved nothing since the reference."""
        assert suspects(drifts(permeate_flow=-0.08, feed_flow=0.05)) == ()

    @pytest.mark.parametrize(("name", "bias"), [("permeate_flow", 0.02), ("feed_flow", -0.02), ("feed_flow", 0.02)])
    def test_less_than_good_meters_are_allowed(self, name: str, bias: float) -> None:
        assert suspects(drifts(bias={name: bias})) == ()

    def test_rough_meters_need_more_evidence(self) -> None:
        """At 10 % scatter a drift of 4 % of the feed is within the error of three weeks."""
        assert sum(bool(suspects(drifts(seed, scatter=0.10))) for seed in range(50)) <= 5

    def test_a_salt_balance_alone_leaves_four_candidates(self) -> None:
        found = suspects(Drifts(None, drifts(bias={"feed_conductivity": 0.3}).salt))
        assert len(found) == 4 and not any(one.suspect for one in found)


class TestDrift:
    def balance(self, values: np.ndarray) -> pd.Series:
        return pd.Series(values, pd.date_range("2026-01-01", periods=len(values), name="day"))

    def test_medians_of_the_last_three_weeks_and_of_the_reference(self) -> None:
        values = np.r_[np.full(60, 0.01), np.full(60, 0.05)] + 0.001 * np.resize([1.0, -1.0, 0.0], 120)
        found = balance_drift(self.balance(values), reference=REFERENCE)
        assert found is not None
        assert found.now == pytest.approx(0.04, abs=0.001)
        assert found.days == 21

    def test_too_little_after_the_reference_or_in_it(self) -> None:
        values = 0.01 * np.resize([1.0, -1.0, 0.5], 40)
        series = self.balance(values)
        assert balance_drift(series.iloc[:22], reference=REFERENCE) is None
        assert balance_drift(series.iloc[15:], reference=REFERENCE) is None
        assert balance_drift(series * np.nan, reference=REFERENCE) is None
        assert balance_drift(series, reference=REFERENCE) is not None

    def test_a_balance_that_always_closes_was_computed_and_proves_nothing(self) -> None:
        """Where one flow is the sum of the other two, the imbalance is zero to the last digit, whatever they show."""
        closed = self.balance(1e-9 * np.resize([1.0, -1.0, 0.5], 120))
        assert balance_drift(closed, reference=REFERENCE) is None


def test_the_error_of_a_drift_holds_nine_times_in_ten() -> None:
    """Two stretches of days from one normal distribution: the medians differ by less than the error in 90 of 100."""
    rng = np.random.default_rng(11)
    pairs = (drift_between(*(pd.Series(rng.normal(0.0, 0.01, 45)) for _ in range(2))) for _ in range(1500))
    assert np.mean([abs(one.now) <= one.error for one in pairs]) == pytest.approx(0.90, abs=0.03)
