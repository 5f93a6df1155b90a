"""Which cause explains the changes: a probability each, from size, place and course, with the evidence in words.

Every cause predicts how water permeability, salt permeability and friction of each stage move together (`signatures`).
The severity is not known, so it is averaged over; what fits none of the patterns well leaves the probabilities close.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from analytics.judgement.course import Change, course_of
from analytics.judgement.gauges import Gauge
from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Equation, Meter
from analytics.judgement.signatures import (
    FEED_CHANGE_PRIOR,
    NONE_PRIOR,
    SIGNATURES,
    Course,
    Effect,
    Signature,
)
from analytics.judgement.steps import Step
from analytics.judgement.trend import Trend
from analytics.judgement.verdict import NAMES

Array = npt.NDArray[np.float64]

SEVERITIES = np.geomspace(0.04, 1.0, 40)
FLOW_PER_WATER = 0.8
SALT_PER_FLOW = -0.75
"""What the train makes of its membranes at fixed pressure: flow goes with this power of water permeability, and salt
passage with this power of flow at an unchanged salt permeability; from `reference_run` on two-stage trains. [-]"""
LEAST_ERROR = {"water": 0.012, "salt": 0.02, "friction": 0.02}
UNTOUCHED = 0.025
NEARLY_NOTHING = 0.15
"""Share of the severity by which an effect that a signature calls zero may still differ. [-]"""
ACCUSED, DOUBTED = 0.25, 0.1
"""A gauge at least this likely is looked at before the membranes are judged; one at least as likely as the second
figure, before anything is cleaned. Judgement, no source."""
SUSPECT_METER = 0.85
"""Probability that is given to a meter once the balances accuse one; common practice, no source. [-]"""
SOURCE_STEP = 0.15
ANOTHER_SOURCE = 3.0
"""A step of the feed's salinity beyond this share is taken for another source, and weighs so much against the other
causes; common practice, no source. [-]"""
EARLY_DAYS = 55
"""Compaction has done half of its work by then; common practice, no source."""
QUIET = 3.0
"""What stands within all its limits has most often no cause to look for; common practice, no source."""
LISTED = 3
LEAST_RATIO = 0.02
"""Whatever a spoilt log makes of an indicator, it counts as no less. [-]"""
WORTH_LISTING = 0.05


@dataclass(frozen=True)
class Cause:
    """One cause with its probability, what speaks for and against it, and the cheapest check.

    `meter` stands where it is a gauge whose drift would look like this.
    """

    cause: str
    stage: int | None
    probability: float
    evidence: tuple[str, ...]
    next_check: str
    remedy: str
    meter: Meter | None = None


@dataclass(frozen=True)
class Context:
    """What else is known: factors on causes, each with the sentence that justifies it; how the feed has changed, and
    how far of that from one day to the next; and how long the elements had run before the log begins, as far as is
    known (0 for new elements). [-, -, d]"""

    factors: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    feed_salinity_change: float = 0.0
    feed_salinity_step: float = 0.0
    days_before_log: float = 0.0


@dataclass(frozen=True)
class Weighed:
    """Causes, and the meters that may be off, with the balances that say so."""

    balances: tuple[Equation, ...]
    meters: tuple[Meter, ...]
    causes: tuple[Cause, ...]


@dataclass(frozen=True)
class _Seen:
    """Observed changes as logarithms with standard errors, by (place, what). Place is "first", "last" or "all"."""

    names: tuple[tuple[str, str], ...]
    values: Array
    errors: Array


def likely_causes(
    indicators: Sequence[Indicator],
    trends: Sequence[Trend],
    meters: Sequence[Meter],
    context: Context,
    *,
    stages: int,
    first_share: float,
    modelled: bool,
    steps: Sequence[Step] = (),
    gauges: Sequence[Gauge] = (),
    table: Sequence[Signature] = SIGNATURES,
) -> tuple[Cause, ...]:
    """Weigh the causes.

    Parameters
    ----------
    indicators : sequence of Indicator
        Of the best method; those not corrected for temperature are left out.
    trends : sequence of Trend
        Of the same, for the course over time.
    meters : sequence of Meter
        Suspects, from the balances.
    context : Context
    stages : int
    first_share : float
        Area of the first stage over that of the train. [-]
    modelled : bool
        Whether salt passage is that at fixed pressure (membrane model) or at fixed flow (standard method).
    steps : sequence of Step
        Found in the days.
    gauges : sequence of Gauge
        Pressure gauges whose drift would look like something else.
    table : sequence of Signature

    Returns
    -------
    tuple of Cause
        Most likely first; empty where nothing can be compared.
    """
    seen = _observe([i for i in indicators if i.temperature_corrected], stages, modelled)
    if not seen.names:
        return ()
    change = course_of(trends, steps)
    course = None if change is None else change.course
    entries: list[tuple[str, int | None, float, Signature | None]] = [
        ("none", None, np.log(NONE_PRIOR * _quiet(indicators)) + _fit_none(seen), None),
        ("feed-change", None, np.log(_feed_prior(context)) + _fit_feed_change(seen, context), None),
    ]
    for signature in (*table, *(gauge.signature for gauge in gauges)):
        score = np.log(signature.prior) + _fit(seen, signature, first_share)
        if course is not None:
            score += np.log(signature.courses[course])
        score += np.log(context.factors.get(signature.cause, (1.0, ""))[0])
        score += np.log(_onset_factor(signature.cause, change, context.days_before_log))
        place = None if signature.cause == "meter" else _place(signature, stages)
        entries.append((signature.cause, place, float(score), signature))
    weights = np.exp(np.array([e[2] for e in entries]) - max(e[2] for e in entries))
    weights /= weights.sum()
    if meters:
        weights *= 1 - SUSPECT_METER
    causes = [
        _cause(cause, stage, float(weight), signature, seen, course, context)
        for (cause, stage, _, signature), weight in zip(entries, weights, strict=True)
    ]
    first_gauge = len(causes) - len(gauges)
    for n, gauge in enumerate(gauges, start=first_gauge):
        causes[n] = _gauge_cause(causes[n], gauge, seen, first_share)
    if meters:
        causes.append(_meter_cause(meters))
    ordered = sorted(_one_meter(causes), key=lambda cause: cause.probability, reverse=True)
    kept = [c for c in ordered if c.probability >= WORTH_LISTING] or ordered[:1]
    return tuple(kept[: LISTED + 1])


def accused_gauge(causes: Sequence[Cause]) -> tuple[Meter, ...]:
    """The gauge whose drift may well explain what is seen: ten minutes at the gauge before anything else."""
    found = doubted_gauge([cause for cause in causes if cause.probability >= ACCUSED])
    return (found,) if found is not None else ()


def doubted_gauge(causes: Sequence[Cause]) -> Meter | None:
    """A gauge whose drift is not the likeliest explanation, but likely enough to be looked at before a cleaning."""
    return next((one.meter for one in causes if one.meter is not None and one.probability >= DOUBTED), None)


def _one_meter(causes: Sequence[Cause]) -> list[Cause]:
    """The likeliest meter stands for all of them, with what they are likely together."""
    meters = [cause for cause in causes if cause.cause == "meter"]
    if not meters:
        return list(causes)
    together = replace(max(meters, key=lambda one: one.probability), probability=sum(one.probability for one in meters))
    return [cause for cause in causes if cause.cause != "meter"] + [together]


def _gauge_cause(cause: Cause, gauge: Gauge, seen: _Seen, first_share: float) -> Cause:
    """With what the gauge would be off by."""
    pattern = _expected(gauge.signature, seen, first_share)
    weight = float(np.sum((pattern / seen.errors) ** 2))
    size = max(float(np.sum(pattern * seen.values / seen.errors**2)) / max(weight, 1e-12), 0.0)
    half = float(np.hypot(1.645 / np.sqrt(max(weight, 1e-12)), gauge.signature.spread * size))
    low, middle, high = (_off(gauge, part) for part in (size - half, size, size + half))
    reads = f"{abs(100 * middle):.0f} % {'high' if middle > 0 else 'low'}"
    words = f"a gauge of {gauge.quantity.replace('_', ' ')} that reads {reads} would look the same"
    meter = Meter(gauge.quantity, middle, min(low, high), max(low, high), suspect=True, evidence=words)
    return replace(cause, evidence=(f"{words[:1].upper()}{words[1:]}.", *cause.evidence), meter=meter)


def _off(gauge: Gauge, severity: float) -> float:
    """Bias of a gauge for what it makes of friction, whose logarithm is the severity. [-]"""
    return gauge.bar_per_change * float(np.expm1(min(severity, 5.0))) / gauge.recent_bar


def _quiet(indicators: Sequence[Indicator]) -> float:
    """Factor on "none" while every indicator is on the good side of its warning."""
    return QUIET if all(indicator.standing == "fine" for indicator in indicators) else 1.0


def _observe(indicators: Sequence[Indicator], stages: int, modelled: bool) -> _Seen:
    """Logarithms of the parameters, from the indicators of the first and last stage, or of the train."""
    by = {(i.scope, i.name): i for i in indicators}
    names: list[tuple[str, str]] = []
    values: list[float] = []
    errors: list[float] = []
    last = f"stage{stages}"
    places = [("first", "stage1"), ("last", last)] if stages > 1 else []
    staged = [place for place in places if (place[1], "permeate_flow") in by]
    for place, scope in (*places, ("all", "train")):
        flow, salt, drop = (by.get((scope, name)) for name in NAMES)
        use_flow = scope != "train" or not staged
        log_flow = np.log(max(flow.value, LEAST_RATIO)) if flow is not None else 0.0
        if flow is not None and use_flow:
            _add(names, values, errors, (place, "water"), log_flow / (FLOW_PER_WATER if modelled else 1.0), flow)
        if salt is not None and (scope != "train" or not any(n == ("first", "salt") for n in names)):
            shift = -SALT_PER_FLOW * log_flow if modelled else 0.0
            _add(names, values, errors, (place, "salt"), np.log(max(salt.value, LEAST_RATIO)) + shift, salt)
        if drop is not None:
            _add(names, values, errors, (place, "friction"), np.log(max(drop.value, LEAST_RATIO)), drop)
    return _Seen(tuple(names), np.array(values), np.array(errors))


def _add(
    names: list[tuple[str, str]],
    values: list[float],
    errors: list[float],
    name: tuple[str, str],
    value: float,
    indicator: Indicator,
) -> None:
    names.append(name)
    values.append(float(value))
    half = (indicator.high - indicator.low) / 2 / 1.645 / indicator.value
    errors.append(float(np.hypot(max(half, LEAST_ERROR[name[1]]), abs(indicator.allowance) / 2)))


def _expected(signature: Signature, seen: _Seen, first_share: float) -> Array:
    """Pattern of a signature in the order of what was seen."""
    parts = {"first": signature.first, "last": signature.last, "all": _mixed(signature, first_share)}
    return np.array([getattr(parts[place], what) for place, what in seen.names])


def _mixed(signature: Signature, first_share: float) -> Effect:
    a, b, w = signature.first, signature.last, first_share
    return Effect(w * a.water + (1 - w) * b.water, w * a.salt + (1 - w) * b.salt, w * a.friction + (1 - w) * b.friction)


def _fit(seen: _Seen, signature: Signature, first_share: float) -> float:
    """Log likelihood of the pattern, averaged over severities that are equally likely by order of magnitude."""
    pattern = _expected(signature, seen, first_share)
    severity = SEVERITIES[:, None]
    scatter = signature.spread * severity * (np.abs(pattern) + NEARLY_NOTHING)
    variance = seen.errors**2 + scatter**2
    away = seen.values - severity * pattern
    logs = -0.5 * np.sum(away**2 / variance + np.log(variance), axis=1)
    top = float(logs.max())
    return top + float(np.log(np.mean(np.exp(logs - top))))


def _fit_none(seen: _Seen) -> float:
    variance = seen.errors**2 + UNTOUCHED**2
    return float(-0.5 * np.sum(seen.values**2 / variance + np.log(variance)))


def _feed_prior(context: Context) -> float:
    """A step of the feed's salinity is another source: then that is the likeliest reason of whatever gauges show."""
    return ANOTHER_SOURCE if abs(context.feed_salinity_step) >= SOURCE_STEP else FEED_CHANGE_PRIOR


def _fit_feed_change(seen: _Seen, context: Context) -> float:
    """Another mix of ions moves salt passage alone, by up to a tenth, and only when the feed has changed."""
    shift = 0.08 if abs(context.feed_salinity_change) > 0.15 else 0.01
    extra = np.array([shift if what == "salt" else UNTOUCHED for _, what in seen.names])
    variance = seen.errors**2 + extra**2
    return float(-0.5 * np.sum(seen.values**2 / variance + np.log(variance)))


def _onset_factor(cause: str, change: Change | None, days_before_log: float) -> float:
    """Compaction belongs to the first weeks of new elements; most else takes its time."""
    if cause != "compaction" or change is None:
        return 1.0
    half = days_before_log + change.half_after_days
    return 1.5 if half <= EARLY_DAYS else 0.1


def _place(signature: Signature, stages: int) -> int | None:
    size = [abs(e.water) + abs(e.salt) + abs(e.friction) for e in (signature.first, signature.last)]
    if stages == 1:
        return 1
    if max(size) < 1.5 * min(size):
        return None
    return 1 if size[0] > size[1] else stages


def _cause(
    cause: str,
    stage: int | None,
    probability: float,
    signature: Signature | None,
    seen: _Seen,
    course: Course | None,
    context: Context,
) -> Cause:
    if signature is None:
        return Cause(
            cause, None, probability, tuple(_plain_evidence(cause, seen, context)), _PLAIN_CHECK[cause], "none"
        )
    evidence = _evidence(signature, seen, stage)
    if course is not None and signature.courses[course] >= 1.5:
        evidence.append(f"The change is {_COURSES[course]}.")
    elif course is not None and signature.courses[course] <= 0.5:
        evidence.append(f"Against it: the change is {_COURSES[course]}.")
    factor, reason = context.factors.get(cause, (1.0, ""))
    if reason:
        evidence.append(reason if factor >= 1 else f"Against it: {reason[:1].lower()}{reason[1:]}")
    return Cause(cause, stage, probability, tuple(evidence), signature.check, signature.remedy)


_COURSES: dict[Course, str] = {
    "steady": "steady over time",
    "accelerating": "getting faster",
    "levelling off": "levelling off",
    "step": "a step, not a drift",
}
_PLAIN_CHECK = {
    "none": "nothing beyond the usual readings",
    "feed-change": "have the feed analysed and compare it with the last analysis",
}
_WHAT = {"water": "water permeability", "salt": "salt permeability", "friction": "channel friction"}
_PLACE = {"first": "the first stage", "last": "the last stage", "all": "the train"}


def _evidence(signature: Signature, seen: _Seen, stage: int | None) -> list[str]:
    """What goes with the signature and what goes against it, with numbers; the largest first."""
    parts = {"first": signature.first, "last": signature.last, "all": signature.first}
    order = np.argsort(-np.abs(seen.values) / seen.errors)
    said = []
    for k in order:
        place, what = seen.names[k]
        expected, value, clear = getattr(parts[place], what), seen.values[k], 2 * seen.errors[k]
        percent = f"{100 * np.expm1(value):+.0f} %".replace("-", "−")
        if abs(value) > clear and abs(expected) >= 0.15:
            fits = value * expected > 0
            said.append(f"{'' if fits else 'Against it: '}{_WHAT[what]} of {_PLACE[place]} {percent}.")
        elif abs(value) > clear:
            said.append(f"Against it: {_WHAT[what]} of {_PLACE[place]} {percent}, which it would leave alone.")
        elif abs(expected) >= 0.6:
            said.append(f"Against it: {_WHAT[what]} of {_PLACE[place]} has hardly moved ({percent}).")
    return [sentence[:1].upper() + sentence[1:] for sentence in said[:4]]


def _plain_evidence(cause: str, seen: _Seen, context: Context) -> list[str]:
    if cause == "feed-change":
        change = f"{100 * context.feed_salinity_change:+.0f} %".replace("-", "−")
        step = f"{100 * context.feed_salinity_step:+.0f} %".replace("-", "−")
        sudden = f" From one day to the next it changed by {step}." if context.feed_salinity_step else ""
        return [f"Feed salinity has changed by {change} since the reference.{sudden}"]
    moved = [
        f"{_WHAT[what]} of {_PLACE[place]} {100 * np.expm1(value):+.0f} %".replace("-", "−")
        for (place, what), value, error in zip(seen.names, seen.values, seen.errors, strict=True)
        if abs(value) > 2 * error
    ]
    if not moved:
        return ["Nothing has moved beyond what the meters can tell."]
    return [f"Against it: {', '.join(moved)}."]


def _meter_cause(meters: Sequence[Meter]) -> Cause:
    names = " or ".join(m.quantity.replace("_", " ") for m in meters)
    evidence = meters[0].evidence
    return Cause(
        "meter",
        None,
        SUSPECT_METER,
        (f"{evidence[:1].upper()}{evidence[1:]}.",),
        f"compare {names} with a portable meter or a bucket and a watch",
        "calibrate or replace the meter, then look at the membranes again",
    )
