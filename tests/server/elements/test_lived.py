"""What an element has been through adds up over its places, also over those in another train of the site."""

from datetime import date

import pandas as pd

from analytics.decisions.dechlorination import Exposure
from server.elements.lived import Lived, _Record

DAYS = pd.date_range("2026-01-01", periods=100, freq="D")
RECORD = _Record(
    pd.DataFrame({"raw_hours_counter_h": [20.0 * n for n in range(100)]}, index=DAYS),
    pd.Series(0.05, index=DAYS),
    ((date(2026, 1, 11), None), (date(2026, 2, 10), 2), (date(2026, 3, 1), 1)),
)
TODAY = date(2026, 4, 10)


def test_one_stay_by_hand() -> None:
    """99 days from 1 January: 1980 h, one cleaning of the whole train and one of stage 1, 100 days of 1.2 mg h/L."""
    found = RECORD.lived(1, date(2026, 1, 1), None, TODAY)
    assert (found.days, found.hours, found.cleanings) == (99, 1980.0, 2)
    assert found.exposure is not None and round(found.exposure.least, 6) == 120.0


def test_two_stays_one_after_the_other_are_as_one() -> None:
    whole = RECORD.lived(1, date(2026, 1, 1), None, TODAY)
    first = RECORD.lived(1, date(2026, 1, 1), date(2026, 3, 1), TODAY)
    found = first.and_then(RECORD.lived(1, date(2026, 3, 1), None, TODAY))
    assert (found.days, found.hours, found.cleanings) == (whole.days, whole.hours, whole.cleanings)
    assert found.exposure is not None and round(found.exposure.least, 6) == 120.0


def test_what_one_train_did_not_measure_leaves_what_the_other_did() -> None:
    nothing, some = Lived(10, None, 1, None), Lived(5, 100.0, 0, Exposure(1.0, 2.0, 24.0, 0.0))
    assert nothing.and_then(some) == some.and_then(nothing) == Lived(15, 100.0, 1, Exposure(1.0, 2.0, 24.0, 0.0))
