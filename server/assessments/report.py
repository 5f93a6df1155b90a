"""An assessment as a page for a terminal."""

import textwrap

from analytics.assessment import Assessment
from analytics.condition.helpful_meter import most_helpful_meter
from analytics.judgement.limits import Indicator
from analytics.judgement.verdict_words import NAMES
from analytics.judgement.words import amount, not_foreseen, plain_date, scope_name
from analytics.quantities import QUANTITIES
from server.assessments.report_advice import causes_part, cleaning_part

WIDTH = 88
MARKS = {
    "steady": "○",
    "watch": "◐",
    "plan cleaning": "▲",
    "act now": "■",
    "check a meter": "◇",
    "not enough data": "·",
}
"""Mark of each level, the same as on the pages; never colour alone."""


def terminal_report(assessment: Assessment) -> str:
    """Verdict, reasons, indicators, causes, when to clean, what was set aside and why, and what could not be known."""
    parts = [
        _heading(assessment),
        _verdict(assessment),
        _table(assessment.indicators),
        causes_part(assessment.causes),
        cleaning_part(assessment.cleaning, assessment.cleanings.cleanings) if assessment.indicators else "",
        _readings(assessment),
        _missing(assessment),
        _notes(assessment),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _wrap(text: str, *, indent: str = "  ", first: str | None = None) -> str:
    return textwrap.fill(text, WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent)


def _heading(assessment: Assessment) -> str:
    site, train = assessment.plant.site, assessment.plant.train
    return f"{site.name} · {train.name} · as of {plain_date(assessment.as_of.date())}"


def _verdict(assessment: Assessment) -> str:
    verdict = assessment.verdict
    lines = [f"{MARKS[verdict.level]} {verdict.level.capitalize()}", _wrap(verdict.headline)]
    lines += [_wrap(reason, indent="    ", first="  - ") for reason in verdict.reasons if reason != verdict.headline]
    return "\n".join(lines)


def _table(indicators: tuple[Indicator, ...]) -> str:
    if not indicators:
        return ""
    head = f"  {'relative to the reference':<28}{'now':>6}{'interval':>14}{'limit':>7}{'30 days':>9}  reaches the limit"
    return "\n".join([head, *(_row(indicator) for indicator in indicators)])


def _row(indicator: Indicator) -> str:
    label = f"{NAMES[indicator.name]}, {scope_name(indicator.scope)}"
    change = indicator.change_per_30_days
    moving = "–" if change is None else f"{100 * change:+.1f} %".replace("-", "−")
    reach = indicator.reaches_limit
    if not indicator.temperature_corrected and indicator.name != "pressure_drop":
        when = "not corrected for temperature"
    elif reach is None:
        when = "passed" if indicator.standing in ("clean", "too late") else not_foreseen(indicator.days_needed)
    else:
        when = f"{reach.earliest.isoformat()} to {reach.latest.isoformat()}"
    interval = f"{amount(indicator.low)}–{amount(indicator.high)}"
    return f"  {label:<28}{amount(indicator.value):>6}{interval:>14}{amount(indicator.limit):>7}{moving:>9}  {when}"


def _readings(assessment: Assessment) -> str:
    counts = assessment.counts
    aside = counts.total - counts.used
    lines = [f"Readings: {counts.total} in all, {counts.used} used, {aside} set aside"]
    lines += [f"  {count:>7} {reason}" for reason, count in counts.set_aside.items()]
    for name, reasons in counts.values_set_aside.items():
        label = QUANTITIES[name].label if name in QUANTITIES else name.replace("_", " ")
        listed = ", ".join(f"{count} {reason}" for reason, count in reasons.items())
        lines.append(_wrap(f"{label}: single values not used ({listed})"))
    period = assessment.reference
    if period is not None:
        days = f"{plain_date(period.start)} to {plain_date(period.end)}"
        read = f"{_counted(period.readings, 'reading')} on {_counted(period.days, 'day')}"
        lines.append(f"Reference: {days}, {read} ({period.chosen})")
    return "\n".join(lines)


def _counted(count: int, one: str) -> str:
    return f"{count} {one}" if count == 1 else f"{count} {one}s"


def _missing(assessment: Assessment) -> str:
    if not assessment.missing:
        return ""
    lines = ["Not known, for want of a meter:"]
    lines += [
        _wrap(f"{QUANTITIES[m.quantity].label}: {m.effect}.", indent="    ", first="  - ") for m in assessment.missing
    ]
    judged = {(one.scope, one.name) for one in assessment.indicators}
    helpful = most_helpful_meter(assessment.plant, assessment.log.levels.metered, judged)
    lines += [_wrap(helpful.sentence, indent="  ", first="  ")] if helpful else []
    return "\n".join(lines)


def _notes(assessment: Assessment) -> str:
    if not assessment.notes:
        return ""
    return "\n".join(["Notes:", *(_wrap(note, indent="    ", first="  - ") for note in assessment.notes)])
