"""Which cause explains the changes: a probability each, from size, place and course, with the evidence in words.

Every cause predicts how water permeability, salt permeability and friction of each stage move together (`signatures`),
every meter what its drift would make of them and of the balances (`meter_patterns`). The severity is not known, so it
is averaged over; what fits none of the patterns well leaves the probabilities close.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.judgement.cause import SOURCE_STEP, Cause, Context
from analytics.judgement.cause_words import PLAIN_CHECK, course_words, evidence_of, plain_evidence
from analytics.judgement.course import CourseOdds, course_factor, course_of
from analytics.judgement.gauges import Gauge
from analytics.judgement.limits import Indicator
from analytics.judgement.meter_patterns import PRIOR, drifted_meters
from analytics.judgement.meters import Equation, Meter
from analytics.judgement.observed import Layout, Seen, observe
from analytics.judgement.signatures import (
    FEED_CHANGE_COURSES,
    FEED_CHANGE_PRIOR,
    METER_COURSES,
    NONE_COURSES,
    NONE_PRIOR,
    SIGNATURES,
    Signature,
)
from analytics.judgement.vessel_rounds import LEAK, PROBE_MINUTES, WORN_ALIKE, VesselsSaid
from analytics.judgement.words import either

Array = npt.NDArray[np.float64]

SEVERITIES = np.geomspace(0.04, 1.6, 40)
UNTOUCHED = 0.02
NEARLY_NOTHING = 0.15
"""Share of the severity by which an effect that a signature calls zero may still differ. [-]"""
SUSPECT_METER = 0.85
"""Probability that is given to a meter once the balances accuse one; common practice, no source. [-]"""
UNSEEN_STEP, WITHOUT_STEP, UNCHANGED = 0.01, 0.5, 0.1
"""So much of the plants show a step of the feed's salinity (`SOURCE_STEP`) for no reason; then so much of
the other sources show a change without a step, and no change; judgement, no source. [-]"""
IONS = 0.08
"""Another mix of ions moves salt passage by up to a tenth (facts of the trade). [-]"""
EARLY_DAYS, LATE_DAYS = 40.0, 80.0
EARLY, LATE = 2.5, 0.1
"""New elements have done half of their compaction by the first day, and never later than the second: factors on
compaction before and after; common practice, no source. [d, -]"""
AT_ONCE_DAYS, LATER_DAYS = 15.0, 30.0
LATER = 0.2
"""Compaction begins with the first pressure: a change that begins by the first day may be it, one that begins after the
second hardly (factor); common practice, no source. [d, -]"""
QUIET = 3.0
"""What stands within all its limits has most often no cause to look for; common practice, no source."""
METER_MINUTES = 20
"""To hold a meter against a portable one, or a bucket and a watch; common practice, no source. [min]"""
LISTED = 4
WORTH_LISTING = 0.05
"""No more causes than that are listed, and none below this probability unless all are; judgement. [-]"""


def likely_causes(
    indicators: Sequence[Indicator],
    meters: Sequence[Meter],
    context: Context,
    layout: Layout,
    *,
    daily: pd.DataFrame | None = None,
    cuts: Sequence[pd.Timestamp] = (),
    steps: Sequence[pd.Timestamp] = (),
    balances: Sequence[Equation] = (),
    gauges: Sequence[Gauge] = (),
    table: Sequence[Signature] = SIGNATURES,
) -> tuple[Cause, ...]:
    """Weigh the causes.

    Parameters
    ----------
    indicators : sequence of Indicator
        Of the best method; those not corrected for temperature are left out.
    meters : sequence of Meter
        Suspects, from the balances.
    context : Context
    layout : Layout
    daily : DataFrame, optional
        `<scope>_<indicator>` by local day, days out of line NaN: for the course over time. [-]
    cuts : sequence of Timestamp
        Days on which something was cleaned or exchanged: courses begin anew.
    steps : sequence of Timestamp
        Other days on which a step was found.
    balances : sequence of Equation
    gauges : sequence of Gauge
        Pressure gauges whose drift would look like something else.
    table : sequence of Signature

    Returns
    -------
    tuple of Cause
        Most likely first; empty where nothing can be compared.
    """
    everything = observe(indicators, layout, balances, context.feed_salinity_change)
    seen, kept = everything.only(balances=False), _fit_none(everything.only(balances=True), 0.0)
    if not seen.names:
        return ()
    course = course_of(indicators, layout, daily, cuts, steps)
    quiet = QUIET if all(indicator.standing == "fine" for indicator in indicators) else 1.0
    no_step = float(np.log(UNSEEN_STEP)) if context.another_source else 0.0
    found = [
        (_plain("none", seen, context), np.log(NONE_PRIOR * quiet) + _fit_none(seen, UNTOUCHED) + kept + no_step
         + course_factor(course, NONE_COURSES)),
        (_plain("feed-change", seen, context), _feed_change(seen, context) + kept
         + course_factor(course, FEED_CHANGE_COURSES)),
    ]  # fmt: skip
    for signature in _told_apart(table, layout):
        score = _score(signature, seen, layout, course) + kept + no_step
        score += np.log(context.factors.get(signature.cause, (1.0, ""))[0])
        vessels = _vessels_of(signature, layout, context)
        score += np.log(vessels.factor) if vessels is not None and signature.cause == LEAK else 0.0
        score += np.log(_onset_factor(signature.cause, course, context.days_before_log))
        found.append((_membrane_cause(signature, seen, layout, course, context), score))
    for gauge in gauges:
        score = _score(gauge.signature, seen, layout, course) + kept + no_step
        found.append((_gauge_cause(gauge, seen, layout, course), score))
    for one in drifted_meters(everything, layout, balances):
        score = np.log(PRIOR) + one.log_likelihood + no_step + course_factor(course, METER_COURSES)
        found.append((_drift_cause(one.meter), score))
    return _ordered(found, meters)


def _told_apart(table: Sequence[Signature], layout: Layout) -> list[Signature]:
    """Rows of the table without those that differ from one of the same cause only by a stage that is not there."""
    if layout.stages > 1:
        return list(table)
    first = {signature.cause: signature for signature in reversed(table)}
    return [signature for signature in table if signature is first[signature.cause]]


def _ordered(found: Sequence[tuple[Cause, float]], meters: Sequence[Meter]) -> tuple[Cause, ...]:
    """Probabilities from the scores; most likely first, those worth listing."""
    top = max(score for _, score in found)
    weights = np.exp(np.array([score - top for _, score in found]))
    weights /= weights.sum()
    if meters:
        weights *= 1 - SUSPECT_METER
    causes = [replace(cause, probability=float(w)) for (cause, _), w in zip(found, weights, strict=True)]
    if meters:
        causes.append(_meter_cause(meters))
    ordered = sorted(_one_meter(causes), key=lambda cause: cause.probability, reverse=True)
    kept = [cause for cause in ordered if cause.probability >= WORTH_LISTING] or ordered[:1]
    return tuple(kept[:LISTED])


def _one_meter(causes: Sequence[Cause]) -> list[Cause]:
    """The likeliest meter stands for all of them, with what they are likely together."""
    meters = [cause for cause in causes if cause.cause == "meter"]
    if not meters:
        return list(causes)
    together = replace(max(meters, key=lambda one: one.probability), probability=sum(one.probability for one in meters))
    return [cause for cause in causes if cause.cause != "meter"] + [together]


def _score(signature: Signature, seen: Seen, layout: Layout, course: CourseOdds | None) -> float:
    return float(np.log(signature.prior)) + _fit(seen, signature, layout) + course_factor(course, signature.courses)


def _fit(seen: Seen, signature: Signature, layout: Layout) -> float:
    """Log likelihood of the pattern, averaged over severities that are equally likely by order of magnitude."""
    pattern = seen.expected(signature.first, signature.last, layout.first_share)
    severity = SEVERITIES[:, None]
    scatter = signature.spread * severity * (np.abs(pattern) + NEARLY_NOTHING)
    variance = seen.errors**2 + scatter**2
    away = seen.changes - severity * pattern
    logs = -0.5 * np.sum(away**2 / variance + np.log(variance), axis=1)
    top = float(logs.max())
    return top + float(np.log(np.mean(np.exp(logs - top))))


def _fit_none(seen: Seen, extra: float | Array) -> float:
    variance = seen.errors**2 + np.square(extra)
    return float(-0.5 * np.sum(seen.changes**2 / variance + np.log(variance)))


def _feed_change(seen: Seen, context: Context) -> float:
    """Membranes that have not moved, or salt passage of all stages alone, by another mix of ions."""
    changed = context.another_source or abs(context.feed_salinity_change) >= SOURCE_STEP
    share = 1.0 if context.another_source else WITHOUT_STEP if changed else UNCHANGED
    untouched = _fit_none(seen, UNTOUCHED)
    either = np.logaddexp(untouched, untouched + _common_shift(seen)) - np.log(2) if changed else untouched
    return float(np.log(FEED_CHANGE_PRIOR * share) + either)


def _common_shift(seen: Seen) -> float:
    """Gain in log likelihood where all salt passages may have moved together by about `IONS`.

    For values y of variance v and a common shift of variance q, with h = 1 + q sum(1 / v): half of
    q sum(y / v)^2 / h - log h.
    """
    salt = np.array([what == "salt" for _, what in seen.names])
    weight = salt / (seen.errors**2 + UNTOUCHED**2)
    wider = 1 + IONS**2 * float(weight.sum())
    return 0.5 * float(IONS**2 * np.sum(weight * seen.changes) ** 2 / wider - np.log(wider))


def _onset_factor(cause: str, course: CourseOdds | None, days_before_log: float) -> float:
    """Compaction belongs to the first weeks of new elements; most else takes its time."""
    if cause != "compaction" or course is None:
        return 1.0
    half, begun = days_before_log + course.half_after_days, days_before_log + course.begun_after_days
    early = np.interp(half, (EARLY_DAYS, LATE_DAYS), (np.log(EARLY), np.log(LATE)))
    return float(np.exp(early + np.interp(begun, (AT_ONCE_DAYS, LATER_DAYS), (0.0, np.log(LATER)))))


def _place(signature: Signature, stages: int) -> int | None:
    size = [abs(e.water) + abs(e.salt) + abs(e.friction) for e in (signature.first, signature.last)]
    if stages == 1:
        return 1
    if max(size) < 1.5 * min(size):
        return None
    return 1 if size[0] > size[1] else stages


def _vessels_of(signature: Signature, layout: Layout, context: Context) -> VesselsSaid | None:
    """What a round says of a leak where this cause would be; without a place, in the stage that speaks most for one."""
    if signature.cause not in (LEAK, *WORN_ALIKE):
        return None
    place = _place(signature, layout.stages)
    if place is None:
        return max(context.vessels.values(), key=lambda said: said.factor, default=None)
    of_last = signature.last.salt > signature.first.salt
    return None if of_last and layout.stages == 1 else context.vessels.get(place)


def _plain(cause: str, seen: Seen, context: Context) -> Cause:
    evidence = plain_evidence(cause, seen, context.feed_salinity_change, context.feed_salinity_step)
    return Cause(cause, None, 0.0, tuple(evidence), PLAIN_CHECK[cause], "none")


def _membrane_cause(
    signature: Signature, seen: Seen, layout: Layout, course: CourseOdds | None, context: Context
) -> Cause:
    place = None if signature.cause == "meter" else _place(signature, layout.stages)
    evidence = evidence_of(signature, seen, layout.first_share)
    evidence += course_words(signature.courses, None if course is None else course.likely)
    factor, reason = context.factors.get(signature.cause, (1.0, ""))
    if reason:
        evidence.append(_spoken(reason, factor >= 1))
    check, minutes = signature.check, signature.minutes
    vessels = _vessels_of(signature, layout, context)
    if vessels is not None:
        evidence.append(_spoken(vessels.sentence, (vessels.factor >= 1) == (signature.cause == LEAK)))
        if signature.cause == LEAK and vessels.next_check:
            check, minutes = vessels.next_check, PROBE_MINUTES
    return Cause(signature.cause, place, 0.0, tuple(evidence), check, signature.remedy, minutes=minutes)


def _spoken(sentence: str, speaks_for: bool) -> str:
    return sentence if speaks_for else f"Against it: {sentence[:1].lower()}{sentence[1:]}"


def _gauge_cause(gauge: Gauge, seen: Seen, layout: Layout, course: CourseOdds | None) -> Cause:
    """With what the gauge would be off by."""
    pattern = seen.expected(gauge.signature.first, gauge.signature.last, layout.first_share)
    weight = max(float(np.sum((pattern / seen.errors) ** 2)), 1e-12)
    size = max(float(np.sum(pattern * seen.changes / seen.errors**2)) / weight, 0.0)
    half = float(np.hypot(1.645 / np.sqrt(weight), gauge.signature.spread * size))
    low, middle, high = (_off(gauge, part) for part in (size - half, size, size + half))
    meter = Meter(gauge.quantity, middle, min(low, high), max(low, high), suspect=True, evidence="")
    words = f"a gauge of {gauge.quantity.replace('_', ' ')} that reads {meter.reads} would look the same"
    meter = replace(meter, evidence=words)
    cause = _membrane_cause(gauge.signature, seen, layout, course, Context())
    return replace(cause, evidence=(f"{words[:1].upper()}{words[1:]}.", *cause.evidence), meter=meter)


def _off(gauge: Gauge, severity: float) -> float:
    """Bias of a gauge for what it makes of friction, whose logarithm is the severity. [-]"""
    return gauge.bar_per_change * float(np.expm1(min(severity, 5.0))) / gauge.recent_bar


def _drift_cause(meter: Meter) -> Cause:
    return replace(_meter_cause((meter,)), probability=0.0, meter=meter)


def _meter_cause(meters: Sequence[Meter]) -> Cause:
    names = either([m.quantity.replace("_", " ") for m in meters])
    evidence = meters[0].evidence
    return Cause(
        "meter",
        None,
        SUSPECT_METER,
        (f"{evidence[:1].upper()}{evidence[1:]}.",),
        f"compare {names} with a portable meter or a bucket and a watch",
        "calibrate or replace the meter, then look at the membranes again",
        minutes=METER_MINUTES,
    )
