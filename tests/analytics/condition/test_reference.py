"""The reference period: as stated, else the first settled fortnight; and a plain reason where there is none."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from analytics.condition.normalized import normalize_log
from analytics.condition.reference import reference_period
from analytics.errors import NoReference
from analytics.plant import Reference
from tests.analytics.condition.steady_train import living, plant, readings


def days(*numbers: int, per_day: int = 1) -> pd.DatetimeIndex:
    """Local days of January 2026, `per_day` readings each."""
    return pd.DatetimeIndex(np.repeat([pd.Timestamp(2026, 1, n) for n in numbers], per_day)).as_unit("us")


def usable(index: pd.DatetimeIndex, *but: int) -> np.ndarray:
    return ~np.isin(index.day, but)


class TestStated:
    STATED = Reference(date(2026, 1, 5), date(2026, 1, 7))

    def test_both_ends_belong_to_it(self) -> None:
        index = days(*range(1, 32), per_day=3)
        found = reference_period(index, usable(index), self.STATED)
        assert sorted(set(index[found.within].day)) == [5, 6, 7]
        assert (found.days, found.readings, found.chosen) == (3, 9, "plant file")

    def test_only_usable_readings_count(self) -> None:
        index = days(*range(1, 32), per_day=3)
        found = reference_period(index, usable(index, 6), self.STATED)
        assert (found.days, found.readings) == (2, 6)

    def test_a_period_outside_the_log_is_no_reference(self) -> None:
        index = days(*range(10, 20))
        with pytest.raises(NoReference, match="2026-01-05 to 2026-01-07 has no usable reading"):
            reference_period(index, usable(index), self.STATED)

    def test_local_days_not_utc_days(self) -> None:
        """22:30 UTC on 4 January is 00:30 on the 5th in Athens."""
        stated = {"reference": {"start": "2026-01-05", "end": "2026-01-05"}}
        frame = readings(6, per_day=1)
        frame.index = pd.DatetimeIndex([f"2026-01-{d:02d}T22:30Z" for d in range(2, 8)], name="taken_at")
        log = normalize_log(plant(site={"timezone": "Europe/Athens"}, **stated), frame)
        assert log.reference is not None
        assert np.flatnonzero(log.reference.within).tolist() == [2]


class TestChosen:
    def test_the_first_fortnight_after_two_days(self) -> None:
        index = days(*range(1, 32), per_day=2)
        found = reference_period(index, usable(index), None)
        assert (found.start, found.end) == (date(2026, 1, 3), date(2026, 1, 16))
        assert (found.days, found.readings, found.chosen) == (14, 28, "first days of the log")

    def test_days_are_counted_not_dates(self) -> None:
        """Readings every second day: fourteen of them, beginning two days after the first."""
        index = days(*range(1, 32, 2))
        found = reference_period(index, usable(index), None)
        assert (found.start, found.end, found.days) == (date(2026, 1, 3), date(2026, 1, 29), 14)

    def test_it_begins_with_what_can_be_used(self) -> None:
        index = days(*range(1, 32))
        found = reference_period(index, usable(index, *range(1, 11)), None)
        assert found.start == date(2026, 1, 13)

    def test_a_short_log_is_its_own_reference(self) -> None:
        index = days(*range(1, 8))
        assert reference_period(index, usable(index), None).days == 5

    @pytest.mark.parametrize("count", [0, 1, 6])
    def test_too_few_days(self, count: int) -> None:
        index = days(*range(1, count + 1))
        with pytest.raises(NoReference, match=f"5 days .* are needed .*, {max(0, count - 2)} were found"):
            reference_period(index, usable(index), None)


def test_without_a_reference_the_log_is_screened_and_says_why() -> None:
    log = normalize_log(plant(), living(3))
    assert log.reference is None
    assert "5 days with usable readings are needed" in log.no_reference
    assert log.used.all()
    assert log.indicators == {}
    assert "train_net_driving_pressure_bar" in log.columns
