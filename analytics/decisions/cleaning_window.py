"""When to clean: the earliest day that makes sense, the day to aim for, and the latest day that still works.

Too early, there is little to take off, little to prove it by, and another exposure of the membrane; too late, deposits
have hardened and less comes back.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from analytics.decisions.cleaning_programme import ProgrammeVerdict
from analytics.decisions.cleaning_solution import NOT_CLEANED
from analytics.judgement.cause import Cause
from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Meter
from analytics.judgement.reach import reaches
from analytics.judgement.trend import Trend
from analytics.judgement.verdict import PLAN_AHEAD_DAYS
from analytics.judgement.verdict_words import NAMES, has_worthy_date
from analytics.judgement.words import amount, percent_change, plain_date, scope_name

Advice = Literal["now", "plan", "not yet", "look first", "unknown"]

HIGH_FOULING = 2.0
"""Makers' bulletins call twice the cleaning criterion "high fouling": from there, cleanings are harder. [-]"""
LIKELY = 0.5
"""A cause with at least this probability decides; common practice, no source. [-]"""


@dataclass(frozen=True)
class CleaningWindow:
    """The window and why. Days are None where the data do not carry one.

    `scope` and `name` are those of the indicator that governs; `stage` is the stage to clean, None for the whole train.
    `cause` is the likeliest cause that a cleaning can take off.
    """

    advice: Advice
    scope: str
    name: str
    stage: int | None
    earliest: date | None
    aim: date | None
    latest: date | None
    cause: str
    reasons: tuple[str, ...]


def cleaning_window(
    indicators: Sequence[Indicator],
    trends: Sequence[Trend],
    causes: Sequence[Cause],
    meters: Sequence[Meter],
    *,
    today: date,
    programme: ProgrammeVerdict | None = None,
) -> CleaningWindow:
    """When to clean, from where the indicators stand and where they are going.

    Parameters
    ----------
    indicators, trends : sequence
        Of the best method, one trend for each indicator.
    causes : sequence of Cause
        Likeliest first.
    meters : sequence of Meter
        Suspects.
    today : date
    programme : ProgrammeVerdict, optional
        What the cleanings so far say together; a call for the root cause comes before a further cleaning.

    Returns
    -------
    CleaningWindow

    Notes
    -----
    Permeate flow and pressure drop govern; salt passage alone never calls for a cleaning. The window opens at the
    warning, is aimed at the limit, and closes when the change may at the earliest be twice that of the limit, or too
    late.
    """
    judged = [
        i for i in indicators if i.name != "salt_passage" and (i.temperature_corrected or i.name == "pressure_drop")
    ]
    if not judged:
        return CleaningWindow("unknown", "", "", None, None, None, None, "", ("No indicator tells how dirty it is.",))
    governing = _governing(judged)
    trend = next((t for t in trends if (t.scope, t.name) == (governing.scope, governing.name)), None)
    cause = next((c.cause for c in causes if c.cause not in NOT_CLEANED and c.cause != "none"), "")
    asked = _in_question(governing, indicators)
    first = _to_look_at_first(asked, causes, meters) or (programme.root_cause if programme else "")
    if first:
        return CleaningWindow("look first", governing.scope, governing.name, None, None, None, None, cause, (first,))
    return _window(governing, trend, cause, today)


def beyond_cleaning(causes: Sequence[Cause]) -> str:
    """The likeliest cause in a sentence, with its first check, where it is one that no cleaning mends; else empty."""
    likeliest = next(iter(causes), None)
    if likeliest is None or likeliest.cause == "meter" or not _not_cleaned(likeliest):
        return ""
    name, percent = likeliest.cause.replace("-", " "), f"{100 * likeliest.probability:.0f}"
    return f"It looks like {name} ({percent} %), which no cleaning mends: {likeliest.next_check}."


def _to_look_at_first(asked: bool, causes: Sequence[Cause], meters: Sequence[Meter]) -> str:
    """What speaks against cleaning at all; empty where nothing does, and where no cleaning is asked about."""
    if any(meter.suspect for meter in meters):
        return NOT_CLEANED["meter"]
    likeliest = next(iter(causes), None)
    if likeliest is None or (likeliest.cause != "meter" and not asked):
        return ""
    return _not_cleaned(likeliest)


def _in_question(governing: Indicator, indicators: Sequence[Indicator]) -> bool:
    """Whether a cleaning would be thought of, and might be in vain: something has passed a limit or will. What no
    cleaning mends leaves channels alone, so that a pressure drop past its limit is cleaned whatever else there is."""
    if governing.name == "pressure_drop" and governing.standing in ("clean", "too late"):
        return False
    return any(i.standing != "fine" or i.reaches_limit is not None for i in indicators)


def _not_cleaned(likeliest: Cause) -> str:
    return NOT_CLEANED.get(likeliest.cause, "") if likeliest.probability >= LIKELY else ""


def _share_of_way(indicator: Indicator) -> float:
    """How much of the way from one to the limit is gone, what the season explains left out. [-]"""
    return (indicator.value - indicator.allowance - 1) / (indicator.limit - 1)


def _governing(judged: Sequence[Indicator]) -> Indicator:
    """The one that reaches its limit first; without a date, the one nearest to it."""
    passed = [i for i in judged if i.standing in ("clean", "too late")]
    past = [i for i in judged if i.standing == "warn" and _share_of_way(i) >= 1]  # by its value, though not surely
    dated = [i for i in judged if i.reaches_limit is not None]
    if passed or past or not dated:
        return max(passed or past or judged, key=_share_of_way)
    return min(dated, key=lambda i: i.reaches_limit.likely if i.reaches_limit else date.max)


def _window(governing: Indicator, trend: Trend | None, cause: str, today: date) -> CleaningWindow:
    stage = None if governing.scope == "train" else int(governing.scope.removeprefix("stage"))
    reach = governing.reaches_limit
    name = f"normalized {NAMES[governing.name]} of {scope_name(governing.scope)}"
    warn = reaches(trend, governing.warn) if trend is not None else None
    closes = _closes(governing, trend)
    if governing.standing in ("clean", "too late"):
        reasons = [f"The limit of {amount(governing.limit)} is passed: {name} is {percent_change(governing.value)}."]
        if governing.standing == "too late":
            reasons.append("It is past the point from which deposits harden; clean now, and expect less to come back.")
        elif closes:
            reasons.append(_closing_words(governing, closes))
        latest = today if governing.standing == "too late" else closes
        return CleaningWindow(
            "now", governing.scope, governing.name, stage, today, today, latest, cause, tuple(reasons)
        )
    if governing.standing == "fine" and reach is None:
        why = f"{name[:1].upper()}{name[1:]} is {percent_change(governing.value)} and its limit is not in sight."
        return CleaningWindow("not yet", governing.scope, governing.name, stage, None, None, None, cause, (why,))
    earliest = today if governing.standing == "warn" else warn.likely if warn else None
    aim = reach.likely if reach else None
    reasons = [_opening_words(governing, name, earliest, today)]
    if reach:
        reasons.append(
            f"The limit of {amount(governing.limit)} is reached around {plain_date(reach.likely)} "
            f"({plain_date(reach.earliest)} at the earliest, {plain_date(reach.latest)} at the latest)."
        )
    if closes:
        reasons.append(_closing_words(governing, closes))
    near = aim is not None and (aim - today).days <= PLAN_AHEAD_DAYS and has_worthy_date(governing)
    soon = governing.standing == "warn" or near
    return CleaningWindow(
        "plan" if soon else "not yet", governing.scope, governing.name, stage, earliest, aim,
        max(closes, aim) if closes and aim else closes, cause, tuple(reasons),
    )  # fmt: skip


def _opening_words(governing: Indicator, name: str, earliest: date | None, today: date) -> str:
    state = f"{name[:1].upper()}{name[1:]} is {percent_change(governing.value)}"
    if earliest is not None and earliest <= today:
        return (
            f"{state}, past the warning at {amount(governing.warn)}: there is enough to take off, and to prove it by."
        )
    when = f" It passes the warning at {amount(governing.warn)} around {plain_date(earliest)}." if earliest else ""
    return f"{state}: so far there is little to take off.{when}"


def _high_fouling(governing: Indicator) -> float:
    """Twice the change of the limit, or too late, whichever comes first. Ratio to the reference. [-]"""
    double = 1 + HIGH_FOULING * (governing.limit - 1)
    return max(double, governing.too_late) if governing.falling_is_bad else min(double, governing.too_late)


def _closes(governing: Indicator, trend: Trend | None) -> date | None:
    found = reaches(trend, _high_fouling(governing)) if trend is not None else None
    if found is not None:
        return found.earliest
    return governing.reaches_limit.latest if governing.reaches_limit else None


def _closing_words(governing: Indicator, closes: date) -> str:
    return (
        f"After {plain_date(closes)} it may be past {amount(_high_fouling(governing))}, where deposits have hardened "
        "and a cleaning brings less back."
    )
