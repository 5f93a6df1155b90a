"""The wear of the elements of one stage, from the days of a log: levels, cleanings, renewals, and the trade."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import pandas as pd

from analytics.condition.reference_run import ReferenceTrain
from analytics.decisions.cleaning_experience import OWN_PART, expected_share
from analytics.decisions.cleaning_history import JudgedCleaning
from analytics.decisions.levels import levels_after_cleaning
from analytics.decisions.wear import (
    DAYS_PER_YEAR,
    FLOW_GIVEN_BACK,
    NOTHING_GIVEN_BACK,
    SALT_GIVEN_BACK,
    Prior,
    Renewal,
    Wear,
    irreversible_trend,
    wear_after_damage,
)
from analytics.events import Event
from analytics.judgement.cause import Cause
from analytics.judgement.new_elements import NewElements, NewReference, new_elements
from analytics.plant import Plant

CUTS = ("cleaning", "element-move")
"""What a level may jump at, beside new elements."""


@dataclass(frozen=True)
class LogForLife:
    """What of a log the life rests on.

    Attributes
    ----------
    daily : DataFrame
        `<scope>_<indicator>` ratios by local day, days out of line NaN. [-]
    measured : DataFrame
        Daily medians of canonical columns as they were read.
    causes : sequence of Cause
    cleanings : sequence of JudgedCleaning
        What the cleanings of the log gave back, oldest first.
    references : sequence of NewReference
        By which days since new elements were multiplied.
    """

    daily: pd.DataFrame
    measured: pd.DataFrame
    events: Sequence[Event]
    causes: Sequence[Cause]
    reference_days: tuple[pd.Timestamp, pd.Timestamp] | None
    train: ReferenceTrain | None
    cleanings: Sequence[JudgedCleaning] = ()
    references: Sequence[NewReference] = ()


def stage_wear(
    plant: Plant,
    log: LogForLife,
    stage: int,
    indicator: Literal["permeate_flow", "salt_passage"],
    prior: Prior,
    *,
    damaged: bool,
) -> Wear:
    """Wear of one stage by one indicator: by its own days where it has some, else by those of the train.

    Parameters
    ----------
    plant : Plant
    log : LogForLife
    stage : int
    indicator : {"permeate_flow", "salt_passage"}
    prior : Prior
        The trade's experience.
    damaged : bool
        Whether the elements were damaged at once.

    Returns
    -------
    Wear
    """
    name = f"stage{stage}_{indicator}"
    name = name if name in log.daily.columns else f"train_{indicator}"
    if name not in log.daily.columns or not log.daily[name].notna().any():
        return irreversible_trend((), prior, now_years=0.0)
    where = None if name.startswith("train") else stage
    renewed = [one for one in new_elements(log.events, plant) if where in (None, one.stage)]
    whole = max((one.day for one in renewed if one.share == 1 and where), default=None)
    known = log.daily[name].dropna()
    known = known[known.index > whole] if whole is not None else known
    if known.empty:
        return irreversible_trend((), prior, now_years=0.0)
    trade = FLOW_GIVEN_BACK if indicator == "permeate_flow" else SALT_GIVEN_BACK
    expected = expected_share(
        log.cleanings, stage=stage, name=indicator, trade=trade, since=None if whole is None else whole.date()
    )
    levels = levels_after_cleaning(
        known,
        [*_cleaned(log.events, plant, where), *(one.day for one in renewed)],
        direction="falls" if indicator == "permeate_flow" else "rises",
        given_back=NOTHING_GIVEN_BACK if damaged else expected.given_back,
        uneven=math.sqrt(OWN_PART) * trade.error,
    )
    if damaged:
        return wear_after_damage(levels, prior)
    return irreversible_trend(
        levels, prior, now_years=_years(known, known.index[-1]), renewals=_renewals(renewed, known, plant, where)
    )


def _cleaned(events: Sequence[Event], plant: Plant, stage: int | None) -> list[pd.Timestamp]:
    return [
        pd.Timestamp(event.time).tz_convert(plant.site.timezone).tz_localize(None).floor("D")
        for event in events
        if event.kind in CUTS and (stage is None or event.stage in (None, stage))
    ]


def _renewals(renewed: Sequence[NewElements], known: pd.Series, plant: Plant, stage: int | None) -> tuple[Renewal, ...]:
    """Renewals of parts within the days of a series; those of a stage are a part of the train."""
    stages = plant.train.stages
    present = sum(one.elements for one in stages) if stage is None else stages[stage - 1].elements
    return tuple(
        Renewal(_years(known, one.day), one.share * stages[one.stage - 1].elements / present)
        for one in renewed
        if one.day > known.index[0]
    )


def _years(known: pd.Series, day: pd.Timestamp) -> float:
    return float((day - known.index[0]).days) / DAYS_PER_YEAR
