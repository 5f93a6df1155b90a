"""Columns of the table of days for the membrane model: names, courses, and what is not known."""

import numpy as np
import pandas as pd
import pytest

from analytics.condition.balance import complete_streams
from analytics.condition.fit import fit_membranes
from analytics.condition.forces import driving_forces
from analytics.condition.metered_train import metered_readings
from analytics.condition.parameter_days import (
    COURSE_DAYS,
    GAUGE,
    SALINITY,
    TEMPERATURE,
    VISCOSITY,
    by_mean,
    closure_columns,
    course_name,
    logarithm,
    parameter_columns,
    parameter_name,
)
from tests.analytics.condition.made_days import DAYS, INVERSE, days_of
from tests.analytics.condition.modelled_train import TRAIN_ONLY, plant, readings


def test_names() -> None:
    assert parameter_name(0, "water") == "stage1_log_water"
    assert course_name(1, "salt", "osmotic") == "stage2_log_salt_by_osmotic"
    assert by_mean(parameter_name(2, "friction"))
    assert not by_mean(course_name(2, "friction", "flow"))
    assert not by_mean(parameter_name(2, "water"))


def test_logarithm_of_nothing_is_nothing() -> None:
    assert logarithm(None) is None
    np.testing.assert_array_equal(logarithm(np.array([np.e, 0.0, -1.0, np.nan])), [1.0, np.nan, np.nan, np.nan])


class TestCourses:
    def test_a_course_is_zero_at_the_reference_and_smooth(self) -> None:
        name = course_name(0, "water", TEMPERATURE)
        noisy = INVERSE + 1e-5 * (-1.0) ** np.arange(DAYS)
        days = days_of({name: noisy})
        course = days.course(name)
        assert course[:14].mean() == pytest.approx(0.0, abs=2e-6)
        assert np.abs(np.diff(course)).max() < 1e-5 < np.abs(np.diff(noisy)).max()
        assert days.smoothed(name)[50] == pytest.approx(noisy[46:55].mean())
        assert COURSE_DAYS == 9

    def test_days_without_a_value_are_bridged_by_their_neighbours_only(self) -> None:
        values = np.ones(DAYS)
        values[20:24], values[60:90] = np.nan, np.nan
        smooth = days_of({"x": values}).smoothed("x")
        assert np.isfinite(smooth[20:24]).all()
        assert np.isnan(smooth[64:86]).all()

    def test_days_are_counted_from_the_first(self) -> None:
        days = days_of({"x": np.ones(DAYS)})
        assert (days.first, days.day_numbers[0], days.day_numbers[-1]) == (pd.Timestamp("2026-01-01"), 0, DAYS - 1)


class TestColumns:
    COUNT = 20

    def _columns(self, *without: str) -> dict[str, np.ndarray]:
        balance = complete_streams(readings(self.COUNT, water=(0.9, 1.1), without=without), plant())
        fits, forces = fit_membranes(balance, plant()), driving_forces(balance, plant())
        return parameter_columns(fits, forces, balance.feed_temperature_c)

    def test_what_was_fitted_and_what_disturbs_it(self) -> None:
        columns = self._columns()
        assert columns[parameter_name(0, "water")] == pytest.approx(np.log(3.2 * 0.9), abs=1e-3)
        assert columns[parameter_name(1, "water")] == pytest.approx(np.log(3.2 * 1.1), abs=1e-3)
        assert columns[course_name(0, "water", TEMPERATURE)] == pytest.approx(-1 / 298.15)
        assert columns[course_name(0, "salt", SALINITY)] == pytest.approx(np.log(2000.0), rel=1e-6)
        assert columns[course_name(0, "friction", VISCOSITY)] == pytest.approx(np.log(0.8902), abs=1e-3)
        assert course_name(0, "water", SALINITY) not in columns

    def test_nothing_fitted_no_columns(self) -> None:
        balance = complete_streams(readings(self.COUNT), plant())
        assert parameter_columns((), driving_forces(balance, plant()), balance.feed_temperature_c) == {}

    def test_without_a_thermometer_no_course_of_temperature(self) -> None:
        balance = complete_streams(readings(self.COUNT), plant())
        columns = parameter_columns(fit_membranes(balance, plant()), driving_forces(balance, plant()), None)
        assert course_name(0, "water", TEMPERATURE) not in columns
        assert course_name(0, "friction", VISCOSITY) not in columns
        assert parameter_name(0, "water") in columns

    def test_closures_one_row_a_day_with_readings(self) -> None:
        frame = readings(self.COUNT, without=TRAIN_ONLY)
        days = pd.DatetimeIndex(frame.index.tz_localize(None).floor("D"))
        used = np.flatnonzero(np.arange(self.COUNT) != 5)
        metered = metered_readings(complete_streams(frame, plant()), plant(), used)
        columns = closure_columns(metered, days[used], plant())
        assert len(columns) == self.COUNT - 1
        assert days[5] not in columns.index
        assert course_name(0, "water", "osmotic") in columns
        assert course_name(1, "water", "osmotic") not in columns  # shared: it stands under the first
        # More osmotic pressure than the law has looks like less permeable membranes.
        assert (columns[course_name(0, "water", "osmotic")] < 0).all()


def test_friction_over_its_drop_goes_with_flow_alone() -> None:
    """Twice the friction, twice the drop; where the stages share it, the drop is that of the train."""
    for without, drop in (((), "stage"), (("stage1_concentrate_pressure",), "train")):
        found = []
        for factor in (1.0, 2.0):
            balance = complete_streams(readings(5, friction=(factor, factor), without=without), plant())
            fits, forces = fit_membranes(balance, plant()), driving_forces(balance, plant())
            by_gauge = parameter_columns(fits, forces, balance.feed_temperature_c)[course_name(0, "friction", GAUGE)]
            shown = forces[0 if drop == "train" else 1].streams.pressure_drop_bar
            assert shown is not None and fits[0].friction_bar is not None
            assert by_gauge == pytest.approx(fits[0].friction_bar / shown)
            found.append(by_gauge[0])
        assert found[1] == pytest.approx(found[0], rel=0.1)
