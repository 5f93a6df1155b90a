"""The answer to a log: one frozen record of what was found, and of everything that it rests on."""

from dataclasses import dataclass, field
from datetime import datetime

import pandas as pd

from analytics.condition.day_table import RAW, Counts
from analytics.condition.membrane_model import ModelDays
from analytics.condition.normalized import NormalizedLog
from analytics.condition.reference import ReferencePeriod
from analytics.condition.screened_log import LogBasis, ScreenedLog, basis_of
from analytics.condition.streams import Missing
from analytics.decisions.calibrations import Calibration, calibrations_of
from analytics.decisions.cleaning_history import CleaningHistory
from analytics.decisions.cleaning_window import CleaningWindow, cleaning_window
from analytics.events import Event
from analytics.judgement.cause import Cause
from analytics.judgement.explained import ExplainedStep
from analytics.judgement.grounds import Grounds, Verdict
from analytics.judgement.judged import STALE_DAYS, Judged
from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Equation, Meter
from analytics.judgement.new_elements import NewReference
from analytics.judgement.observed import Seen
from analytics.judgement.run_facts import RunFact
from analytics.judgement.runs import Run
from analytics.judgement.thermometer import ThermometerCheck
from analytics.judgement.trend import Trend
from analytics.plant import Plant
from analytics.quantities import COLUMNS


@dataclass(frozen=True)
class Assessment:
    """The answer, with everything it rests on.

    `daily`, `indicators` and `trends` are of the best method that the data allow: the membrane model for the columns
    named in `modelled`, the standard method for the rest. `by_standard` judges all by the standard method, whose days
    stand in `daily` under `standard_<scope>_<indicator>` where the model's took their place. `disagreement` says in one
    sentence why the two differ; empty where they agree. `cleanings` is what became of each cleaning among the events.

    `days` is the table of all days that the rest is made from, `screened` the readings that it was worked out from: all
    of them, or the part that was given beside what was known. `log` is the same with every intermediate, of a long log
    (`screened_log.LONG`) that of the reference and of the last days only. `span` is the first and last reading of the
    whole log.
    """

    plant: Plant
    as_of: datetime
    version: str
    screened: ScreenedLog
    log: NormalizedLog
    days: pd.DataFrame
    span: tuple[datetime, datetime] | None
    method: str
    modelled: tuple[str, ...]
    daily: pd.DataFrame
    daily_set_aside: pd.DataFrame
    indicators: tuple[Indicator, ...]
    trends: tuple[Trend, ...]
    runs: tuple[Run, ...]
    by_standard: Judged
    model: ModelDays | None
    meters: tuple[Meter, ...]
    verdict: Verdict
    grounds: Grounds
    counts: Counts
    missing: tuple[Missing, ...]
    notes: tuple[str, ...]
    cleanings: CleaningHistory
    causes: tuple[Cause, ...] = ()
    steps: tuple[ExplainedStep, ...] = ()
    run_facts: tuple[RunFact, ...] = ()
    balances: tuple[Equation, ...] = ()
    seen: Seen | None = None
    thermometer: ThermometerCheck = field(default_factory=ThermometerCheck)
    events: tuple[Event, ...] = field(default=())
    disagreement: str = ""
    references: tuple[NewReference, ...] = ()

    @property
    def readings(self) -> pd.DataFrame:
        return self.screened.readings

    @property
    def reason(self) -> pd.Series:
        return self.screened.reason

    @property
    def normalized(self) -> pd.DataFrame:
        return self.log.normalized

    @property
    def measured(self) -> pd.DataFrame:
        """Daily medians of what was measured, by canonical column, on the days of `daily`."""
        names = [name for name in self.days.columns if name.startswith(RAW)]
        return self.days.reindex(self.daily.index)[names].rename(columns=lambda name: name.removeprefix(RAW))

    @property
    def basis(self) -> LogBasis | None:
        """What it takes to work out some days of this log by themselves; None where they cannot be."""
        return basis_of(self.screened)

    @property
    def reference(self) -> ReferencePeriod | None:
        return self.log.reference

    @property
    def cleaning(self) -> CleaningWindow:
        """When to clean, by the local day of the answer."""
        today = pd.Timestamp(self.as_of).tz_convert(self.plant.site.timezone).date()
        return cleaning_window(
            self.indicators, self.trends, self.causes, self.meters, today=today, programme=self.cleanings.programme
        )

    @property
    def calibrations(self) -> tuple[Calibration, ...]:
        """Of the meters that were read in the last weeks: which are due, by the local day of the answer."""
        if self.span is None or not len(self.daily):
            return ()
        meters, zone = self.plant.train.meters, self.plant.site.timezone
        today, since = (pd.Timestamp(when).tz_convert(zone).date() for when in (self.as_of, self.span[0]))
        recent = self.measured[self.daily.index > self.daily.index[-1] - pd.Timedelta(days=STALE_DAYS)]
        read = [COLUMNS[name].name for name in recent.columns if name in COLUMNS and recent[name].notna().any()]
        return calibrations_of(read, self.events, meters, since=since, today=today, timezone=zone)
