"""The verdict: one level, one sentence, and the reasons with their numbers. Sentences are made from the numbers.

Order of precedence: danger to the elements now, a meter that cannot be right, limits passed, limits near, nothing.
Salt passage alone never calls for a cleaning: leaks and oxidation are looked at first.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import log
from typing import Literal

from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Meter
from analytics.judgement.verdict_words import (
    NAMES,
    all_reasons,
    closeness,
    forecast_sentence,
    has_worthy_date,
    reasons_against,
    state_words,
    steady_sentence,
)
from analytics.judgement.words import amount, scope_name
from analytics.quantities import quantity

Level = Literal["steady", "watch", "plan cleaning", "act now", "check a meter", "not enough data"]
LEVELS: tuple[Level, ...] = ("act now", "check a meter", "plan cleaning", "watch", "not enough data", "steady")
"""Most urgent first."""

PLAN_AHEAD_DAYS = 45
WATCH_AHEAD_DAYS = 120
"""A limit that is likely to be reached within these is planned for, or watched; common practice, no source."""
OXIDATION_FLOW = 1.03
"""More flow than this beside more salt passage looks like oxidation; common practice, no source. [-]"""
FLOW_PER_DEGREE = 0.03
"""Of permeate flow at the same pressure with water temperature, as manuals have it. [1/degC]"""
FAR_COLDER_C = 5.0
"""A fall that would take water so much colder is told in degrees; judgement, no source. [degC]"""
NOTHING = 0.5
"""Where nothing at all is likelier than this to have changed, no cleaning is called for; judgement, no source. [-]"""
SCALE_FLOW = 0.96
"""A last stage that passes more salt and has lost this much flow is looked at for scale; common practice, no source."""


@dataclass(frozen=True)
class Danger:
    """An absolute limit that was passed in the latest readings, in words with its numbers, and what it calls for."""

    headline: str
    reason: str
    level: Literal["act now", "watch"] = "act now"


@dataclass(frozen=True)
class Verdict:
    level: Level
    headline: str
    reasons: tuple[str, ...]


def no_verdict(why: str) -> Verdict:
    """Verdict where nothing can be compared."""
    return Verdict("not enough data", f"There is no answer yet: {why}.", (f"{why[:1].upper()}{why[1:]}.",))


def reach_verdict(
    indicators: Sequence[Indicator],
    *,
    dangers: Sequence[Danger] = (),
    meters: Sequence[Meter] = (),
    doubted: Meter | None = None,
    root_cause: str = "",
    nothing: float = 0.0,
    today: date,
) -> Verdict:
    """Weigh the indicators, the absolute limits and the meters.

    Parameters
    ----------
    indicators : sequence of Indicator
        Of the train and its stages.
    dangers : sequence of Danger
    meters : sequence of Meter
        Candidates for a meter that is off; empty when the balances hold.
    doubted : Meter, optional
        A gauge whose drift would look much like what is seen.
    root_cause : str, optional
        What the cleanings so far say against one more before the cause is found, as a sentence.
    nothing : float, optional
        Probability that nothing has changed, by all that is metered together. [-]
    today : date
        Local day of the answer.
    """
    judged = [i for i in indicators if i.temperature_corrected or i.name == "pressure_drop"]
    unjudged = [i for i in indicators if i not in judged]
    urgent = [d for d in dangers if d.level == "act now"]
    if urgent:
        reasons = [d.reason for d in (*urgent, *_less_urgent(dangers))] + reasons_against(judged)
        return Verdict("act now", urgent[0].headline, tuple(reasons))
    verdict = _judged_verdict(judged, unjudged, meters, _Doubts(doubted, root_cause, nothing), today)
    return _warned_of(verdict, _less_urgent(dangers), unjudged)


@dataclass(frozen=True)
class _Doubts:
    """What speaks against a cleaning."""

    gauge: Meter | None
    root_cause: str
    nothing: float


def _judged_verdict(
    judged: Sequence[Indicator],
    unjudged: Sequence[Indicator],
    meters: Sequence[Meter],
    doubts: _Doubts,
    today: date,
) -> Verdict:
    if meters:
        return _meter_verdict(meters, judged)
    if not judged:
        return _only_unjudged(unjudged)
    found = _limits_verdict(judged, doubts.root_cause, today)
    verdict = _doubting(_held_back(found, judged, doubts.nothing), doubts.gauge)
    return _without_temperature(verdict, unjudged) if unjudged else verdict


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


def _less_urgent(dangers: Sequence[Danger]) -> list[Danger]:
    return [d for d in dangers if d.level == "watch"]


def _warned_of(verdict: Verdict, dangers: Sequence[Danger], unjudged: Sequence[Indicator]) -> Verdict:
    """What has to be looked at leads where nothing more urgent does; else it is the first reason."""
    if not dangers:
        return verdict
    reasons = tuple(danger.reason for danger in dangers)
    if verdict.level == "steady":
        return Verdict("watch", dangers[0].headline, reasons)
    if verdict.level == "not enough data":
        unknown = f"{_unjudged_note(unjudged)} {_SEASON}" if unjudged else verdict.headline
        return Verdict("watch", dangers[0].headline, (*reasons, unknown))
    return Verdict(verdict.level, verdict.headline, (*reasons, *verdict.reasons))


def _doubting(verdict: Verdict, doubted: Meter | None) -> Verdict:
    """Nothing is cleaned for a gauge that may be off: look at it first."""
    if doubted is None or verdict.level not in ("plan cleaning", "act now"):
        return verdict
    name = quantity(doubted.quantity).label.lower()
    first = f"First compare the {name} gauge with another one: {doubted.evidence}."
    return Verdict(verdict.level, f"{verdict.headline} {first}", (first, *verdict.reasons))


def _cleanable(indicators: Sequence[Indicator]) -> list[Indicator]:
    return [i for i in indicators if i.name != "salt_passage"]


def _worst(indicators: Sequence[Indicator]) -> Indicator | None:
    """The indicator furthest on its way from one to its limit, what the season explains left out."""
    return max(indicators, key=closeness, default=None)


def _limits_verdict(judged: Sequence[Indicator], root_cause: str, today: date) -> Verdict:
    cleanable = _cleanable(judged)
    late = _worst([i for i in cleanable if i.standing == "too late"])
    if late:
        past = f"{state_words(late)}, past {amount(late.too_late)}"
        headline = f"{root_cause} {past}." if root_cause else f"{past}: clean now, before what is left hardens."
        return Verdict("act now", headline, tuple(reasons_against(judged)))
    due = _worst([i for i in cleanable if i.standing == "clean"])
    if due:
        headline = _plan_sentence(due, f"{state_words(due)}, limit {amount(due.limit)}.", root_cause)
        return Verdict("plan cleaning", headline, tuple(reasons_against(judged)))
    salt = _worst([i for i in judged if i.name == "salt_passage" and i.standing in ("clean", "too late")])
    if salt:
        return _salt_verdict(salt, judged, root_cause)
    coming = _next_limit(cleanable, today, PLAN_AHEAD_DAYS)
    if coming:
        headline = _plan_sentence(coming, forecast_sentence(coming), root_cause)
        return Verdict("plan cleaning", headline, tuple(reasons_against(judged)))
    return _watch_or_steady(judged, cleanable, today)


def _watch_or_steady(judged: Sequence[Indicator], cleanable: Sequence[Indicator], today: date) -> Verdict:
    coming = _next_limit(cleanable, today, WATCH_AHEAD_DAYS)
    warned = _worst([i for i in judged if i.standing == "warn"])
    if coming:
        return Verdict("watch", f"No cleaning yet: {_lower(forecast_sentence(coming))}", tuple(reasons_against(judged)))
    if warned:
        flows = _flows_beside(warned, judged) if warned.name == "salt_passage" else []
        hint = "; with more flow, look for oxidation first" if _more_flow(flows) else ""
        headline = f"{state_words(warned)}{hint}; the limit is {amount(warned.limit)}."
        return Verdict("watch", headline, tuple(reasons_against(judged, flows)))
    return Verdict("steady", steady_sentence(judged), tuple(all_reasons(judged)))


def _salt_verdict(salt: Indicator, judged: Sequence[Indicator], root_cause: str) -> Verdict:
    """Salt passage past its limit while flow and pressure drop are not: look before anything is cleaned."""
    flows = _flows_beside(salt, judged)
    if flows and flows[-1].scope == _last_scope(judged) and flows[-1].value <= SCALE_FLOW:
        return _scale_verdict(salt, flows[-1], judged, root_cause)
    cause = "with more flow, look for oxidation" if _more_flow(flows) else "look for leaks and oxidation"
    late = salt.standing == "too late"
    headline = f"{state_words(salt)}: {cause} {'now' if late else 'first'}; cleaning does not mend that."
    return Verdict("act now" if late else "watch", headline, tuple(reasons_against(judged, flows)))


def _flows_beside(salt: Indicator, judged: Sequence[Indicator]) -> list[Indicator]:
    """Flow of the train, then that of the stage whose salt passage it is about."""
    return [i for i in judged if i.name == "permeate_flow" and i.scope in (salt.scope, "train")]


def _more_flow(flows: Sequence[Indicator]) -> bool:
    return bool(flows) and flows[-1].value > OXIDATION_FLOW


def _last_scope(judged: Sequence[Indicator]) -> str:
    """The last stage that was judged; the train where no stage was."""
    return max((i.scope for i in judged if i.scope != "train"), default="train")


def _scale_verdict(salt: Indicator, flow: Indicator, judged: Sequence[Indicator], root_cause: str) -> Verdict:
    """More salt with less flow in the last stage: scale, which the flow shows before the pressure drop does."""
    due = flow.standing != "fine"
    headline = (
        f"{state_words(salt)} with {abs(100 * (1 - flow.value)):.0f} % less flow: it looks like scale in the last"
        " stage; check the antiscalant dose" + (" and plan an acid cleaning." if due and not root_cause else ".")
    )
    if due and root_cause:
        headline = f"{root_cause} {headline}"
    return Verdict("plan cleaning" if due else "watch", headline, tuple(reasons_against(judged, (flow,))))


def _next_limit(indicators: Sequence[Indicator], today: date, days: int) -> Indicator | None:
    near = [
        i
        for i in indicators
        if i.reaches_limit and (i.reaches_limit.likely - today).days <= days and has_worthy_date(i)
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
        names = " or ".join(quantity(m.quantity).label.lower() for m in meters)
        headline = f"Check the meters: {names} does not fit the balance; judge the membranes after that."
    evidence = meters[0].evidence
    return Verdict("check a meter", headline, (f"{evidence[:1].upper()}{evidence[1:]}.", *reasons_against(judged)))


def _only_unjudged(unjudged: Sequence[Indicator]) -> Verdict:
    if not unjudged:
        return no_verdict("too few days with usable readings in the present run")
    return Verdict("not enough data", _NO_TEMPERATURE, (*_colder(unjudged), _SEASON))


_NO_TEMPERATURE = "Flow and salt passage cannot be judged, because feed temperature is not measured."
_SEASON = (
    "Without feed temperature, a warmer or colder season moves flow and salt passage by about 3 % a degree, and looks"
    " like a recovery or a loss of the membranes."
)


def _without_temperature(verdict: Verdict, unjudged: Sequence[Indicator]) -> Verdict:
    """Pressure drop alone was judged: say so, and never call the rest steady."""
    note = _unjudged_note(unjudged)
    if verdict.level == "steady":
        found = Verdict("not enough data", f"Pressure drop is within its limits. {note}", verdict.reasons)
    else:
        found = Verdict(verdict.level, f"{verdict.headline} {note}", verdict.reasons)
    return replace(found, reasons=(*found.reasons, *_colder(unjudged), _SEASON))


def _colder(unjudged: Sequence[Indicator]) -> list[str]:
    """How much colder the water would have to be, were it temperature alone, where that is a lot."""
    flows = [i for i in unjudged if i.name == "permeate_flow" and i.value > 0]
    least = min(flows, key=lambda i: i.value, default=None)
    degrees = 0.0 if least is None else -log(least.value) / FLOW_PER_DEGREE
    if least is None or degrees < FAR_COLDER_C:
        return []
    return [
        f"{state_words(least)}: were it temperature alone, the water would have to be about {degrees:.0f} °C colder"
        " than in the reference; a thermometer tells at once."
    ]


def _unjudged_note(unjudged: Sequence[Indicator]) -> str:
    names = " and ".join(n for key, n in NAMES.items() if any(i.name == key for i in unjudged))
    return f"{names[:1].upper()}{names[1:]} cannot be judged, because feed temperature is not measured."
