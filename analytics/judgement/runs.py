"""Runs: the time between two interventions. Trends live inside a run and never reach across one."""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from analytics.events import STEP, Event

START_OF_LOG = "start of the log"


@dataclass(frozen=True)
class Run:
    """Days from `start` to `end` (both local, both included), and what opened it."""

    start: pd.Timestamp
    end: pd.Timestamp
    opened_by: str
    stage: int | None = None


def split_runs(
    first: pd.Timestamp, last: pd.Timestamp, events: Sequence[Event], timezone: str, *, scope: str
) -> tuple[Run, ...]:
    """Split the log of one scope at the interventions that concern it.

    Parameters
    ----------
    first, last : Timestamp
        First and last local day of the log, without time zone.
    events : sequence of Event
    timezone : str
    scope : str
        `train`, or a stage: an intervention on another stage does not end a stage's run.

    Notes
    -----
    The day of an intervention opens the new run. Several on one day make one cut.
    """
    cuts: dict[pd.Timestamp, Event] = {}
    for event in events:
        concerned = scope == "train" or event.stage is None or scope == f"stage{event.stage}"
        day = pd.Timestamp(event.time).tz_convert(timezone).tz_localize(None).floor("D")
        if event.ends_run and concerned and first < day <= last and (day not in cuts or event.kind != STEP):
            cuts[day] = event
    starts = [first, *sorted(cuts)]
    ends = [*(day - pd.Timedelta(days=1) for day in starts[1:]), last]
    return tuple(
        Run(
            start,
            end,
            _opener(cuts[start]) if start in cuts else START_OF_LOG,
            cuts[start].stage if start in cuts else None,
        )
        for start, end in zip(starts, ends, strict=True)
    )


def _opener(event: Event) -> str:
    """A step that an event explains is named after it."""
    return event.detail if event.kind == STEP and event.detail else event.kind
