"""How a change has gone over time: steady, accelerating, levelling off, a step, or nothing at all; how sure that is.

A curve of each kind is laid through the days of one indicator, wherever it may begin; what each leaves over tells how
likely each kind is. Days that depend on each other count for fewer.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.judgement.limits import Indicator
from analytics.judgement.observed import LEAST_RATIO, Layout, indicator_error
from analytics.judgement.signatures import COURSES, Course

Array = npt.NDArray[np.float64]

LEAST_DAYS = 30
MOST_POINTS = 120
"""Longer series are thinned to so many medians."""
MOST_FREE = 60.0
"""No series counts for more independent days than these: curves of the trade are rough. Judgement, no source."""
LATEST_ONSET, LATEST_GROWTH = 0.75, 0.5
"""A change begins before this share of the days, one that doubles before the second: later it shows too little. [-]"""
ONSETS, JUMPS = 16, 120
DOUBLING_DAYS = (8.0, 13.0, 20.0, 30.0, 45.0, 65.0, 100.0)
SETTLING_DAYS = (10.0, 20.0, 40.0, 70.0)
SPELL_DAYS = (20.0, 40.0, 70.0, 100.0)
"""Times tried, from facts of the trade: growth doubles within days to months, new elements and organics settle within
weeks to months, a slip of chlorine lasts as long. [d]"""
LEAST_SPANS = 1.8
"""A curve shows its bend after so many of its times. [-]"""
CHANGE_COSTS = 3.0
"""Values that a change is fitted with beyond a level (its size, its day, its pace), each at half the logarithm of the
number of days, as in Bayes' information criterion."""
CLEAR = 0.6
COURSE_DOUBT = 0.1
"""Share of the odds of the courses that is spread evenly: curves of the trade are rough. Judgement, no source. [-]"""
AT_ONCE_VALUES, MOST_OF_IT = 5, 0.5
"""Where the medians of so many values on either side of a step that was found differ by this share of the change, that
share of the odds is a step's; on a slope of some weeks they do not. [-]"""
BEGUN = 0.05
"""Share of a change from which it has begun. [-]"""
BESIDE_VALUES, SETTLED_DAYS = 10, 3
WORSE, SURELY_WORSE = 0.02, 3.0
"""At a cut whose values before and after (so many, and after so many days) say that all got worse by the first share
and so many standard errors, nothing began anew; judgement, no source. [d, -]"""
LEAST_MOVED = 1.5
"""Standard errors from which an indicator has a course. [-]"""


@dataclass(frozen=True)
class CourseOdds:
    """How likely each course is (they add up to one), and after how many days half of the change was done, and it had
    begun. [-, d]"""

    odds: Mapping[Course, float]
    half_after_days: float
    begun_after_days: float = 0.0

    @property
    def likely(self) -> Course | None:
        """The course that is clearly the likeliest; None where there is none."""
        best = max(self.odds, key=lambda course: self.odds[course])
        return best if self.odds[best] >= CLEAR else None


def course_odds(series: pd.Series) -> CourseOdds | None:
    """Tell the course of one indicator.

    Parameters
    ----------
    series : Series
        Ratio by local day; NaN where a day is out of line. [-]

    Returns
    -------
    CourseOdds or None
        None with fewer than `LEAST_DAYS` days.

    Notes
    -----
    Of n days with lag-one correlation r of what is left over, m = n (1 - r) / (1 + r) are independent, and a curve that
    leaves the mean square s has the likelihood s^(-m / 2).
    """
    known = series[series > 0]
    if len(known) < LEAST_DAYS:
        return None
    days = ((pd.DatetimeIndex(known.index) - known.index[0]) / pd.Timedelta(days=1)).to_numpy(dtype=np.float64)
    days, logs = _thinned(days, np.log(known.to_numpy(dtype=np.float64)))
    flat = logs - logs.mean()
    fits = {course: _best(shapes, flat) for course, shapes in _shapes(days).items()}
    best = min(fits.values(), key=lambda fit: float(fit.left @ fit.left))
    free = _independent(best.left)
    chances = {course: -0.5 * free * np.log(_mean_square(fit.left)) for course, fit in fits.items()}
    chances["flat"] = -0.5 * free * np.log(_mean_square(flat)) + 0.5 * CHANGE_COSTS * np.log(max(free, 2.0))
    top = max(chances.values())
    weights = {course: float(np.exp(chances[course] - top)) if course in chances else 0.0 for course in COURSES}
    whole = sum(weights.values())
    odds = {course: weight / whole for course, weight in weights.items()}
    return CourseOdds(odds, _reached(days, best.shape, 0.5), _reached(days, best.shape, BEGUN))


def course_of(
    indicators: Sequence[Indicator],
    layout: Layout,
    daily: pd.DataFrame | None,
    cuts: Sequence[pd.Timestamp] = (),
    steps: Sequence[pd.Timestamp] = (),
) -> CourseOdds | None:
    """Course of the indicator that has moved furthest for its error; None where none has, or without days.

    Fouling begins anew after a cleaning: the longest time between cuts is looked at. A cut at which all got worse is
    none: damage may come with a cleaning, and is then the change that is asked about.

    Parameters
    ----------
    indicators : sequence of Indicator
    layout : Layout
    daily : DataFrame or None
        `<scope>_<indicator>` by local day. [-]
    cuts : sequence of Timestamp
        Days on which something was cleaned or exchanged.
    steps : sequence of Timestamp
        Other days on which a step was found.
    """
    if daily is None:
        return None
    moved = {
        f"{one.scope}_{one.name}": abs(np.log(max(one.value, LEAST_RATIO))) / indicator_error(one, layout)
        for one in indicators
        if one.temperature_corrected and f"{one.scope}_{one.name}" in daily.columns
    }
    column = max(moved, key=lambda name: moved[name], default="")
    if not column or moved[column] < LEAST_MOVED:
        return None
    known = daily[column].dropna()
    change = next(
        float(np.log(max(one.value, LEAST_RATIO))) for one in indicators if f"{one.scope}_{one.name}" == column
    )
    found = _longest(known, [cut for cut in cuts if not _got_worse(known, cut, float(np.sign(change)))])
    return _with_steps(found, max((_at_once(known, day) / change for day in steps), default=0.0))


def _at_once(known: pd.Series, day: pd.Timestamp) -> float:
    """What the logarithm did from the last values before a day to the first from it on; none where they are few. [-]"""
    logs = np.log(known[known > 0])
    before, after = logs[logs.index < day].iloc[-AT_ONCE_VALUES:], logs[logs.index >= day].iloc[:AT_ONCE_VALUES]
    return float(after.median() - before.median()) if min(len(before), len(after)) == AT_ONCE_VALUES else 0.0


def _with_steps(found: CourseOdds | None, share: float) -> CourseOdds | None:
    """The odds, where a step is so much of the change."""
    if found is None or share < MOST_OF_IT:
        return found
    sudden = min(share, 1.0)
    return replace(
        found, odds={one: (1 - sudden) * odds + sudden * (one == "step") for one, odds in found.odds.items()}
    )


def _got_worse(known: pd.Series, cut: pd.Timestamp, worse: float) -> bool:
    """Whether the logarithm stands further from one after a cut than before it, surely."""
    logs = np.log(known[known > 0])
    before = logs[logs.index < cut].iloc[-BESIDE_VALUES:]
    after = logs[logs.index >= cut + pd.Timedelta(days=SETTLED_DAYS)].iloc[:BESIDE_VALUES]
    if min(len(before), len(after)) < BESIDE_VALUES // 2:
        return False
    moved = worse * float(after.median() - before.median())
    error = float(np.hypot(before.std() / len(before) ** 0.5, after.std() / len(after) ** 0.5))
    return moved > max(WORSE, SURELY_WORSE * error)


def _longest(known: pd.Series, cuts: Sequence[pd.Timestamp]) -> CourseOdds | None:
    """Course of the longest run; half of its change is dated from the beginning of all days."""
    if not len(known):
        return None
    runs = np.searchsorted(pd.DatetimeIndex(sorted(cuts)), pd.DatetimeIndex(known.index), side="right")
    parts = [known[runs == number] for number in np.unique(runs)]
    longest = max(reversed(parts), key=len)
    found = course_odds(longest)
    if found is None:
        return None
    before = float((longest.index[0] - known.index[0]).days)
    return replace(
        found, half_after_days=before + found.half_after_days, begun_after_days=before + found.begun_after_days
    )


def course_factor(course: CourseOdds | None, weights: Sequence[float]) -> float:
    """Logarithm of how well a course goes with a cause, by its weights of `COURSES`."""
    if course is None:
        return 0.0
    odds = np.array([course.odds[one] for one in COURSES])
    return float(np.log((1 - COURSE_DOUBT) * odds @ np.array(weights) + COURSE_DOUBT * np.mean(weights)))


@dataclass(frozen=True)
class _Fit:
    shape: Array
    left: Array


def _thinned(days: Array, logs: Array) -> tuple[Array, Array]:
    size = -(-len(days) // MOST_POINTS)
    count = len(days) // size * size
    return np.median(days[:count].reshape(-1, size), axis=1), np.median(logs[:count].reshape(-1, size), axis=1)


def _shapes(days: Array) -> dict[Course, Array]:
    """Curves from zero, one a row."""
    since = days - days[0]
    span = float(since[-1])
    onsets = np.linspace(0, LATEST_ONSET * span, ONSETS)
    steady, growing, settling = [], [], []
    for onset in onsets:
        after = np.maximum(since - onset, 0.0)
        left = span - onset
        steady.append(after / span)
        growing += [
            np.expm1(np.log(2) * (after - left) / time)
            for time in DOUBLING_DAYS
            if onset <= LATEST_GROWTH * span and left / time >= LEAST_SPANS
        ]
        settling += [-np.expm1(-after / time) for time in SETTLING_DAYS if left / time >= LEAST_SPANS]
        settling += [np.clip(after / time, 0, 1) for time in SPELL_DAYS if 0 < onset <= 0.85 * span - time]
    steps = [(since >= at).astype(np.float64) for at in np.linspace(0.04 * span, 0.96 * span, JUMPS)]
    found: dict[Course, list[Array]] = {
        "steady": steady,
        "accelerating": growing,
        "levelling off": settling,
        "step": steps,
    }
    return {course: np.array(shapes) for course, shapes in found.items() if shapes}


def _best(shapes: Array, flat: Array) -> _Fit:
    """The curve of a kind that leaves least, scaled to the days."""
    centred = shapes - shapes.mean(axis=1, keepdims=True)
    size = np.maximum(np.sum(centred**2, axis=1), 1e-12)
    along = centred @ flat
    row = int(np.argmax(along**2 / size))
    return _Fit(shapes[row], flat - along[row] / size[row] * centred[row])


def _mean_square(left: Array) -> float:
    return max(float(np.mean(left**2)), 1e-12)


def _independent(left: Array) -> float:
    spread = max(float(left @ left), 1e-12)
    r = float(np.clip(left[1:] @ left[:-1] / spread, 0.0, 0.9))
    return min(len(left) * (1 - r) / (1 + r), MOST_FREE)


def _reached(days: Array, shape: Array, share: float) -> float:
    """Day from which so much of the change was done. [d]"""
    way = (shape - shape[0]) / (shape[-1] - shape[0])
    return float(days[int(np.argmax(way >= share))])
