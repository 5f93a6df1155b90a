"""What the days of a log say of oxidants before the membranes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.day_table import RAW
from analytics.decisions.dechlorination import (
    DETECTION_LIMIT_MG_L,
    Exposure,
    OrpBaseline,
    chlorine_exposure,
    orp_baseline,
)
from analytics.events import Event
from analytics.judgement.dangers import Oxidants
from analytics.judgement.new_elements import new_elements
from analytics.plant import Plant

Array = npt.NDArray[np.float64]

CHLORINE = "feed_free_chlorine_mg_l"
ORP_HOLDS_DAYS = 7
"""An ORP older than this says nothing of today; common practice, no source. [d]"""


@dataclass(frozen=True)
class OxidantRecord:
    """What the days of a log say of oxidants.

    Attributes
    ----------
    since : date or None
        First day of the oldest elements: the earliest, over the stages, of the day on which all elements of the stage
        were new last; the first of the log where a stage never had all new ones. None without days.
    exposure : Exposure or None
        Free chlorine since then; None where none was measured.
    orp : OrpBaseline or None
        The site's own ORP and the latest; None with too few days.
    orp_holds : bool
        Whether the latest ORP is recent enough to speak of today.
    """

    since: date | None
    exposure: Exposure | None
    orp: OrpBaseline | None
    orp_holds: bool


def oxidant_record(days: pd.DataFrame, events: Sequence[Event], plant: Plant) -> OxidantRecord:
    """Exposure of the oldest elements, and ORP against the site's own.

    Parameters
    ----------
    days : DataFrame
        Medians by local day, `raw_<column>`.
    events : sequence of Event
    plant : Plant
    """
    if not len(days):
        return OxidantRecord(None, None, None, orp_holds=False)
    index = pd.DatetimeIndex(days.index)
    since = oldest_elements(index, events, plant)
    orp = _column(days, "feed_orp_mv")
    base = orp_baseline(orp, _column(days, CHLORINE), detection_limit_mg_l=DETECTION_LIMIT_MG_L)
    recent = bool(np.isfinite(orp[index > index[-1] - pd.Timedelta(days=ORP_HOLDS_DAYS)]).any())
    return OxidantRecord(since.date(), exposure_since(chlorine_by_day(days), since.date()), base, orp_holds=recent)


def oldest_elements(days: pd.DatetimeIndex, events: Sequence[Event], plant: Plant) -> pd.Timestamp:
    """From when on all elements of the train have been in: a few new ones do not make the others younger."""
    whole = [new for new in new_elements(events, plant) if new.share == 1 and new.day <= days[-1]]
    stages = range(1, len(plant.train.stages) + 1)
    return min(max((new.day for new in whole if new.stage == stage), default=days[0]) for stage in stages)


def chlorine_by_day(days: pd.DataFrame) -> pd.Series:
    """Free chlorine by local day, NaN where none was measured. [mg/L]"""
    return pd.Series(_column(days, CHLORINE), index=days.index)


def exposure_since(chlorine_mg_l: pd.Series, since: date) -> Exposure | None:
    """Free chlorine that the membranes have seen from a day on; None where none was measured since.

    Parameters
    ----------
    chlorine_mg_l : Series
        By local day, NaN where none was measured. [mg/L]
    since : date

    Notes
    -----
    As if the train had run all day. A value below the detection limit counts as none in `least`, as that much in
    `most`.
    """
    recent = chlorine_mg_l[chlorine_mg_l.index >= pd.Timestamp(since)]
    chlorine = recent.to_numpy(dtype=np.float64)
    if not np.isfinite(chlorine).any():
        return None
    index = pd.DatetimeIndex(recent.index)
    hours = np.asarray((index - index[0]) / pd.Timedelta(hours=1), dtype=np.float64)
    return chlorine_exposure(hours, chlorine, end_h=hours[-1] + 24, detection_limit_mg_l=DETECTION_LIMIT_MG_L)


def oxidants_of(days: pd.DataFrame, events: Sequence[Event], plant: Plant) -> Oxidants:
    """The same as the verdict looks at it: the least exposure, and an ORP that speaks of today."""
    found = oxidant_record(days, events, plant)
    if found.since is None:
        return Oxidants()
    return Oxidants(
        np.nan if found.exposure is None else found.exposure.least,
        found.since,
        found.orp.latest if found.orp is not None and found.orp_holds else np.nan,
        found.orp.without_chlorine if found.orp is not None else np.nan,
    )


def _column(days: pd.DataFrame, name: str) -> Array:
    column = f"{RAW}{name}"
    return days[column].to_numpy(dtype=np.float64) if column in days else np.full(len(days), np.nan)
