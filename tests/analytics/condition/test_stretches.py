"""Which readings are fitted together: dense days by stretches that end where the plant does something else."""

import numpy as np
import pandas as pd
import pytest

from analytics.condition.balance import complete_streams
from analytics.condition.daily import local_days
from analytics.condition.fit import fit_membranes
from analytics.condition.fitted_days import fitted_days
from analytics.condition.metered_train import WATER_PERMEABILITY
from analytics.condition.normalized import normalize_log
from analytics.condition.stretches import HOURS, JUMP, MOST_A_DAY, Stretches, find_stretches
from tests.analytics.condition.modelled_train import plant, readings

DAYS = 3


def _log(per_day: int, *, days: int = DAYS, **more: object) -> pd.DataFrame:
    count = days * per_day
    times = pd.date_range("2026-01-01", periods=count, freq=pd.Timedelta(days=1) / per_day, tz="UTC", name="taken_at")
    return readings(count, **more).set_axis(times)  # type: ignore[arg-type]


def _stretches(frame: pd.DataFrame, used: np.ndarray | None = None) -> Stretches:
    times = pd.DatetimeIndex(frame.index)
    every = np.ones(len(frame), dtype=bool) if used is None else used
    return find_stretches(complete_streams(frame, plant()), local_days(times, "UTC"), times, every)


class TestWhereTheyLie:
    @pytest.mark.parametrize("per_day", [1, 3, MOST_A_DAY])
    def test_a_day_of_few_readings_keeps_each(self, per_day: int) -> None:
        found = _stretches(_log(per_day))
        assert found.starts.tolist() == list(range(DAYS * per_day))

    @pytest.mark.parametrize("per_day", [24, 96])
    def test_a_dense_day_has_eight(self, per_day: int) -> None:
        found = _stretches(_log(per_day))
        assert found.starts.tolist() == list(range(0, DAYS * per_day, per_day * HOURS // 24))
        assert (np.bincount(found.of_row) == per_day * HOURS // 24).all()
        assert found.days.unique().tolist() == pd.date_range("2026-01-01", periods=DAYS).tolist()

    def test_one_ends_where_the_plant_does_something_else(self) -> None:
        made = np.full(DAYS * 24, 30.0)
        made[13:] *= 1 - 1.5 * JUMP
        assert 13 in _stretches(_log(24, permeate_m3h=made)).starts
        made[13:] = 30.0 * (1 - 0.5 * JUMP)
        assert 13 not in _stretches(_log(24, permeate_m3h=made)).starts

    def test_readings_not_in_use_are_in_none(self) -> None:
        used = np.ones(DAYS * 24, dtype=bool)
        used[[0, 5, 30]] = False
        found = _stretches(_log(24), used)
        assert found.rows.tolist() == np.flatnonzero(used).tolist()
        assert len(found.starts) == DAYS * 24 // HOURS

    def test_those_of_a_day_hang_on_no_other_day(self) -> None:
        frame = _log(24)
        whole, alone = _stretches(frame), _stretches(frame.iloc[24:48])
        second = whole.rows[whole.starts][whole.days == alone.days[0]]
        assert (second - 24).tolist() == alone.starts.tolist()

    def test_an_empty_log_has_none(self) -> None:
        found = _stretches(_log(24), np.zeros(DAYS * 24, dtype=bool))
        assert not len(found.rows)
        assert not len(found.starts)


class TestMeans:
    def test_are_over_what_is_known(self) -> None:
        frame = _log(24)
        salty = frame.columns.get_indexer(["permeate_tds_mg_l"])[0]
        frame.iloc[0:6, salty] = [np.nan, 40.0, 42.0, np.nan, np.nan, np.nan]
        means = _stretches(frame).means(complete_streams(frame, plant()), plant())
        assert means.train.permeate_tds_mg_l is not None
        assert means.train.permeate_tds_mg_l[0] == pytest.approx(41.0)
        assert np.isnan(means.train.permeate_tds_mg_l[1])

    def test_of_a_long_log_are_taken_in_parts(self, monkeypatch: pytest.MonkeyPatch) -> None:
        frame = _log(96, scatter=0.01)
        balance, found = complete_streams(frame, plant()), _stretches(frame)
        whole = found.means(balance, plant())
        monkeypatch.setattr("analytics.condition.stretches.ROWS_AT_ONCE", 50)
        parts = found.means(balance, plant())
        assert parts.train.permeate_flow_m3h == pytest.approx(whole.train.permeate_flow_m3h)
        assert len(parts.temperature_c) == len(found.starts)


def test_stretches_tell_the_day_as_well_as_its_readings_do() -> None:
    """Gauges that scatter by 1 %: by day, the medians of both are as far from the membranes that made the readings."""
    water = (0.9, 1.1)
    frame = _log(24, days=40, water=water, scatter=0.01, temperature_c=18.0)
    log = normalize_log(plant(reference=("2026-01-01", "2026-01-14")), frame)
    table = fitted_days(log, np.ones(len(frame), dtype=bool)).table
    for number, fit in enumerate(fit_membranes(log.balance, log.plant, used=log.used)):
        assert fit.water_permeability_lmh_bar is not None
        each = pd.Series(np.log(fit.water_permeability_lmh_bar), index=log.days).groupby(level=0).median()
        truth = np.log(WATER_PERMEABILITY * water[number])
        of_stretches, of_readings = (
            float(np.sqrt(np.mean((days - truth) ** 2))) for days in (table[f"stage{number + 1}_log_water"], each)
        )
        assert of_stretches <= 1.1 * of_readings
