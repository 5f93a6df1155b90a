"""Results of cleanings in the words and marks of a page."""

from collections.abc import Sequence

from analytics.decisions.cleaning_effect import CleaningResult, IndicatorEffect, Level
from analytics.decisions.cleaning_programme import ProgrammeVerdict
from server.assessments.levels import INDICATORS, scope_words
from server.display import DASH, THIN, number, sentence

ADVICE_LOOKS = {"now": "act", "plan": "plan", "not yet": "steady", "look first": "watch", "unknown": "unknown"}
ADVICE_LABELS = {
    "now": "Clean now", "plan": "Plan a cleaning", "not yet": "No cleaning yet", "look first": "Look first",
    "unknown": "Not known yet",
}  # fmt: skip
QUALITY_LOOKS = {
    "worked": "steady", "doubtful": "watch", "failed": "plan", "too early": "unknown", "nothing to win": "unknown",
    "cannot be said": "unknown",
}  # fmt: skip
QUALITY_LABELS = {
    "worked": "It worked", "doubtful": "It worked in part", "failed": "It did not work",
    "too early": "Too early to say", "nothing to win": "Little was there to win", "cannot be said": "Cannot be said",
}  # fmt: skip
PROGRAMME_LOOKS = {
    "none yet": "unknown", "in order": "steady", "improve": "watch", "root cause": "plan", "capital": "plan",
}  # fmt: skip


def look_of_programme(verdict: ProgrammeVerdict) -> str:
    """Colour and mark of what the cleanings say together."""
    return PROGRAMME_LOOKS[verdict.state]


def effect_name(effect: IndicatorEffect) -> str:
    """Such as "Pressure drop, stage 1"."""
    return f"{sentence(INDICATORS[effect.name])}, {scope_words(effect.scope)}"


def level_text(level: Level | None) -> str:
    """A level with its interval."""
    if level is None:
        return DASH
    return f"{number(level.value, 3)} ({number(level.low, 2)} to {number(level.high, 2)})"


def share_text(effect: IndicatorEffect) -> str:
    """The share that came back, with its interval."""
    share = effect.efficiency
    if share is None:
        return "too little was lost" if effect.after is not None and effect.before is not None else DASH
    low, high = (min(max(100 * value, -99), 199) for value in (share.low, share.high))
    return f"{number(100 * share.value)}{THIN}% ({number(low)} to {number(high)})"


def stays_text(effect: IndicatorEffect) -> str:
    """What stays of the loss against the reference."""
    if effect.after is None:
        return DASH
    return f"{number(100 * effect.irreversible, 1)}{THIN}%"


def asked_text(effect: IndicatorEffect) -> str:
    """What was asked for, and whether it was reached."""
    comparison = "at least" if effect.name == "permeate_flow" else "at most"
    met = {True: "reached", False: "missed", None: "not known yet"}[effect.accepted]
    return f"{comparison} {number(effect.asked, 2)}: {met}"


def result_sentence(result: CleaningResult) -> str:
    """What became of a cleaning, in one sentence."""
    governing = result.governing
    if governing is None or governing.efficiency is None:
        return {
            "too early": "There are not two days with readings after it yet.",
            "nothing to win": "So little had been lost before it that nothing can be said about it.",
        }.get(result.quality, "The log does not carry an answer: readings before or after it are missing.")
    share = governing.efficiency
    name = f"{INDICATORS[governing.name]} of {scope_words(governing.scope)}"
    return (
        f"{number(100 * share.value)}{THIN}% of what {name} had lost came back "
        f"({number(100 * share.low)} to {number(100 * min(share.high, 1.99))}{THIN}%); "
        f"{number(max(100 * governing.irreversible, 0.0), 1)}{THIN}% stays against the reference."
    )


def scope_of_stage(stage: int | None) -> str:
    """Which part of the train a cleaning was about."""
    return f"stage {stage}" if stage else "the whole train"


def chemistry(steps: Sequence[dict[str, object]]) -> str:
    """What was used, in the order of the baths."""
    return ", then ".join(str(step.get("chemical") or "a bath without name") for step in steps)
