"""What an answer is made of: its level, its sentence and its reasons, and what it rests on beside the indicators."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from analytics.judgement.meters import Meter

Level = Literal["steady", "watch", "plan cleaning", "act now", "check a meter", "not enough data"]
LEVELS: tuple[Level, ...] = ("act now", "check a meter", "plan cleaning", "watch", "not enough data", "steady")
"""Most urgent first."""


@dataclass(frozen=True)
class Danger:
    """An absolute limit that was passed in the latest readings, in words with its numbers, and what it calls for."""

    headline: str
    reason: str
    level: Literal["act now", "watch"] = "act now"


@dataclass(frozen=True)
class Grounds:
    """What a verdict rests on beside the indicators.

    Attributes
    ----------
    today : date
        Local day of the answer.
    dangers : tuple of Danger
    meters : tuple of Meter
        Candidates for a meter that is off; empty when the balances hold.
    doubted : Meter, optional
        A gauge whose drift would look much like what is seen.
    root_cause : str
        What the cleanings so far say against one more before the cause is found, as a sentence.
    beyond_cleaning : str
        What no cleaning mends, where it is likeliest, as a sentence; else empty.
    nothing : float
        Probability that nothing has changed, by all that is metered together. [-]
    unknown : str
        Why nothing can be compared at all; empty where it can.
    """

    today: date
    dangers: tuple[Danger, ...] = ()
    meters: tuple[Meter, ...] = ()
    doubted: Meter | None = None
    root_cause: str = ""
    beyond_cleaning: str = ""
    nothing: float = 0.0
    unknown: str = ""


@dataclass(frozen=True)
class Verdict:
    level: Level
    headline: str
    reasons: tuple[str, ...]


def no_verdict(why: str) -> Verdict:
    """Verdict where nothing can be compared."""
    return Verdict("not enough data", f"There is no answer yet: {why}.", (f"{why[:1].upper()}{why[1:]}.",))
