"""The slope of a line that bends, where a log has holes."""

import numpy as np
import pandas as pd
import pytest

from analytics.judgement.bending_line import COURSE_DAYS, USUAL_SLOPE, bending_line


@pytest.mark.parametrize("silent", [36, 50, 75, 120, 200, COURSE_DAYS - 40])
@pytest.mark.parametrize("since", [1, 2, 9])
def test_a_log_that_goes_on_after_a_long_silence_has_a_slope_of_the_usual_size(silent: int, since: int) -> None:
    """Nothing was read five weeks ago, so that no slope of the last weeks can be held against an earlier one."""
    day = np.r_[np.arange(30), 29 + silent + np.arange(since)]
    values = 1 - 0.0005 * day + 0.004 * np.random.default_rng(5).normal(size=len(day))
    course = pd.Series(values, pd.Timestamp("2026-01-05") + pd.to_timedelta(day, unit="D"))
    found = bending_line(course, level=float(values[-1]))
    assert abs(found.slope + 0.0005) < 3 * found.error < 3 * 2 * USUAL_SLOPE
