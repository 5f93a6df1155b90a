"""Salt passage past its limit while flow and pressure drop are not: look before anything is cleaned.

Leaks and oxidation are no reason to clean; only scale in the last stage, which takes flow as well, is.
"""

from collections.abc import Sequence

from analytics.judgement.grounds import Verdict
from analytics.judgement.limits import Indicator
from analytics.judgement.verdict_words import reasons_against, state_words

OXIDATION_FLOW = 1.03
"""More flow than this beside more salt passage looks like oxidation; common practice, no source. [-]"""
SCALE_FLOW = 0.96
"""A last stage that passes more salt and has lost this much flow is looked at for scale; common practice, no source."""


def salt_verdict(salt: Indicator, judged: Sequence[Indicator], root_cause: str, beyond_cleaning: str = "") -> Verdict:
    """What salt passage past its limit calls for.

    Parameters
    ----------
    salt : Indicator
        The worst one past its limit.
    judged : sequence of Indicator
        All that could be judged.
    root_cause : str
        What the cleanings so far say against one more, as a sentence; empty where nothing does.
    beyond_cleaning : str
        What no cleaning mends, where it is likeliest, as a sentence with its check; else empty. More flow speaks for
        oxidation by itself.
    """
    flows = flows_beside(salt, judged)
    if flows and flows[-1].scope == _last_scope(judged) and flows[-1].value <= SCALE_FLOW:
        return _scale_verdict(salt, flows[-1], judged, root_cause)
    cause = "with more flow, look for oxidation" if more_flow(flows) else "look for leaks and oxidation"
    late = salt.standing == "too late"
    headline = f"{state_words(salt)}: {cause} {'now' if late else 'first'}; cleaning does not mend that."
    if beyond_cleaning and not more_flow(flows):
        headline = f"{state_words(salt)}. {beyond_cleaning}"
    return Verdict("act now" if late else "watch", headline, tuple(reasons_against(judged, flows)))


def flows_beside(salt: Indicator, judged: Sequence[Indicator]) -> list[Indicator]:
    """Flow of the train, then that of the stage whose salt passage it is about."""
    return [i for i in judged if i.name == "permeate_flow" and i.scope in (salt.scope, "train")]


def more_flow(flows: Sequence[Indicator]) -> bool:
    """Whether more flow goes with more salt, as oxidation has it."""
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
