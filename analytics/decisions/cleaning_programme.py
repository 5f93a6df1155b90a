"""What a train's cleanings say together: how often, how well, and whether the next one is the right thing to do."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Literal

from analytics.decisions.cleaning_effect import POOR, Quality

State = Literal["none yet", "in order", "improve", "root cause", "capital"]

SHRINKING = 0.30
"""An interval that is shorter than the one before by more than this share calls for the cause; common practice, from
memory. [-]"""
OFTEN_DAYS, TOO_OFTEN_DAYS = 91, 30
"""Once in 3 to 12 months is normal; every 1 to 3 months, operation and pretreatment need work; more than once a month
justifies an investment in pretreatment. A published article on cleaning frequency. [d]"""


@dataclass(frozen=True)
class PastCleaning:
    """One cleaning in the row: when, which stage, how well. `efficiency` is None while not known. [-]"""

    day: date
    stage: int | None
    quality: Quality
    efficiency: float | None


@dataclass(frozen=True)
class ProgrammeVerdict:
    """What the cleanings say together: one state, one sentence, and the reasons."""

    state: State
    headline: str
    reasons: tuple[str, ...]

    @property
    def root_cause(self) -> str:
        """The headline where the cause is to be found before a further cleaning; else empty."""
        return self.headline if self.state == "root cause" else ""


def intervals(cleanings: Sequence[PastCleaning]) -> tuple[int, ...]:
    """Days between one cleaning and the next of the same stage, in the order of time. [d]"""
    found = []
    for place, later in enumerate(cleanings):
        before = [c for c in cleanings[:place] if c.stage == later.stage or None in (c.stage, later.stage)]
        if before:
            found.append((later.day - before[-1].day).days)
    return tuple(found)


def judge_programme(cleanings: Sequence[PastCleaning], *, next_due: date | None = None) -> ProgrammeVerdict:
    """Judge the cleanings of a train, oldest first.

    Parameters
    ----------
    cleanings : sequence of PastCleaning
        Oldest first.
    next_due : date, optional
        When the next one is due.

    Returns
    -------
    ProgrammeVerdict

    Notes
    -----
    After two poor ones in a row (less than half came back), or an interval that shrinks by more than 30 %, the cause is
    looked for before a further cleaning: what did not come off twice will not come off the third time.
    """
    if not cleanings:
        return ProgrammeVerdict("none yet", "No cleaning has been recorded yet.", ())
    days = intervals(cleanings)
    reasons = _interval_reasons(days)
    poor = [c for c in cleanings if c.efficiency is not None and c.efficiency < POOR]
    judged = [c for c in cleanings if c.efficiency is not None]
    if len(judged) >= 2 and all(c in poor for c in judged[-2:]):
        headline = "Two poor cleanings in a row: look for the root cause, do not clean a third time in the same way."
        return ProgrammeVerdict("root cause", headline, (*_root_cause_work(), *reasons))
    if len(days) >= 2 and days[-1] < (1 - SHRINKING) * days[-2]:
        headline = f"The time between cleanings shrinks, from {days[-2]} to {days[-1]} days: look for the root cause."
        return ProgrammeVerdict("root cause", headline, (*_root_cause_work(), *reasons))
    if days and min(days[-2:]) < TOO_OFTEN_DAYS:
        headline = "More than one cleaning a month: better pretreatment pays, or another design."
        return ProgrammeVerdict("capital", headline, tuple(reasons))
    if days and days[-1] < OFTEN_DAYS:
        headline = "A cleaning every one to three months: work on operation and pretreatment."
        return ProgrammeVerdict("improve", headline, tuple(reasons))
    if judged and judged[-1] in poor:
        return ProgrammeVerdict("improve", _ONE_POOR, (*_after_poor(cleanings, judged[-1], next_due), *reasons))
    return ProgrammeVerdict("in order", "The cleanings are in order.", tuple(reasons))


_ONE_POOR = (
    "The last cleaning brought back less than half: do the next one properly, with the right solution, warm and long "
    "enough. If that fails too, look for the root cause."
)


def _after_poor(cleanings: Sequence[PastCleaning], last: PastCleaning, next_due: date | None) -> list[str]:
    if next_due is None or last != cleanings[-1]:
        return []
    coming = (next_due - last.day).days
    if coming <= 0:
        return []
    return [f"Because so little came off, the next is due {coming} days after it."]


def _interval_reasons(days: tuple[int, ...]) -> list[str]:
    if not days:
        return ["One cleaning alone says nothing about how often."]
    listed = ", ".join(str(d) for d in days)
    normal = "Once in 3 to 12 months is normal."
    reasons = [f"Days between cleanings: {listed}. {normal}"]
    growing = [later > earlier for earlier, later in pairwise(days)]
    if growing and all(growing):
        reasons.append("The intervals are getting longer.")
    return reasons


def _root_cause_work() -> tuple[str, ...]:
    return (
        "Probe the vessels, weigh the first and the last element, open one (autopsy), and look at what the "
        "pretreatment lets through; then choose the chemistry by what is found.",
    )
