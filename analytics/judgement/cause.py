"""A cause with its probability, what else is known beside the indicators, and which gauge comes before a cleaning."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from analytics.judgement.cause_words import PLAIN_CHECK
from analytics.judgement.meters import Equation, Meter
from analytics.judgement.observed import Seen
from analytics.judgement.thermometer import ThermometerCheck
from analytics.judgement.vessel_rounds import LEAK, WORN_ALIKE, VesselsSaid

SOURCE_STEP = 0.15
"""A step of the feed's salinity beyond this share is another source; judgement, no source. [-]"""
ACCUSED, DOUBTED = 0.25, 0.1
"""A gauge at least this likely is looked at before the membranes are judged; one at least as likely as the second
figure, before anything is cleaned. Judgement, no source."""
NO_CLEANING = (*PLAIN_CHECK, *WORN_ALIKE, LEAK, "compaction")
"""Causes for which nobody cleans anyway."""


@dataclass(frozen=True)
class Cause:
    """One cause with its probability, what speaks for and against it, and the cheapest check.

    `meter` stands where it is a gauge whose drift would look like this. `minutes` is how long the check takes, None
    where that takes a laboratory, or where there is nothing to check. [min]
    """

    cause: str
    stage: int | None
    probability: float
    evidence: tuple[str, ...]
    next_check: str
    remedy: str
    meter: Meter | None = None
    minutes: int | None = None


@dataclass(frozen=True)
class Context:
    """What else is known: factors on causes, each with the sentence that justifies it; how the feed has changed, and
    how far of that from one day to the next; how long the elements had run before the log begins, as far as is
    known (0 for new elements); and what rounds of the single vessels say, by stage. [-, -, d]"""

    factors: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    feed_salinity_change: float = 0.0
    feed_salinity_step: float = 0.0
    days_before_log: float = 0.0
    vessels: Mapping[int, VesselsSaid] = field(default_factory=dict)

    @property
    def another_source(self) -> bool:
        return abs(self.feed_salinity_step) >= SOURCE_STEP


@dataclass(frozen=True)
class Weighed:
    """Causes, and the meters that may be off, with the balances that say so, what was seen of the membranes, and what
    the year says of the thermometer."""

    balances: tuple[Equation, ...]
    meters: tuple[Meter, ...]
    causes: tuple[Cause, ...]
    seen: Seen
    thermometer: ThermometerCheck


def accused_gauge(causes: Sequence[Cause]) -> tuple[Meter, ...]:
    """The gauge whose drift may well explain what is seen: ten minutes at the gauge before anything is cleaned. None
    where it is likelier that nothing is the matter, the feed is another, or the membranes are damaged: nobody would
    clean for that, and its own check is as short."""
    plain = max((one.probability for one in causes if one.cause in NO_CLEANING), default=0.0)
    found = doubted_gauge([cause for cause in causes if cause.probability >= max(ACCUSED, plain)])
    return (found,) if found is not None else ()


def doubted_gauge(causes: Sequence[Cause]) -> Meter | None:
    """A gauge whose drift is not the likeliest explanation, but likely enough to be looked at before a cleaning."""
    return next((one.meter for one in causes if one.meter is not None and one.probability >= DOUBTED), None)
