"""The verdict: one level, one sentence, and the reasons with their numbers. Sentences are made from the numbers.

Order of precedence: danger to the elements now, a meter that cannot be right, limits passed, limits near, nothing.
Salt passage alone never calls for a cleaning: leaks and oxidation are looked at first.
"""

from collections.abc import Sequence
from datetime import date

from analytics.judgement.grounds import Danger, Grounds, Verdict, no_verdict
from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Meter
from analytics.judgement.verdict_salt import flows_beside, more_flow, salt_verdict
from analytics.judgement.verdict_unjudged import SEASON, only_unjudged, unjudged_note, without_temperature
from analytics.judgement.verdict_words import (
    all_reasons,
    closeness,
    forecast_sentence,
    has_date_to_watch,
    has_worthy_date,
    reasons_against,
    state_words,
    steady_sentence,
    unsure_sentence,
)
from analytics.judgement.words import amount, either, scope_name
from analytics.quantities import quantity

PLAN_AHEAD_DAYS = 45
WATCH_AHEAD_DAYS = 120
"""A limit that is likely to be reached within these is planned for, or watched; common practice, no source."""
NOTHING = 0.5
"""Where nothing at all is likelier than this to have changed, no cleaning is called for; judgement, no source. [-]"""


def reach_verdict(indicators: Sequence[Indicator], grounds: Grounds) -> Verdict:
    """Weigh the indicators of the train and its stages, the absolute limits and the meters."""
    if grounds.unknown:
        return no_verdict(grounds.unknown)
    judged = [i for i in indicators if i.temperature_corrected or i.name == "pressure_drop"]
    unjudged = [i for i in indicators if i not in judged]
    urgent = [d for d in grounds.dangers if d.level == "act now"]
    warned = [d for d in grounds.dangers if d.level == "watch"]
    if urgent:
        reasons = [d.reason for d in (*urgent, *warned)] + reasons_against(judged)
        return Verdict("act now", urgent[0].headline, tuple(reasons))
    return _warned_of(_judged_verdict(judged, unjudged, grounds), warned, unjudged)


def _judged_verdict(judged: Sequence[Indicator], unjudged: Sequence[Indicator], grounds: Grounds) -> Verdict:
    if grounds.meters:
        return _meter_verdict(grounds.meters, judged)
    if not judged:
        return only_unjudged(unjudged)
    found = _limits_verdict(judged, grounds)
    verdict = _doubting(_held_back(found, judged, grounds.nothing), judged, grounds.doubted)
    return without_temperature(verdict, unjudged) if unjudged else verdict


def _held_back(verdict: Verdict, judged: Sequence[Indicator], nothing: float) -> Verdict:
    """One stage past its limit, while all else says that nothing has changed, calls for a look, not for a cleaning."""
    worst = _worst([i for i in judged if i.standing in ("clean", "too late")])
    if worst is None or nothing < NOTHING or verdict.level not in ("plan cleaning", "act now"):
        return verdict
    headline = (
        f"{state_words(worst)}, limit {amount(worst.limit)}, but by all meters together it is likelier that nothing has"
        f" changed: compare the gauges of {scope_name(worst.scope)} before anything is cleaned."
    )
    return Verdict("watch", headline, verdict.reasons)


def _warned_of(verdict: Verdict, dangers: Sequence[Danger], unjudged: Sequence[Indicator]) -> Verdict:
    """What has to be looked at leads where nothing more urgent does; else it is the first reason."""
    if not dangers:
        return verdict
    reasons = tuple(danger.reason for danger in dangers)
    if verdict.level == "steady":
        return Verdict("watch", dangers[0].headline, reasons)
    if verdict.level == "not enough data":
        unknown = f"{unjudged_note(unjudged)} {SEASON}" if unjudged else verdict.headline
        return Verdict("watch", dangers[0].headline, (*reasons, unknown))
    return Verdict(verdict.level, verdict.headline, (*reasons, *verdict.reasons))


def _doubting(verdict: Verdict, judged: Sequence[Indicator], doubted: Meter | None) -> Verdict:
    """Nothing is cleaned, and no damage looked for, for a gauge that may be off: look at it first."""
    passed = any(i.standing in ("clean", "too late") for i in judged)
    if doubted is None or not (passed or verdict.level in ("plan cleaning", "act now")):
        return verdict
    kind = "gauge" if doubted.quantity.endswith("pressure") else "meter"
    name = quantity(doubted.quantity).label.lower()
    first = f"First compare the {name} {kind} with another one: {doubted.evidence}."
    return Verdict(verdict.level, f"{verdict.headline} {first}", (first, *verdict.reasons))


def _cleanable(indicators: Sequence[Indicator]) -> list[Indicator]:
    return [i for i in indicators if i.name != "salt_passage"]


def _worst(indicators: Sequence[Indicator]) -> Indicator | None:
    """The indicator furthest on its way from one to its limit, what the season explains left out."""
    return max(indicators, key=closeness, default=None)


def _limits_verdict(judged: Sequence[Indicator], grounds: Grounds) -> Verdict:
    """What the limits call for. What no cleaning mends takes flow and leaves channels alone: lost flow then calls for
    no cleaning, a pressure drop does."""
    lasting = [i for i in judged if i.name == "permeate_flow" and grounds.beyond_cleaning]
    cleanable, root_cause = [i for i in _cleanable(judged) if i not in lasting], grounds.root_cause
    late = _worst([i for i in cleanable if i.standing == "too late"])
    if late:
        past = f"{state_words(late)}, past {amount(late.too_late)}"
        headline = f"{root_cause} {past}." if root_cause else f"{past}: clean now, before what is left hardens."
        return Verdict("act now", headline, tuple(reasons_against(judged)))
    due = _worst([i for i in cleanable if i.standing == "clean"])
    if due:
        headline = _plan_sentence(due, f"{state_words(due)}, limit {amount(due.limit)}.", root_cause)
        return Verdict("plan cleaning", headline, tuple(reasons_against(judged)))
    lost = _worst([i for i in lasting if i.standing in ("clean", "too late")])
    if lost:
        headline = f"{state_words(lost)}, limit {amount(lost.limit)}. {grounds.beyond_cleaning}"
        return Verdict("act now" if lost.standing == "too late" else "watch", headline, tuple(reasons_against(judged)))
    salt = _worst([i for i in judged if i.name == "salt_passage" and i.standing in ("clean", "too late")])
    if salt:
        return salt_verdict(salt, judged, root_cause, grounds.beyond_cleaning)
    coming = _next_limit([i for i in cleanable if has_worthy_date(i)], grounds.today, PLAN_AHEAD_DAYS)
    if coming:
        headline = _plan_sentence(coming, forecast_sentence(coming), root_cause)
        return Verdict("plan cleaning", headline, tuple(reasons_against(judged)))
    return _watch_or_steady(judged, _cleanable(judged), grounds.today)


def _watch_or_steady(judged: Sequence[Indicator], cleanable: Sequence[Indicator], today: date) -> Verdict:
    unsure = _worst([i for i in cleanable if closeness(i) >= 1])
    if unsure:
        return Verdict("watch", unsure_sentence(unsure), tuple(reasons_against(judged, (unsure,))))
    coming = _next_limit(cleanable, today, WATCH_AHEAD_DAYS)
    warned = _worst([i for i in judged if i.standing == "warn"])
    if coming:
        return Verdict("watch", f"No cleaning yet: {_lower(forecast_sentence(coming))}", tuple(reasons_against(judged)))
    if warned:
        flows = flows_beside(warned, judged) if warned.name == "salt_passage" else []
        hint = "; with more flow, look for oxidation first" if more_flow(flows) else ""
        headline = f"{state_words(warned)}{hint}; the limit is {amount(warned.limit)}."
        return Verdict("watch", headline, tuple(reasons_against(judged, flows)))
    return Verdict("steady", steady_sentence(judged), tuple(all_reasons(judged)))


def _next_limit(indicators: Sequence[Indicator], today: date, days: int) -> Indicator | None:
    near = [
        i
        for i in indicators
        if i.reaches_limit and (i.reaches_limit.likely - today).days <= days and has_date_to_watch(i)
    ]
    return min(near, key=lambda i: i.reaches_limit.likely if i.reaches_limit else date.max, default=None)


def _plan_sentence(indicator: Indicator, why: str, root_cause: str) -> str:
    """Plan a cleaning, or find the cause first where the cleanings so far did not help."""
    return f"{root_cause} {why}" if root_cause else f"Plan a cleaning{_where(indicator)}: {_lower(why)}"


def _where(indicator: Indicator) -> str:
    return "" if indicator.scope == "train" else f" of {scope_name(indicator.scope)}"


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _meter_verdict(meters: Sequence[Meter], judged: Sequence[Indicator]) -> Verdict:
    suspects = [m for m in meters if m.suspect]
    if suspects:
        first = suspects[0]
        name = quantity(first.quantity).label.lower()
        headline = f"Check the {name} meter: it seems to read {first.reads}; judge the membranes after that."
    else:
        names = either([quantity(m.quantity).label.lower() for m in meters])
        headline = f"Check the meters: {names} is off, and nothing tells which; judge the membranes after that."
    evidence = meters[0].evidence
    return Verdict("check a meter", headline, (f"{evidence[:1].upper()}{evidence[1:]}.", *reasons_against(judged)))
