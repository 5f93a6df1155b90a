"""Oxidants from the days of a log: since when, how much, and silence where nothing was measured."""

import numpy as np
import pandas as pd

from analytics.decisions.oxidant_record import oxidants_of
from analytics.events import Event
from tests.analytics.condition.modelled_train import plant

TWO_STAGES = plant()
DAYS = pd.date_range("2026-01-01", periods=180, freq="D")


def test_what_is_not_metered_is_not_known() -> None:
    found = oxidants_of(pd.DataFrame(index=DAYS), (), TWO_STAGES)
    assert np.isnan(found.exposure_ppm_h) and np.isnan(found.orp_mv) and np.isnan(found.orp_without_chlorine_mv)


def test_half_a_year_of_a_little_chlorine() -> None:
    """0.05 mg/L for 180 days: 0.05 x 24 x 180 = 216 mg/L x h; with new elements on day 150, 30 days are 36."""
    days = pd.DataFrame({"raw_feed_free_chlorine_mg_l": 0.05}, index=DAYS)
    new = Event(pd.Timestamp("2026-05-31T08:00Z").to_pydatetime(), "element-replacement", None, "")
    assert round(oxidants_of(days, (), TWO_STAGES).exposure_ppm_h, 6) == 216.0
    after = oxidants_of(days, (new,), TWO_STAGES)
    assert (round(after.exposure_ppm_h, 6), after.since.isoformat()) == (36.0, "2026-05-31")


def test_a_few_new_elements_do_not_make_the_others_younger() -> None:
    """Exposure is that of the oldest elements: of a few new ones nothing changes, and of stage by stage the first."""
    days = pd.DataFrame({"raw_feed_free_chlorine_mg_l": 0.05}, index=DAYS)

    def new(day: str, stage: int | None, detail: str = "") -> Event:
        return Event(pd.Timestamp(f"{day}T08:00Z").to_pydatetime(), "element-replacement", stage, detail)

    for event in (new("2026-05-31", None, "3 new of 18"), new("2026-05-31", 1)):
        assert oxidants_of(days, (event,), TWO_STAGES).since == DAYS[0].date()
    one_by_one = (new("2026-03-02", 1), new("2026-05-31", 2))
    assert oxidants_of(days, one_by_one, TWO_STAGES).since == pd.Timestamp("2026-03-02").date()


def test_orp_of_last_week_only() -> None:
    """The site's own is the median of days without chlorine; an ORP that ended weeks ago is not today's."""
    orp = np.where(np.arange(180) < 179, 180.0, 260.0)
    days = pd.DataFrame({"raw_feed_orp_mv": orp, "raw_feed_free_chlorine_mg_l": 0.0}, index=DAYS)
    found = oxidants_of(days, (), TWO_STAGES)
    assert (found.orp_mv, found.orp_without_chlorine_mv) == (260.0, 180.0)
    assert np.isnan(
        oxidants_of(days.assign(raw_feed_orp_mv=np.where(np.arange(180) < 150, 180.0, np.nan)), (), TWO_STAGES).orp_mv
    )
