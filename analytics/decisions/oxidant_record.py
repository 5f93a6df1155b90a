"""What the days of a log say of oxidants before the membranes."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.day_table import RAW
from analytics.decisions.dechlorination import DETECTION_LIMIT_MG_L, chlorine_exposure, orp_baseline
from analytics.events import Event
from analytics.judgement.dangers import Oxidants

Array = npt.NDArray[np.float64]

ORP_HOLDS_DAYS = 7
"""An ORP older than this says nothing of today; common practice, no source. [d]"""


def oxidants_of(days: pd.DataFrame, events: Sequence[Event], timezone: str) -> Oxidants:
    """Exposure since the latest new elements, and ORP against the site's own.

    Parameters
    ----------
    days : DataFrame
        Medians by local day, `raw_<column>`.
    events : sequence of Event
    timezone : str
        Of the site.

    Notes
    -----
    As if the train had run all day. A value below the detection limit counts as none.
    """
    if not len(days):
        return Oxidants()
    index = pd.DatetimeIndex(days.index)
    new = [
        pd.Timestamp(e.time).tz_convert(timezone).tz_localize(None).floor("D")
        for e in events
        if e.kind == "element-replacement"
    ]
    since = max((day for day in new if day <= index[-1]), default=index[0])
    chlorine, orp = _column(days, "feed_free_chlorine_mg_l"), _column(days, "feed_orp_mv")
    base = orp_baseline(orp, chlorine, detection_limit_mg_l=DETECTION_LIMIT_MG_L)
    recent = np.isfinite(orp[index > index[-1] - pd.Timedelta(days=ORP_HOLDS_DAYS)]).any()
    return Oxidants(
        _exposure(index[index >= since], chlorine[index >= since]),
        since.date(),
        base.latest if base is not None and recent else np.nan,
        base.without_chlorine if base is not None else np.nan,
    )


def _column(days: pd.DataFrame, name: str) -> Array:
    column = f"{RAW}{name}"
    return days[column].to_numpy(dtype=np.float64) if column in days else np.full(len(days), np.nan)


def _exposure(days: pd.DatetimeIndex, chlorine: Array) -> float:
    if not np.isfinite(chlorine).any():
        return float("nan")
    hours = np.asarray((days - days[0]) / pd.Timedelta(hours=1), dtype=np.float64)
    return chlorine_exposure(hours, chlorine, end_h=hours[-1] + 24, detection_limit_mg_l=DETECTION_LIMIT_MG_L).least
