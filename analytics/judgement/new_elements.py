"""New elements begin a new reference: of their stage, or of the train where all were replaced.

Ratios from then on are multiplied so that they begin where new elements should: at one where all of a stage are new;
where some are, at what its level before and their share predict, so that the loss of those that stayed remains to be
seen.
The train keeps its reference while any element stays; its runs end there all the same.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analytics.condition.membrane_model import ModelDays
from analytics.condition.reference import DAYS, LEAST_DAYS, SETTLING_DAYS
from analytics.events import Event
from analytics.plant import Plant

KIND = "element-replacement"
COUNT = re.compile(r"\s*(\d{1,4})\s+new\b")
"""How the detail of an event begins that says how many elements are new, such as "3 new of 18"."""
LOOK_BACK_DAYS = 60
"""The level before rests on the last fortnight of days within this. [d]"""
MOST_WORSE = 0.15
"""New elements that begin worse than predicted by more than this share are no reference: a seal, an interconnector or
an element is looked for first. Common practice, no source. [-]"""


@dataclass(frozen=True)
class NewElements:
    """New elements in one stage: the local day, and their share of its elements. [-]"""

    stage: int
    day: pd.Timestamp
    share: float


@dataclass(frozen=True)
class NewReference:
    """From when on the ratios of a column are multiplied by what; `days` are first and last of the new reference."""

    column: str
    day: pd.Timestamp
    factor: float
    days: tuple[pd.Timestamp, pd.Timestamp]


def new_elements(events: Sequence[Event], plant: Plant) -> tuple[NewElements, ...]:
    """Replacements by stage, in the order of time; one of the whole train is one in each stage.

    Examples
    --------
    The detail "3 new of 18" says that three are new; without such a beginning all of the stage are.
    """
    stages = plant.train.stages
    found: list[NewElements] = []
    for event in sorted((e for e in events if e.kind == KIND), key=lambda e: e.time):
        day = pd.Timestamp(event.time).tz_convert(plant.site.timezone).tz_localize(None).floor("D")
        where = range(1, len(stages) + 1) if event.stage is None else [event.stage]
        present = sum(stages[number - 1].elements for number in where)
        said = COUNT.match(event.detail)
        share = min(int(said[1]) / present, 1.0) if said and int(said[1]) else 1.0
        found += [NewElements(number, day, share) for number in where]
    return tuple(found)


def new_references(
    daily: pd.DataFrame, events: Sequence[Event], plant: Plant, *, after: pd.Timestamp
) -> tuple[NewReference, ...]:
    """What the ratios of stages (and of the train) are to be multiplied by since they have new elements.

    Parameters
    ----------
    daily : DataFrame
        `<scope>_<indicator>` over the first reference by local day, NaN where a day is not used. [-]
    events : sequence of Event
    plant : Plant
    after : Timestamp
        End of the first reference; what was replaced before is part of it.

    Returns
    -------
    tuple of NewReference
        In the order of time. None for a column of which too few days are known yet, or which begins much worse than new
        elements should, or where a cleaning of what stayed hides what the new ones did.

    Notes
    -----
    With the level before :math:`x`, the share of new elements :math:`p` and the level after :math:`y`, the factor is
    :math:`(p + (1 - p) x) / y`. A stage of twelve at 0.80 that gets three new ones is predicted at 0.85; measured at
    0.88, its days are multiplied by 0.966.
    """
    found: list[NewReference] = []
    renewed = [one for one in new_elements(events, plant) if one.day > after]
    known = daily.copy()
    for day, scope, share in _by_scope(renewed, plant):
        if share < 1 and _cleaned_then(events, plant, day):
            continue
        for column in [c for c in known.columns if str(c).startswith(f"{scope}_")]:
            new = _new_reference(known[column], day, share, falls=str(column).endswith("permeate_flow"))
            if new is not None:
                found.append(new)
                known.loc[known.index >= day, column] *= new.factor
    return tuple(found)


def _by_scope(renewed: Sequence[NewElements], plant: Plant) -> list[tuple[pd.Timestamp, str, float]]:
    """Day, scope and share; the train has new elements where every stage has none but new ones from one day."""
    found = [(one.day, f"stage{one.stage}", one.share) for one in renewed]
    for day in sorted({one.day for one in renewed}):
        whole = {one.stage for one in renewed if one.day == day and one.share == 1}
        if len(whole) == len(plant.train.stages):
            found.append((day, "train", 1.0))
    return sorted(found)


def _cleaned_then(events: Sequence[Event], plant: Plant, day: pd.Timestamp) -> bool:
    first, last = day - pd.Timedelta(days=DAYS), day + pd.Timedelta(days=DAYS)
    days = (
        pd.Timestamp(e.time).tz_convert(plant.site.timezone).tz_localize(None) for e in events if e.kind == "cleaning"
    )
    return any(first <= one <= last for one in days)


def _new_reference(series: pd.Series, day: pd.Timestamp, share: float, *, falls: bool) -> NewReference | None:
    known = series[series.notna()]
    before = known[(known.index < day) & (known.index >= day - pd.Timedelta(days=LOOK_BACK_DAYS))].iloc[-DAYS:]
    settled = known[known.index >= day + pd.Timedelta(days=SETTLING_DAYS)].iloc[:DAYS]
    if len(settled) < LEAST_DAYS or (share < 1 and len(before) < LEAST_DAYS):
        return None
    predicted = 1.0 if share == 1 else share + (1 - share) * float(before.median())
    factor = predicted / float(settled.median())
    worse = factor - 1 if falls else 1 / factor - 1
    if not np.isfinite(factor) or worse > MOST_WORSE:
        return None
    return NewReference(str(series.name), day, factor, (settled.index[0], settled.index[-1]))


@dataclass(frozen=True)
class Renewed:
    """Days of both methods over the new references, and those."""

    standard: pd.DataFrame
    model: ModelDays | None
    references: tuple[NewReference, ...]


def over_new_elements(
    standard: pd.DataFrame,
    model: ModelDays | None,
    events: Sequence[Event],
    plant: Plant,
    *,
    names: Sequence[str],
    after: pd.Timestamp,
) -> Renewed:
    """Days of both methods, each over new references of its own since there are new elements.

    Parameters
    ----------
    standard : DataFrame
        By the standard method; `names` are its ratios, the other columns stay. [-]
    model : ModelDays or None
    events, plant, after
        See `new_references`.
    """
    by_standard = new_references(standard[list(names)], events, plant, after=after)
    standard = _multiplied(standard, by_standard)
    if model is None:
        return Renewed(standard, None, by_standard)
    by_model = new_references(model.daily, events, plant, after=after)
    model = replace(model, daily=_multiplied(model.daily, by_model), level=_multiplied(model.level, by_model))
    beside = tuple(one for one in by_standard if one.column not in model.daily.columns)
    return Renewed(standard, model, (*beside, *by_model))


def _multiplied(frame: pd.DataFrame, references: Sequence[NewReference]) -> pd.DataFrame:
    changed: dict[str, pd.Series] = {}
    for one in references:
        series = changed.get(one.column, frame[one.column])
        changed[one.column] = series.where(series.index < one.day, series * one.factor)
    return frame.assign(**changed) if changed else frame


def reference_notes(references: Sequence[NewReference]) -> tuple[str, ...]:
    """A sentence for each stage with a new reference, the newest alone."""
    newest = {one.column.split("_")[0]: one for one in references}
    return tuple(
        f"{scope.capitalize().replace('Stage', 'Stage ')} has new elements since {one.day:%Y-%m-%d}: since then it is "
        f"compared with its days from {one.days[0]:%Y-%m-%d} to {one.days[1]:%Y-%m-%d}."
        for scope, one in newest.items()
    )
