"""The flows of the last weeks held against each other: what the meters show, and what would add up best."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from analytics.condition.day_table import RAW
from analytics.judgement.meters import RECENT_DAYS
from analytics.judgement.reconciliation import reconcile
from analytics.quantities import COLUMNS
from server.display import in_reader_units, number, reader_unit

FLOWS = ("feed_flow_m3h", "permeate_flow_m3h", "concentrate_flow_m3h")
ADD_UP = ((1.0, -1.0, -1.0),)
GOOD_TO = 0.02
"""Standard deviation of a flow meter of a skid; common practice, no source. [-]"""


def reconciled_words(document: Mapping[str, Any], days: pd.DataFrame, units: str) -> str:
    """Feed, permeate and concentrate flow in one sentence; empty where they are not all metered, each by itself.

    Parameters
    ----------
    document : mapping
        Whose balances say whether the three were metered.
    days : DataFrame
        The medians of what was measured, by local day, as `raw_<column>`.
    units : str
        Of the reader.
    """
    if "flow balance" not in [one["name"] for one in document.get("balances", [])]:
        return ""
    recent = days[days.index > days.index[-1] - pd.Timedelta(days=RECENT_DAYS)]
    measured = [float(recent[f"{RAW}{name}"].median()) for name in FLOWS]
    if not all(value > 0 for value in measured):  # not read lately, or not flowing
        return ""
    found = reconcile(measured, [GOOD_TO * value for value in measured], ADD_UP)
    quantity = COLUMNS[FLOWS[0]]
    unit = reader_unit(quantity, units)
    shown, best = (
        [in_reader_units(float(v), quantity, units) for v in values] for values in (measured, found.adjusted)
    )
    says = (
        f"Feed, permeate and concentrate flow lately read {shown[0]}, {shown[1]} and {shown[2]} {unit}. They miss each"
        f" other by {number(found.global_test, 1)} times what meters good to 2 % do"
    )
    if found.gross_error:
        return f"{says}: that is no chance, and no values are worked out from them."
    return f"{says}, which may be chance; {best[0]}, {best[1]} and {best[2]} {unit} add up with the least changed."
