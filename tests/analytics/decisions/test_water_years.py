"""Energy and feed of a cubic metre, year by year, by hand."""

import numpy as np
import pandas as pd
import pytest

from analytics.decisions.water_years import per_m3, water_years


def log(**columns: float) -> pd.DataFrame:
    return pd.DataFrame(columns, index=pd.date_range("2024-07-01", "2025-12-31", freq="D"))


def test_a_year_by_hand() -> None:
    """15 m3/h at 75 % and 12 bar with a wire-to-water efficiency of 0.70 * 0.93: 0.683 kWh/m3 (the worked example of an
    economic cleaning interval, `cheapest_interval`); 1 / 0.75 m3 of feed."""
    days = log(permeate_flow_m3h=15.0, concentrate_flow_m3h=5.0, feed_pressure_bar=12.0)
    first, second = water_years(days, efficiency=0.70 * 0.93)
    assert (first.year, first.days, second.year) == (2024, 184, 2025)
    assert first.share == pytest.approx(184 / 366) and second.share == 1.0
    assert first.energy_kwh_m3 == pytest.approx(0.683, abs=0.001) and first.feed_m3_m3 == pytest.approx(4 / 3)
    assert per_m3(second, {"elements": 4320.0}, availability=0.9)["elements"] == pytest.approx(0.0365, abs=5e-5)


def test_what_was_not_read_is_not_known() -> None:
    (first, second) = water_years(log(permeate_flow_m3h=15.0, feed_flow_m3h=20.0), efficiency=0.65)
    assert first.energy_kwh_m3 is None and second.feed_m3_m3 == pytest.approx(4 / 3)
    assert water_years(log(feed_pressure_bar=12.0), efficiency=0.65) == ()
    few = log(permeate_flow_m3h=15.0)
    few.loc["2024-07-10":, "permeate_flow_m3h"] = np.nan  # type: ignore[misc]
    assert water_years(few, efficiency=0.65) == ()


def test_days_of_much_water_count_more() -> None:
    """By hand: 100 days of 10 m3/h at 20 bar and 84 of 20 m3/h at 10 bar, all of the feed made into permeate."""
    days = log(permeate_flow_m3h=10.0, feed_flow_m3h=10.0, feed_pressure_bar=20.0).iloc[:184]
    days.iloc[100:] = [20.0, 20.0, 10.0]
    (year,) = water_years(days, efficiency=1.0)
    assert year.energy_kwh_m3 == pytest.approx((100 * 10 * 20 + 84 * 20 * 10) / 36 / (100 * 10 + 84 * 20))
