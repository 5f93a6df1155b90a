"""A walk before the membranes counts for its day, and moves nothing else."""

import numpy as np
import pandas as pd

from analytics.assess import assess
from analytics.condition.day_table import BEFORE_MEMBRANES, used_days, walked_days
from analytics.quantities import COLUMNS
from tests.analytics.condition.steady_train import living, plant

REFERENCE = {"reference": {"start": "2026-01-01", "end": "2026-01-10"}}


def with_walks(log: pd.DataFrame, sdi: float) -> pd.DataFrame:
    """The same log with an SDI test every fifth day, written down alone at an hour of its own."""
    days = pd.DatetimeIndex(log.index).normalize().unique()[2::5] + pd.Timedelta(hours=10)
    walks = pd.DataFrame({"feed_sdi": sdi, "feed_free_chlorine_mg_l": 0.0}, index=days)
    return pd.concat([log, walks]).sort_index()


def test_what_is_read_alone_counts_for_its_day_and_speaks_for_a_cause() -> None:
    log, built = living(days=40), plant(**REFERENCE)
    alone, walked = assess(built, log), assess(built, with_walks(log, 4.6))
    found = walked.measured["feed_sdi"].dropna()
    assert len(found) == 8 and set(found) == {4.6}
    assert walked.counts.set_aside["value missing"] == alone.counts.set_aside.get("value missing", 0) + 8
    assert walked.counts.used == alone.counts.used
    names = [name for name in alone.daily.columns if not name.endswith(tuple(BEFORE_MEMBRANES))]
    np.testing.assert_array_equal(walked.daily[names].to_numpy(), alone.daily[names].to_numpy())


def test_a_day_on_which_nothing_else_was_read_counts_for_what_the_membranes_have_seen() -> None:
    """0.5 mg/L of free chlorine for a day of 24 h is 12 ppm h; nobody read the train on that day."""
    log = living(days=40)
    quiet = pd.Timestamp("2026-02-04", tz="UTC")
    log = log[pd.DatetimeIndex(log.index).normalize() != quiet]
    none = pd.DataFrame(
        {"feed_free_chlorine_mg_l": 0.0}, index=pd.DatetimeIndex(["2026-01-02T10:00Z", "2026-02-05T10:00Z"])
    )
    found = pd.DataFrame({"feed_free_chlorine_mg_l": 0.5}, index=pd.DatetimeIndex([quiet + pd.Timedelta(hours=10)]))
    built = plant(limits={"max_chlorine_exposure_ppm_h": 11.0}, **REFERENCE)
    clean = assess(built, pd.concat([log, none]).sort_index())
    seen = assess(built, pd.concat([log, none, found]).sort_index())
    assert not any("chlorine" in danger.headline for danger in clean.grounds.dangers)
    assert any("chlorine" in danger.headline for danger in seen.grounds.dangers)
    assert pd.Timestamp("2026-02-04") not in seen.daily.index  # no indicator has that day
    assert len(walked_days(seen.days)) == len(used_days(seen.days)) + 1


def test_names_before_the_membranes_are_quantities() -> None:
    assert set(COLUMNS) >= BEFORE_MEMBRANES
