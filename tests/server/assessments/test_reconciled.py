"""The flows of the last weeks in one sentence; figures worked by hand."""

import pandas as pd
import pytest

from server.assessments.reconciled import reconciled_words

METERED = {"balances": [{"name": "flow balance"}]}


def days(feed: float) -> pd.DataFrame:
    index = pd.date_range("2026-01-01", periods=30, freq="D")
    flows = {"raw_feed_flow_m3h": feed, "raw_permeate_flow_m3h": 15.0, "raw_concentrate_flow_m3h": 5.0}
    return pd.DataFrame(flows, index)


def test_a_miss_by_chance_is_shared_out() -> None:
    """20.9 / 15.0 / 5.0 m3/h at 2 %: z = 1.717, and 20.33, 15.29 and 5.03 close."""
    words = reconciled_words(METERED, days(20.9), "SI")
    assert "by 1.7 times" in words and "20.3" in words and "15.3" in words and "5.03" in words


def test_a_gross_error_is_not_shared_out() -> None:
    """23.0 / 15.0 / 5.0 m3/h: z = 5.374."""
    words = reconciled_words(METERED, days(23.0), "SI")
    assert "by 5.4 times" in words and "no values are worked out" in words


def test_flows_that_were_worked_out_prove_nothing() -> None:
    assert reconciled_words({"balances": []}, days(20.9), "SI") == ""


@pytest.mark.parametrize("feed", [float("nan"), 0.0, -1.0])
def test_a_flow_that_was_not_read_lately_or_does_not_flow_is_not_shared_out(feed: float) -> None:
    assert reconciled_words(METERED, days(feed), "SI") == ""
