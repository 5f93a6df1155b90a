"""The verdict: one level, one sentence, and the reasons with their numbers. Sentences are made from the numbers.

Order of precedence: danger to the elements now, a meter that cannot be right, limits passed, limits near, nothing.
Salt passage alone never calls for a cleaning: leaks and oxidation are looked at first.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Meter
from analytics.judgement.words import amount, day_and_month, percent_change, plain_date, scope_name
from analytics.quantities import quantity

Level = Literal["steady", "watch", "plan cleaning", "act now", "check a meter", "not enough data"]
LEVELS: tuple[Level, ...] = ("act now", "check a meter", "plan cleaning", "watch", "not enough data", "steady")
"""Most urgent first."""

PLAN_AHEAD_DAYS = 45
WATCH_AHEAD_DAYS = 120
"""A limit that is likely to be reached within these is planned for, or watched; common practice, no source."""
OXIDATION_FLOW = 1.03
"""More flow than this beside more salt passage looks like oxidation; common practice, no source. [-]"""
MOST_REASONS = 3
WORTH_A_DATE = 0.4
"""A date alone calls for nothing before this share of the way to the limit is gone; common practice, no source. [-]"""
SURELY_GONE = 0.3
"""And before the near end of its interval is past this share; common practice, no source. [-]"""
SCALE_FLOW = 0.96
"""A last stage that passes more salt and has lost this much flow is looked at for scale; common practice, no source."""
NAMES = {"permeate_flow": "permeate flow", "salt_passage": "salt passage", "pressure_drop": "pressure drop"}


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
    today : date
        Local day of the answer.
    """
    judged = [i for i in indicators if i.temperature_corrected or i.name == "pressure_drop"]
    unjudged = [i for i in indicators if i not in judged]
    urgent = [d for d in dangers if d.level == "act now"]
    if urgent:
        reasons = [d.reason for d in (*urgent, *_less_urgent(dangers))] + _reasons(judged)
        return Verdict("act now", urgent[0].headline, tuple(reasons))
    return _warned_of(_judged_verdict(judged, unjudged, meters, doubted, root_cause, today), _less_urgent(dangers))


def _judged_verdict(
    judged: Sequence[Indicator],
    unjudged: Sequence[Indicator],
    meters: Sequence[Meter],
    doubted: Meter | None,
    root_cause: str,
    today: date,
) -> Verdict:
    if meters:
        return _meter_verdict(meters, judged)
    if not judged:
        return _only_unjudged(unjudged)
    verdict = _doubting(_limits_verdict(judged, root_cause, today), doubted)
    return _without_temperature(verdict, unjudged) if unjudged else verdict


def _less_urgent(dangers: Sequence[Danger]) -> list[Danger]:
    return [d for d in dangers if d.level == "watch"]


def _warned_of(verdict: Verdict, dangers: Sequence[Danger]) -> Verdict:
    """What has to be looked at leads where nothing more urgent does; else it is the first reason."""
    if not dangers:
        return verdict
    reasons = (*(d.reason for d in dangers), *verdict.reasons)
    if verdict.level == "steady":
        return Verdict("watch", dangers[0].headline, reasons)
    if verdict.level == "not enough data":
        return Verdict("watch", dangers[0].headline, (*reasons, verdict.headline))
    return Verdict(verdict.level, verdict.headline, reasons)


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
    return max(indicators, key=_closeness, default=None)


def _closeness(indicator: Indicator) -> float:
    return (indicator.value - indicator.allowance - 1) / (indicator.limit - 1)


def _surely_gone(indicator: Indicator) -> float:
    """Share of the way to the limit that the near end of the interval has gone."""
    near = indicator.high if indicator.falling_is_bad else indicator.low
    return (near - indicator.allowance - 1) / (indicator.limit - 1)


def _limits_verdict(judged: Sequence[Indicator], root_cause: str, today: date) -> Verdict:
    cleanable = _cleanable(judged)
    late = _worst([i for i in cleanable if i.standing == "too late"])
    if late:
        past = f"{_state(late)}, past {amount(late.too_late)}"
        headline = f"{root_cause} {past}." if root_cause else f"{past}: clean now, before what is left hardens."
        return Verdict("act now", headline, tuple(_reasons(judged)))
    due = _worst([i for i in cleanable if i.standing == "clean"])
    if due:
        headline = _plan_sentence(due, f"{_state(due)}, limit {amount(due.limit)}.", root_cause)
        return Verdict("plan cleaning", headline, tuple(_reasons(judged)))
    salt = _worst([i for i in judged if i.name == "salt_passage" and i.standing in ("clean", "too late")])
    if salt:
        return _salt_verdict(salt, judged, root_cause)
    coming = _next_limit(cleanable, today, PLAN_AHEAD_DAYS)
    if coming:
        headline = _plan_sentence(coming, _forecast_sentence(coming), root_cause)
        return Verdict("plan cleaning", headline, tuple(_reasons(judged)))
    return _watch_or_steady(judged, cleanable, today)


def _watch_or_steady(judged: Sequence[Indicator], cleanable: Sequence[Indicator], today: date) -> Verdict:
    coming = _next_limit(cleanable, today, WATCH_AHEAD_DAYS)
    warned = _worst([i for i in judged if i.standing == "warn"])
    if coming:
        return Verdict("watch", f"No cleaning yet: {_lower(_forecast_sentence(coming))}", tuple(_reasons(judged)))
    if warned:
        oxidation = warned.name == "salt_passage" and _more_flow(_flows_beside(warned, judged))
        hint = "; with more flow, look for oxidation first" if oxidation else ""
        headline = f"{_state(warned)}{hint}; the limit is {amount(warned.limit)}."
        return Verdict("watch", headline, tuple(_reasons(judged)))
    return Verdict("steady", _steady_sentence(judged), tuple(_reasons(judged)))


def _steady_sentence(judged: Sequence[Indicator]) -> str:
    names = [f"{n}{_of_what(key, judged)}" for key, n in NAMES.items() if any(i.name == key for i in judged)]
    listed = " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
    verb = "are" if len(names) > 1 else "is"
    return f"{listed[:1].upper()}{listed[1:]} {verb} within the limits; nothing needs to be done."


def _of_what(name: str, judged: Sequence[Indicator]) -> str:
    """Which stages, where an indicator is known of some of them alone."""
    scopes = {i.scope for i in judged if i.name == name}
    stages = {i.scope for i in judged} - {"train"}
    if "train" in scopes or scopes >= stages:
        return ""
    return f" of {' and '.join(scope_name(scope) for scope in sorted(scopes))}"


def _salt_verdict(salt: Indicator, judged: Sequence[Indicator], root_cause: str) -> Verdict:
    """Salt passage past its limit while flow and pressure drop are not: look before anything is cleaned."""
    flows = _flows_beside(salt, judged)
    if flows and flows[-1].scope == _last_scope(judged) and flows[-1].value <= SCALE_FLOW:
        return _scale_verdict(salt, flows[-1], judged, root_cause)
    cause = "with more flow, look for oxidation" if _more_flow(flows) else "look for leaks and oxidation"
    late = salt.standing == "too late"
    headline = f"{_state(salt)}: {cause} {'now' if late else 'first'}; cleaning does not mend that."
    return Verdict("act now" if late else "watch", headline, tuple(_reasons(judged)))


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
        f"{_state(salt)} with {abs(100 * (1 - flow.value)):.0f} % less flow: it looks like scale in the last stage;"
        " check the antiscalant dose" + (" and plan an acid cleaning." if due and not root_cause else ".")
    )
    if due and root_cause:
        headline = f"{root_cause} {headline}"
    return Verdict("plan cleaning" if due else "watch", headline, tuple(_reasons(judged)))


def _next_limit(indicators: Sequence[Indicator], today: date, days: int) -> Indicator | None:
    near = [
        i
        for i in indicators
        if i.reaches_limit
        and (i.reaches_limit.likely - today).days <= days
        and _closeness(i) >= WORTH_A_DATE
        and _surely_gone(i) >= SURELY_GONE
    ]
    return min(near, key=lambda i: i.reaches_limit.likely if i.reaches_limit else date.max, default=None)


def _plan_sentence(indicator: Indicator, why: str, root_cause: str) -> str:
    """Plan a cleaning, or find the cause first where the cleanings so far did not help."""
    return f"{root_cause} {why}" if root_cause else f"Plan a cleaning{_where(indicator)}: {_lower(why)}"


def _forecast_sentence(indicator: Indicator) -> str:
    reach = indicator.reaches_limit
    assert reach is not None
    name = f"Normalized {NAMES[indicator.name]} of {scope_name(indicator.scope)}"
    return (
        f"{name} is {percent_change(indicator.value)} and reaches its limit of {amount(indicator.limit)}"
        f" between {day_and_month(reach.earliest, reach.latest)} and {plain_date(reach.latest)},"
        f" likely around {day_and_month(reach.likely, reach.latest)}."
    )


def _where(indicator: Indicator) -> str:
    return "" if indicator.scope == "train" else f" of {scope_name(indicator.scope)}"


def _state(indicator: Indicator) -> str:
    """Such as "Normalized permeate flow of the train is down 8.0 %"."""
    state = f"Normalized {NAMES[indicator.name]} of {scope_name(indicator.scope)} is {percent_change(indicator.value)}"
    explained = abs(100 * indicator.allowance)
    if explained < 1:
        return state
    return f"{state}, of which water temperature alone may explain {explained:.0f} points"


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _reasons(judged: Sequence[Indicator]) -> list[str]:
    """One sentence an indicator, those nearest to their limit first."""
    ordered = sorted(judged, key=_closeness, reverse=True)
    return [_reason(i) for i in ordered[:MOST_REASONS]]


def _reason(indicator: Indicator) -> str:
    change = ""
    if (
        indicator.change_per_30_days is not None
        and indicator.change_low is not None
        and indicator.change_high is not None
    ):
        moving = indicator.change_low * indicator.change_high > 0
        points = 100 * indicator.change_per_30_days
        change = (
            f", changing by {points:+.1f} points in 30 days"
            if moving
            else ", with no change that stands out from the scatter"
        ).replace("-", "−")
    interval = f"{amount(indicator.low)} to {amount(indicator.high)} of the reference"
    return f"{_state(indicator)} ({interval}, limit {amount(indicator.limit)}){change}."


def _meter_verdict(meters: Sequence[Meter], judged: Sequence[Indicator]) -> Verdict:
    suspects = [m for m in meters if m.suspect]
    if suspects:
        first = suspects[0]
        name = quantity(first.quantity).label.lower()
        reads = "high" if first.bias > 0 else "low"
        off = f"{abs(100 * first.bias):.0f} % {reads}"
        headline = f"Check the {name} meter: it seems to read {off}; judge the membranes after that."
    else:
        names = " or ".join(quantity(m.quantity).label.lower() for m in meters)
        headline = f"Check the meters: {names} does not fit the balance; judge the membranes after that."
    evidence = meters[0].evidence
    return Verdict("check a meter", headline, (f"{evidence[:1].upper()}{evidence[1:]}.", *_reasons(judged)))


def _only_unjudged(unjudged: Sequence[Indicator]) -> Verdict:
    if not unjudged:
        return no_verdict("too few days with usable readings in the present run")
    return Verdict("not enough data", _NO_TEMPERATURE, (_SEASON,))


_NO_TEMPERATURE = "Flow and salt passage cannot be judged, because feed temperature is not measured."
_SEASON = (
    "Without feed temperature, a warmer or colder season moves flow and salt passage by about 3 % a degree, and looks"
    " like a recovery or a loss of the membranes."
)


def _without_temperature(verdict: Verdict, unjudged: Sequence[Indicator]) -> Verdict:
    """Pressure drop alone was judged: say so, and never call the rest steady."""
    names = " and ".join(n for key, n in NAMES.items() if any(i.name == key for i in unjudged))
    note = f"{names[:1].upper()}{names[1:]} cannot be judged, because feed temperature is not measured."
    if verdict.level == "steady":
        return Verdict("not enough data", f"Pressure drop is within its limits. {note}", (*verdict.reasons, _SEASON))
    return Verdict(verdict.level, f"{verdict.headline} {note}", (*verdict.reasons, _SEASON))
