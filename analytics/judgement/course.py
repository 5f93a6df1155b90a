"""How a change has gone over time: steady, accelerating, levelling off, or a step."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analytics.judgement.signatures import Course
from analytics.judgement.steps import Step
from analytics.judgement.trend import Segment, Trend

LEAST_CHANGE = 0.03
LEAST_SEGMENTS = 3
STEP_SHARE = 0.7
SUDDEN_SHARE = 0.6
FASTER, SLOWER = 1.8, 0.45
"""A change is accelerating, or levelling off, where its later half goes this many times as fast as its earlier one; it
is a step where one month, or steps found in the days, hold this share of all of it. Common practice, no source."""


@dataclass(frozen=True)
class Change:
    """Course of a change, and how many days after the beginning of its run half of it was done. [d]"""

    course: Course
    half_after_days: float


def course_of(trends: Sequence[Trend], steps: Sequence[Step] = ()) -> Change | None:
    """The change of the indicator that has changed most, over its longest run; None where none has changed enough.

    Parameters
    ----------
    trends : sequence of Trend
        With the smoothed line of each run as segments about a month long.
    steps : sequence of Step
        Found in the days.
    """
    sudden = _sudden(trends, steps)
    if sudden is not None:
        return sudden
    best: tuple[float, list[Segment]] | None = None
    for trend in trends:
        run = _longest_run(trend.segments)
        if len(run) < LEAST_SEGMENTS:
            continue
        change = abs(run[-1].value_end - run[0].value_start)
        if change >= LEAST_CHANGE and (best is None or change > best[0]):
            best = (change, run)
    return None if best is None else Change(_course(best[1]), _half_after(best[1]))


def _sudden(trends: Sequence[Trend], steps: Sequence[Step]) -> Change | None:
    """A step, where steps make most of the change of the indicator that stands furthest from one."""
    furthest = max(trends, key=lambda trend: abs(trend.value - 1), default=None)
    if furthest is None or abs(furthest.value - 1) < LEAST_CHANGE:
        return None
    column = f"{furthest.scope}_{furthest.name}"
    jumps = {step.day: jump.size for step in steps for jump in step.jumps if jump.column == column}
    total = float(np.log(max(furthest.value, LEAST_CHANGE)))
    largest = max(jumps, key=lambda day: jumps[day] / total, default=None)
    if largest is None or sum(jumps.values()) / total < SUDDEN_SHARE:
        return None
    begins = furthest.segments[0].start if furthest.segments else furthest.first
    return Change("step", float((largest.date() - begins).days))


def _half_after(run: Sequence[Segment]) -> float:
    total = run[-1].value_end - run[0].value_start
    ends = [0.0, *(float((segment.end - run[0].start).days) for segment in run)]
    done = np.maximum.accumulate([0.0, *((segment.value_end - run[0].value_start) / total for segment in run)])
    return float(np.interp(0.5, done, ends))


def _longest_run(segments: Sequence[Segment]) -> list[Segment]:
    """Segments that follow each other without a gap or a jump; the longest such row, the latest of equals."""
    runs: list[list[Segment]] = []
    for segment in segments:
        if runs and runs[-1][-1].end == segment.start and runs[-1][-1].value_end == segment.value_start:
            runs[-1].append(segment)
        else:
            runs.append([segment])
    return max(reversed(runs), key=len, default=[])


def _course(run: Sequence[Segment]) -> Course:
    steps = np.array([segment.value_end - segment.value_start for segment in run])
    total = float(steps.sum())
    shares = steps / total
    if shares.max() >= STEP_SHARE and len(run) >= 2 * LEAST_SEGMENTS:
        return "step"
    begins = int(np.argmax(np.cumsum(shares) > 0.05))
    active = steps[begins:]
    half = max(1, len(active) // 2)
    early, late = float(active[:half].mean()), float(active[-half:].mean())
    if early * total <= 0 or late / early >= FASTER:
        return "accelerating"
    return "levelling off" if late / early <= SLOWER else "steady"
