"""Balances by hand, and readings apart from the usual imbalance of their time."""

import numpy as np
import pytest

from analytics.condition.imbalance import flow_imbalance, salt_imbalance
from analytics.condition.normalized import normalize_log
from tests.analytics.condition.one_reading import AT, PLANT
from tests.analytics.condition.steady_train import living, readings


class TestBalances:
    def test_flow_by_hand(self) -> None:
        """(20.9 - 15.0 - 5.0) / 20.9, row 15 of our table: an imbalance that gauges of 2 % explain (z = 1.7)."""
        columns = {"feed_flow_m3h": 20.9, "permeate_flow_m3h": 15.0, "concentrate_flow_m3h": 5.0}
        imbalance = flow_imbalance({name: np.array([value]) for name, value in columns.items()})
        assert imbalance == pytest.approx(0.9 / 20.9)
        assert flow_imbalance({"feed_flow_m3h": np.array([20.9])}) is None

    def test_salt_by_hand(self) -> None:
        """20 x 3000 in, 5 x 11,700 out with the concentrate: 2.5 % go elsewhere, 1.5 % of them with the permeate."""
        columns = {
            "feed_flow_m3h": 20.0, "concentrate_flow_m3h": 5.0,
            "feed_conductivity_us_cm": 6000.0, "concentrate_conductivity_us_cm": 23_400.0,
        }  # fmt: skip
        imbalance = salt_imbalance({name: np.array([value]) for name, value in columns.items()}, PLANT.train)
        assert imbalance == pytest.approx(0.025)

    @pytest.mark.parametrize(("off", "broken"), [(0.043, False), (0.11, False), (0.13, True), (-0.13, True)])
    def test_flow_beside_the_usual(self, off: float, broken: bool) -> None:
        """The default tolerance is 12 % of the feed."""
        frame = readings(40)
        frame.loc[frame.index[AT], "concentrate_flow_m3h"] = 10.0 - 40.0 * off
        assert normalize_log(PLANT, frame).rules["flow balance"][AT] == broken

    @pytest.mark.parametrize(("factor", "broken"), [(0.66, False), (0.64, True), (1.34, False), (1.36, True)])
    def test_salt_beside_the_usual(self, factor: float, broken: bool) -> None:
        """The default tolerance is 35 % of the salt fed; the concentrate carries 98.65 % of it."""
        frame = readings(40)
        frame.loc[frame.index[AT], "concentrate_conductivity_us_cm"] = 7892.0 * (1 + (factor - 1) / 0.9865)
        assert normalize_log(PLANT, frame).rules["salt balance"][AT] == broken

    def test_a_lasting_imbalance_accuses_a_meter_not_the_readings(self) -> None:
        log = normalize_log(PLANT, living(feed_flow_m3h=50.0))
        assert log.used.all()

    @pytest.mark.parametrize("begins", [1, 10, 29, 60, 90, 110, 119])
    @pytest.mark.parametrize(
        ("name", "factor"), [("feed_flow_m3h", 0.75), ("feed_flow_m3h", 1.4), ("feed_conductivity_us_cm", 0.5)]
    )
    def test_a_meter_exchanged_in_the_middle_of_the_log_does_not_empty_it(
        self, name: str, factor: float, begins: int
    ) -> None:
        """From one reading on, another meter shows a quarter less: what is usual has changed, the readings are used.

        Next to either end of the log a handful of readings may still look like slips.
        """
        frame = living()
        frame.iloc[begins:, frame.columns.get_loc(name)] *= factor
        rules = normalize_log(PLANT, frame).rules
        broken = rules["flow balance"] | rules["salt balance"]
        assert broken.sum() <= min(begins, len(frame) - begins, 15)

    def test_a_slip_beside_the_exchange_is_still_found(self) -> None:
        frame = living()
        frame.iloc[60:, frame.columns.get_loc("feed_flow_m3h")] *= 1.25
        frame.iloc[70, frame.columns.get_loc("concentrate_flow_m3h")] = 1.0
        frame.iloc[20, frame.columns.get_loc("concentrate_flow_m3h")] = 20.0
        assert np.flatnonzero(normalize_log(PLANT, frame).rules["flow balance"]).tolist() == [20, 70]
