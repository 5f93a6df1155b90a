"""Meters that stand still are found; coarse, controlled and living ones are left alone."""

import numpy as np
import pytest

from analytics.condition.frozen import clipped_rows, frozen_rows
from analytics.condition.normalized import normalize_log
from tests.analytics.condition.steady_train import living, plant

COUNT = 600
AT_LEAST = 8


def gauge(seed: int = 1, *, step: float = 0.01, scatter: float = 0.2, count: int = COUNT) -> np.ndarray:
    """A living pressure gauge, rounded to its step. [bar]"""
    return np.round(np.random.default_rng(seed).normal(12.0, scatter, count) / step) * step


def stuck(values: np.ndarray, begins: int, length: int) -> np.ndarray:
    result = values.copy()
    result[begins : begins + length] = result[begins]
    return result


def frozen(values: np.ndarray, considered: np.ndarray | None = None) -> list[int]:
    everything = np.ones(len(values), dtype=bool) if considered is None else considered
    found = frozen_rows({"feed_pressure_bar": values}, everything, at_least=AT_LEAST)
    return np.flatnonzero(found.get("feed_pressure_bar", np.zeros(len(values), dtype=bool))).tolist()


class TestFrozen:
    @pytest.mark.parametrize("begins", [0, 300, COUNT - 30])
    def test_exactly_the_readings_that_stood_still(self, begins: int) -> None:
        assert frozen(stuck(gauge(), begins, 30)) == list(range(begins, begins + 30))

    @pytest.mark.parametrize(("length", "found"), [(AT_LEAST, True), (AT_LEAST - 1, False)])
    def test_the_fewest_that_count(self, length: int, found: bool) -> None:
        """At a step of 0.001 two neighbours are hardly ever equal by chance, so the stated eight decide."""
        assert bool(frozen(stuck(gauge(step=0.001), 300, length))) == found

    def test_a_long_stretch_at_once_and_another(self) -> None:
        values = stuck(stuck(gauge(), 100, 40), 400, 25)
        assert frozen(values) == [*range(100, 140), *range(400, 425)]

    def test_two_stretches_side_by_side(self) -> None:
        """The gauge jumps from one stuck value to another: both stretches stand still."""
        values = gauge()
        values[100:120], values[120:140] = 11.0, 13.0
        assert frozen(values) == list(range(100, 140))

    def test_a_stop_is_passed_over(self) -> None:
        """A standing plant shows the same pressure for days; those readings are set aside already."""
        values = gauge()
        values[200:260] = 0.0
        considered = values > 0
        assert frozen(values, considered) == []

    def test_a_freeze_goes_on_across_a_stop(self) -> None:
        values = stuck(gauge(), 190, 80)
        considered = np.ones(COUNT, dtype=bool)
        considered[200:260] = False
        assert frozen(values, considered) == [*range(190, 200), *range(260, 270)]

    def test_gaps_in_the_log_end_a_stretch(self) -> None:
        values = stuck(gauge(), 300, 12)
        values[306] = np.nan
        assert frozen(values) == []

    @pytest.mark.parametrize("step", [0.01, 0.05, 0.1, 0.2, 0.5])
    def test_rounding_alone_is_no_freeze(self, step: float) -> None:
        """Chance runs are held to one in a hundred logs; of 150 living logs of a gauge at most a handful may alarm."""
        alarms = sum(bool(frozen(gauge(seed, step=step))) for seed in range(150))
        assert alarms <= 5

    def test_a_coarse_gauge_is_still_found_when_it_stands_for_long(self) -> None:
        """With a step of the size of the scatter, neighbours are equal with p = 1 / (2 sqrt(pi)) = 0.28; 600 x p^(n-1)
        falls below 0.01 at n = 10: eight equal readings, which would be a freeze on a fine gauge, prove nothing."""
        values = gauge(step=0.2)
        equal = np.mean(values[1:] == values[:-1])
        assert equal == pytest.approx(0.28, abs=0.04)
        assert frozen(stuck(values, 300, 8)) == []
        assert set(range(300, 330)) <= set(frozen(stuck(values, 300, 30)))

    def test_a_gauge_too_coarse_to_tell_is_not_judged(self) -> None:
        assert frozen(gauge(step=2.0)) == []
        assert frozen(np.full(COUNT, 12.0)) == []

    def test_too_short_a_log_is_not_judged(self) -> None:
        assert frozen(np.full(2 * AT_LEAST - 1, 12.0)) == []

    def test_a_meter_without_values_is_not_judged(self) -> None:
        assert frozen(np.full(COUNT, np.nan)) == []


class TestClipped:
    def rows(self, values: np.ndarray) -> list[int]:
        found = clipped_rows({"cell": values}, np.ones(len(values), dtype=bool))
        return np.flatnonzero(found.get("cell", np.zeros(len(values), dtype=bool))).tolist()

    def test_a_cell_at_the_end_of_its_range(self) -> None:
        true = np.random.default_rng(2).normal(190.0, 8.0, 400)
        shown = np.minimum(np.round(true, 1), 200.0)
        assert self.rows(shown) == np.flatnonzero(true >= 199.95).tolist()

    def test_the_highest_of_a_living_cell_is_its_own(self) -> None:
        alarms = sum(bool(self.rows(np.round(np.random.default_rng(s).normal(190, 8, 400), 1))) for s in range(200))
        assert alarms == 0

    def test_a_cell_at_the_bottom_of_its_scale(self) -> None:
        true = np.random.default_rng(5).normal(14.0, 3.0, 400)
        shown = np.maximum(np.round(true, 1), 10.0)
        assert self.rows(shown) == np.flatnonzero(shown == 10.0).tolist()

    def test_both_ends_of_a_short_scale(self) -> None:
        true = np.random.default_rng(6).normal(500.0, 60.0, 600)
        shown = np.clip(np.round(true), 420.0, 580.0)
        assert self.rows(shown) == np.flatnonzero((shown == 420.0) | (shown == 580.0)).tolist()

    def test_a_coarse_cell_that_mostly_shows_its_highest_value_is_honest(self) -> None:
        """Shift readings in steps of 50: most days 1200, some 1150, a few 1100. No scale ends at 1200."""
        rng = np.random.default_rng(7)
        for shares in ([0.8, 0.15, 0.05], [0.7, 0.15, 0.1, 0.05], [0.9, 0.1]):
            steps = rng.choice(len(shares), 500, p=shares)
            assert self.rows(1200.0 - 50.0 * steps) == []
            assert self.rows(1200.0 + 50.0 * steps) == []

    @pytest.mark.parametrize("step", [1.0, 5.0, 10.0, 20.0, 50.0])
    def test_shift_readings_in_steps_are_honest(self, step: float) -> None:
        draws = (np.random.default_rng(s).normal(1200, 40, 700) for s in range(100))
        assert sum(bool(self.rows(np.round(one / step) * step)) for one in draws) == 0

    def test_a_plant_that_stands_still_shows_no_bottom(self) -> None:
        values = np.round(np.random.default_rng(8).normal(300.0, 20.0, 300), 1)
        values[100:150] = 0.0
        assert clipped_rows({"cell": values}, values > 0) == {}

    def test_the_fewest_readings_that_count(self) -> None:
        values = np.r_[np.arange(300.0), 500.0, 500.0, 500.0, 500.0]
        everything = np.ones(values.size, dtype=bool)
        assert clipped_rows({"cell": values}, everything)["cell"].sum() == 4
        assert clipped_rows({"cell": values}, everything, at_least=5) == {}

    @pytest.mark.parametrize("values", [np.full(100, 200.0), np.full(100, np.nan), np.array([200.0] * 4 + [1.0] * 3)])
    def test_what_cannot_be_told(self, values: np.ndarray) -> None:
        assert self.rows(values) == []


class TestInTheScreen:
    """Through the whole screen of a plant."""

    def test_a_stuck_core_gauge_takes_the_readings(self) -> None:
        frame = living()
        frame["feed_pressure_bar"] = stuck(frame["feed_pressure_bar"].to_numpy(), 60, 15)
        log = normalize_log(plant(), frame)
        assert (log.reason.iloc[60:75] == "frozen value").all()
        assert log.used.sum() == len(frame) - 15

    def test_a_stuck_permeate_cell_loses_its_values_alone(self) -> None:
        frame = living()
        frame["permeate_conductivity_us_cm"] = stuck(frame["permeate_conductivity_us_cm"].to_numpy(), 60, 15)
        log = normalize_log(plant(), frame)
        assert log.used.all()
        assert log.values_set_aside == {"permeate_conductivity": {"frozen value": 15}}
        assert np.isnan(log.indicators["train_salt_passage"][60:75]).all()
        assert np.isfinite(log.indicators["train_permeate_flow"][60:75]).all()

    def test_a_clipped_permeate_cell_loses_its_values_alone(self) -> None:
        frame = living()
        cell = frame["permeate_conductivity_us_cm"]
        frame["permeate_conductivity_us_cm"] = cell.clip(upper=float(cell.quantile(0.9)))
        log = normalize_log(plant(), frame)
        clipped = int((cell >= cell.quantile(0.9)).sum())
        assert log.used.all()
        assert log.values_set_aside == {"permeate_conductivity": {"clipped": clipped}}

    def test_a_clipped_feed_cell_takes_its_readings(self) -> None:
        frame = living()
        cell = frame["feed_conductivity_us_cm"]
        frame["feed_conductivity_us_cm"] = cell.clip(upper=float(cell.quantile(0.9)))
        log = normalize_log(plant(), frame)
        assert (log.reason[(cell >= cell.quantile(0.9)).to_numpy()] == "clipped").all()

    def test_set_points_and_coarse_gauges_of_shift_readings_are_honest(self) -> None:
        """Gauges read to half a bar, a flow at its set-point, chlorine at nought on most days."""
        frame = living()
        for name in ("feed_pressure_bar", "concentrate_pressure_bar"):
            frame[name] = np.round(frame[name] * 2) / 2
        frame["permeate_flow_m3h"] = 30.0
        frame["feed_free_chlorine_mg_l"] = np.where(np.arange(len(frame)) % 40 == 0, 0.05, 0.0)
        log = normalize_log(plant(), frame)
        assert "clipped" not in set(log.reason)
        assert not any("clipped" in lost for lost in log.values_set_aside.values())

    def test_a_controlled_flow_stands_still_because_it_is_controlled(self) -> None:
        frame = living(permeate_flow_m3h=30.0)
        frame["permeate_flow_m3h"] = 30.0
        frame["feed_flow_m3h"] = stuck(frame["feed_flow_m3h"].to_numpy(), 60, 40)
        assert normalize_log(plant(), frame).used.all()

    def test_the_fewest_readings_are_a_setting(self) -> None:
        frame = living()
        frame["feed_pressure_bar"] = stuck(frame["feed_pressure_bar"].to_numpy(), 60, 15)
        assert normalize_log(plant(screening={"frozen_readings": 20}), frame).used.all()
