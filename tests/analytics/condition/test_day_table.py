"""A walk before the membranes counts for its day, and moves nothing else."""

import numpy as np
import pandas as pd

from analytics.assess import assess
from analytics.condition.day_table import BEFORE_MEMBRANES
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


def test_names_before_the_membranes_are_quantities() -> None:
    assert set(COLUMNS) >= BEFORE_MEMBRANES
