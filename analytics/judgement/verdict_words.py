"""The sentences of the verdict, made from the numbers of the indicators."""

from collections.abc import Collection, Sequence

from analytics.judgement.limits import Indicator
from analytics.judgement.words import all_of, amount, day_and_month, percent_change, plain_date, scope_name

NAMES = {"permeate_flow": "permeate flow", "salt_passage": "salt passage", "pressure_drop": "pressure drop"}
MOST_REASONS = 3
WORTH_A_DATE = 0.4
"""A date alone calls for nothing before this share of the way to the limit is gone; common practice, no source. [-]"""
SURELY_GONE = 0.3
"""And before the near end of its interval is past this share; common practice, no source. [-]"""


def closeness(indicator: Indicator) -> float:
    """Share of the way from one to the limit that is gone, what the season explains left out. [-]"""
    return (indicator.value - indicator.allowance - 1) / (indicator.limit - 1)


def has_date_to_watch(indicator: Indicator) -> bool:
    """Whether its date is worth an eye: enough of the way is gone."""
    return indicator.reaches_limit is not None and closeness(indicator) >= WORTH_A_DATE


def has_worthy_date(indicator: Indicator) -> bool:
    """Whether its date may call for something: enough of the way is gone, and surely so."""
    near = indicator.value + (indicator.half if indicator.falling_is_bad else -indicator.half)
    surely = (near - indicator.allowance - 1) / (indicator.limit - 1)
    return has_date_to_watch(indicator) and surely >= SURELY_GONE


def state_words(indicator: Indicator) -> str:
    """Such as "Normalized permeate flow of the train is down 8.0 %"."""
    state = f"Normalized {NAMES[indicator.name]} of {scope_name(indicator.scope)} is {percent_change(indicator.value)}"
    explained = abs(100 * indicator.allowance)
    if explained < 1:
        return state
    return f"{state}, of which water temperature alone may explain {explained:.0f} points"


def forecast_sentence(indicator: Indicator) -> str:
    """When an indicator reaches its limit, of one that has a date."""
    reach = indicator.reaches_limit
    assert reach is not None
    name = f"Normalized {NAMES[indicator.name]} of {scope_name(indicator.scope)}"
    return (
        f"{name} is {percent_change(indicator.value)} and reaches its limit of {amount(indicator.limit)}"
        f" between {day_and_month(reach.earliest, reach.latest)} and {plain_date(reach.latest)},"
        f" likely around {day_and_month(reach.likely, reach.latest)}."
    )


def unsure_sentence(indicator: Indicator) -> str:
    """That an indicator is past its limit, but is not known well enough to act upon."""
    where = scope_name(indicator.scope)
    return (
        f"{state_words(indicator)}, past its limit of {amount(indicator.limit)}, but that is not sure: give or take"
        f" {100 * indicator.half:.0f} points. Compare the gauges and cells of {where} before anything is cleaned."
    )


def steady_sentence(judged: Sequence[Indicator]) -> str:
    """That nothing needs to be done, by name of what was judged."""
    names = [f"{n}{_of_what(key, judged)}" for key, n in NAMES.items() if any(i.name == key for i in judged)]
    listed = all_of(names)
    verb = "are" if len(names) > 1 else "is"
    return f"{listed[:1].upper()}{listed[1:]} {verb} within the limits; nothing needs to be done."


def _of_what(name: str, judged: Sequence[Indicator]) -> str:
    """Which stages, where an indicator is known of some of them alone."""
    scopes = {i.scope for i in judged if i.name == name}
    stages = {i.scope for i in judged} - {"train"}
    if "train" in scopes or scopes >= stages:
        return ""
    return f" of {' and '.join(scope_name(scope) for scope in sorted(scopes))}"


def all_reasons(judged: Sequence[Indicator]) -> list[str]:
    """One sentence an indicator, those nearest to their limit first."""
    ordered = sorted(judged, key=closeness, reverse=True)
    return [_reason(i) for i in ordered[:MOST_REASONS]]


def reasons_against(judged: Sequence[Indicator], beside: Collection[Indicator] = ()) -> list[str]:
    """The same of what speaks for a verdict that is not good: what stands within its limits is no reason for it.

    `beside` are those that the headline speaks of, wherever they stand.
    """
    return all_reasons([i for i in judged if i.standing != "fine" or has_date_to_watch(i) or i in beside])


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
    return f"{state_words(indicator)} ({interval}, limit {amount(indicator.limit)}){change}."
