"""Steps that nobody wrote down: days from which all indicators together stand elsewhere than before.

Fouling moves slowly; a cleaning, other elements, another meter or another source of water do not. Around every day a
straight line with a jump is laid through the days before and after, for each indicator; what the jumps amount to
together, against what they amount to on the other days of the same log, tells a step from scatter.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Places = npt.NDArray[np.int64]

WINDOW_DAYS = 28
"""Days before and after a step that are looked at, or as many as hold `LEAST_VALUES`."""
FARTHEST_DAYS = 70
LEAST_VALUES = 7
MOST_VALUES = 21
"""Values on either side of a step: fewer tell no line from a jump; more than three weeks let the season in. Common
practice, no source."""
LEAST_JUMP = {
    "permeate_flow": 0.02,
    "salt_passage": 0.035,
    "pressure_drop": 0.025,
    "balance": 0.025,
    "feed_tds_mg_l": 0.12,
}
"""No smaller jump is asked about: cleanings and gauges that are off move more; common practice, no source. [-]"""
CLEAR = 4.0
"""Standard errors by which at least one indicator must have jumped. [-]"""
TOGETHER = 5.5
"""Length of the vector of all jumps in standard errors, correlations taken out, that makes a step. [-]"""
CLEANED_CLEAR, CLEANED_TOGETHER, TOLD = 3.5, 4.5, 2.0
"""The same two where flow came back and friction went, by the third figure in standard errors at least, and nothing
says otherwise: scatter seldom points just where a cleaning does. Judgement, no source. [-]"""
MOST_STEPS = 12
HUBER = 1.5
ROUNDS = 2
LEAST_NOISE = 1e-4
MEAN_TO_SIGMA, MAD_TO_SIGMA = 1.2533, 1.4826
"""Standard deviation over mean, and over median, absolute deviation of a normal distribution. [-]"""
NEAR = 14
"""Values on either side whose medians tell where it is worth to look closely."""
SAMPLE = 5
"""Every so many days the usual jump is taken as well."""


@dataclass(frozen=True)
class Jump:
    """What one indicator did: logarithm of the ratio of the levels after and before, and its standard error. [-]"""

    column: str
    size: float
    error: float


@dataclass(frozen=True)
class Step:
    """A day, the first of the new level, and what jumped, the clearest first. `strength` is in standard errors;
    `pause_days` is how long before it the last day with any value lies. [d]"""

    day: pd.Timestamp
    strength: float
    jumps: tuple[Jump, ...]
    pause_days: int = 1


@dataclass(frozen=True)
class _Jumps:
    """By day and indicator: jumps, their errors, and what the slope makes of a pause beside them. [-]"""

    sizes: Array
    errors: Array
    unseen: Array

    def replaced(self, days: Flags, other: "_Jumps") -> "_Jumps":
        """With some days taken from another one."""
        pairs = ((self.sizes, other.sizes), (self.errors, other.errors), (self.unseen, other.unseen))
        return _Jumps(*(np.where(days[:, None], theirs, ours) for ours, theirs in pairs))


def detect_steps(
    daily: pd.DataFrame, cuts: Sequence[pd.Timestamp] = (), together: float = TOGETHER
) -> tuple[Step, ...]:
    """Find the days on which the indicators jumped.

    Parameters
    ----------
    daily : DataFrame
        `<scope>_<indicator>` by local day, days out of line NaN. [-]
    cuts : sequence of Timestamp
        Days on which a jump is known already, such as cleanings; no line reaches across them.
    together : float
        Length of the vector of all jumps that makes a step, in standard errors.

    Returns
    -------
    tuple of Step
        In the order of time.

    Notes
    -----
    Each window holds y = a + b t + jump * (t >= day), fitted by least squares with Huber weights. The error of a jump
    is the greater of what its own window says and of what all windows of the log say (the median size of all jumps),
    which holds what the weather and the shifts do from week to week. What the slope makes of the days of the longest
    pause is not known: as far as it would pass for a jump, its whole amount counts as an error. Steps are
    taken one by one, the strongest first; the next search does not reach across those found.
    """
    columns = [c for c in daily.columns if daily[c].notna().any() and not _is_sum(str(c), daily)]
    known = daily[columns].where(daily[columns] > 0)
    if len(known) < 2 * LEAST_VALUES or not columns:
        return ()
    logs = np.log(known.to_numpy(dtype=np.float64))
    day = ((pd.DatetimeIndex(daily.index) - daily.index[0]) / pd.Timedelta(days=1)).to_numpy(dtype=np.float64)
    walls = sorted({float((cut - daily.index[0]).days) for cut in cuts})
    look = _worth_a_look(logs, columns) | (np.arange(len(logs)) % SAMPLE == 0)
    jumps = _jumps(day, logs, walls, look)
    scale = _scale(jumps)
    found: list[Step] = []
    for _ in range(MOST_STEPS):
        at, strength, wider = _strongest(jumps, scale, columns, together)
        if at is None:
            break
        pause = int(day[at] - day[:at][np.isfinite(logs[:at]).any(axis=1)].max())
        found.append(Step(pd.Timestamp(daily.index[at]), strength, _named(columns, jumps.sizes[at], wider), pause))
        walls = sorted({*walls, float(day[at])})
        around = np.abs(day - day[at]) <= FARTHEST_DAYS
        jumps = jumps.replaced(around, _jumps(day, logs, walls, look & around))
    return tuple(sorted(found, key=lambda step: step.day))


def _is_sum(column: str, daily: pd.DataFrame) -> bool:
    """Flow and pressure drop of the train are those of its stages, where there are any."""
    if column not in ("train_permeate_flow", "train_pressure_drop"):
        return False
    name = column.removeprefix("train")
    return any(c.startswith("stage") and c.endswith(name) and daily[c].notna().any() for c in daily.columns)


def _least(columns: Sequence[str]) -> Array:
    return np.array([next(least for name, least in LEAST_JUMP.items() if c.endswith(name)) for c in columns])


def _worth_a_look(logs: Array, columns: Sequence[str]) -> Flags:
    """Days at which the medians of a few values before and after differ by most of the least jump."""
    look = np.zeros(len(logs), dtype=bool)
    for column, least in enumerate(_least(columns)):
        at = np.flatnonzero(np.isfinite(logs[:, column]))
        if at.size < 2 * LEAST_VALUES:
            continue
        y = pd.Series(logs[at, column])
        before = y.rolling(NEAR, min_periods=LEAST_VALUES).median().shift(1)
        after = y[::-1].rolling(NEAR, min_periods=LEAST_VALUES).median()[::-1]
        look[at] |= ((after - before).abs() > 0.6 * least).to_numpy()
    return look


def _named(columns: Sequence[str], sizes: Array, errors: Array) -> tuple[Jump, ...]:
    jumps = [
        Jump(column, float(size), float(error))
        for column, size, error in zip(columns, sizes, errors, strict=True)
        if np.isfinite(size)
    ]
    return tuple(sorted(jumps, key=lambda jump: -abs(jump.size) / jump.error))


def _jumps(day: Array, logs: Array, walls: Sequence[float], look: Flags) -> _Jumps:
    """Jump of every indicator at some days; NaN elsewhere, and where too little lies before or after."""
    found = np.full((3, *logs.shape), np.nan)
    edges = np.array([-np.inf, *walls, np.inf])
    room = np.searchsorted(edges, day, side="right")
    for column in range(logs.shape[1]):
        at = np.flatnonzero(np.isfinite(logs[:, column]))
        wanted = np.flatnonzero(look[at])
        if wanted.size:
            found[:, at[wanted], column] = _column_jumps(day[at], logs[at, column], room[at], wanted)
    return _Jumps(*found)


def _column_jumps(day: Array, y: Array, room: Places, wanted: Places) -> Array:
    """Jump, error and what a pause leaves open, in windows of `MOST_VALUES` on both sides of the wanted places; values
    out of reach weigh nothing."""
    offsets = np.arange(-MOST_VALUES, MOST_VALUES)
    rows = wanted[:, None] + offsets[None, :]
    inside = (rows >= 0) & (rows < len(y))
    rows = rows.clip(0, max(len(y) - 1, 0))
    t = day[rows] - day[wanted][:, None]
    same = inside & (room[rows] == room[wanted][:, None])
    rank = np.where(offsets < 0, -offsets, offsets + 1)[None, :]
    near = same & ((np.abs(t) <= WINDOW_DAYS) | ((rank <= LEAST_VALUES) & (np.abs(t) <= FARTHEST_DAYS)))
    enough = (near.reshape(len(wanted), 2, MOST_VALUES).sum(axis=2) >= LEAST_VALUES).all(axis=1)
    found = np.full((3, len(wanted)), np.nan)
    if enough.any():
        found[:, enough] = _fit(t[enough], y[rows[enough]], near[enough])
    return found


@dataclass(frozen=True)
class _Line:
    """Lines of one slope with a level of its own before and after, one for each window. `error` is that of the jump
    for values of unit variance; `residual` has the shape of the values."""

    jump: Array
    slope: Array
    error: Array
    residual: Array


def _fit(t: Array, y: Array, near: Flags) -> tuple[Array, Array, Array]:
    weights, count = near.astype(np.float64), near.sum(axis=1)
    for _ in range(ROUNDS):
        held, line = weights, _line(t, y, weights)
        size = np.abs(line.residual)
        noise = np.maximum(MEAN_TO_SIGMA * np.sum(weights * size, axis=1) / weights.sum(axis=1), LEAST_NOISE)
        weights = near * np.minimum(1.0, HUBER * noise[:, None] / np.maximum(size, LEAST_NOISE))
    spread = np.sqrt(np.sum(weights * size**2, axis=1) / np.maximum(count - 3, 1))
    unseen, beyond = _longest_pause(t, near)
    shift = _line(t, beyond, held).jump
    return line.jump, line.error * np.maximum(spread, LEAST_NOISE), np.abs(line.slope * unseen * shift)


def _line(t: Array, y: Array, weights: Array) -> _Line:
    """Weighted least squares in closed form: slope from what lies about the means of either side."""
    sides = (len(t), 2, MOST_VALUES)
    t, y, weights = t.reshape(sides), y.reshape(sides), weights.reshape(sides)
    total = weights.sum(axis=2)
    middle_t, middle_y = np.sum(weights * t, axis=2) / total, np.sum(weights * y, axis=2) / total
    from_t, from_y = t - middle_t[..., None], y - middle_y[..., None]
    weighted = weights * from_t
    width = np.sum(weighted * from_t, axis=(1, 2))
    slope = np.sum(weighted * from_y, axis=(1, 2)) / width
    apart = middle_t[:, 1] - middle_t[:, 0]
    return _Line(
        jump=middle_y[:, 1] - middle_y[:, 0] - slope * apart,
        slope=slope,
        error=np.sqrt(np.sum(1.0 / total, axis=1) + apart**2 / width),
        residual=(from_y - slope[:, None, None] * from_t).reshape(len(t), -1),
    )


def _longest_pause(t: Array, near: Flags) -> tuple[Array, Array]:
    """Days that the longest pause of each window has more than the others, and one for the values after it. [d, -]"""
    before = np.fmax.accumulate(np.where(near, t, np.nan), axis=1)[:, :-1]
    pauses = np.where(near[:, 1:] & np.isfinite(before), t[:, 1:] - before, 0.0)
    place, longest = np.argmax(pauses, axis=1), pauses.max(axis=1)
    others = (pauses.sum(axis=1) - longest) / np.maximum(near.sum(axis=1) - 2, 1)
    after = np.arange(t.shape[1])[None, :] > place[:, None]
    return np.maximum(longest - others, 0.0), after.astype(np.float64)


def _scale(jumps: _Jumps) -> tuple[Array, Array]:
    """How many times its error a jump usually is, and how the jumps of the indicators go together."""
    z = jumps.sizes / jumps.errors
    usual = np.array([_median_size(one) for one in z.T])
    usual = np.maximum(MAD_TO_SIGMA * usual, 1.0)
    clipped = np.clip(np.nan_to_num(z / usual), -2.5, 2.5)
    moments = clipped.T @ clipped / max(len(clipped), 1)
    deviation = np.sqrt(np.maximum(np.diag(moments), 1e-6))
    correlation = moments / np.outer(deviation, deviation)
    return usual, 0.8 * correlation + 0.2 * np.eye(len(usual))


def _median_size(z: Array) -> float:
    known = np.abs(z[np.isfinite(z)])
    return float(np.median(known)) if known.size else 0.0


def _strongest(
    jumps: _Jumps, scale: tuple[Array, Array], columns: Sequence[str], together: float
) -> tuple[int | None, float, Array]:
    """The day that the readings speak for most, of those that stand out though the pause beside them is not known."""
    usual, correlation = scale
    plain = jumps.errors * usual
    wider = np.hypot(plain, jumps.unseen)
    with np.errstate(invalid="ignore"):
        cleaned = _came_back(jumps.sizes / wider, columns)
        clear = np.abs(jumps.sizes / wider) >= np.where(cleaned, CLEANED_CLEAR, CLEAR)[:, None]
        eligible = (clear & (np.abs(jumps.sizes) >= _least(columns))).any(axis=1)
    asked = np.where(cleaned, min(together, CLEANED_TOGETHER), together)
    places = [
        place for place in np.flatnonzero(eligible)
        if _together(jumps.sizes[place] / wider[place], correlation) >= asked[place]
    ]  # fmt: skip
    if not places:
        return None, 0.0, jumps.errors[0]
    best = max(places, key=lambda place: _together(jumps.sizes[place] / plain[place], correlation))
    return int(best), _together(jumps.sizes[best] / wider[best], correlation), wider[best]


def _came_back(z: Array, columns: Sequence[str]) -> Flags:
    """Days on which flow rose and pressure drop fell, nowhere the other way, and no balance moved."""
    told = np.abs(z) >= TOLD
    flow, drop, balance = (
        np.array([column.endswith(name) for column in columns])
        for name in ("permeate_flow", "pressure_drop", "balance")
    )
    good = told & ((flow & (z > 0)) | (drop & (z < 0)))
    otherwise = told & ~good & (flow | drop | balance)
    return np.asarray((good & flow).any(axis=1) & (good & drop).any(axis=1) & ~otherwise.any(axis=1))


def _together(z: Array, correlation: Array) -> float:
    """Length of a vector of jumps, correlations taken out, as the normal quantile would be for one. [-]"""
    known = np.isfinite(z)
    part = correlation[np.ix_(known, known)]
    squared = float(z[known] @ np.linalg.solve(part, z[known]))
    return float(np.sqrt(max(squared - (known.sum() - 1), 0.0)))
