"""The feed water page as typed values: what can form, up to which recovery, and the analyses it rests on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from analytics.decisions.feed_analysis import GIVEN_AS, charge_balance, doubts
from analytics.decisions.scaling_limits import (
    LANGELIER,
    Concentrate,
    HighestRecovery,
    Limit,
    concentrate_of,
    highest_recoveries,
    label_of,
)
from analytics.physics.carbonate_indices import LANGELIER_RANGE_MG_L
from analytics.physics.dissolved import IONS, MINERALS
from server.assessments.levels import INDICATORS
from server.display import THIN, UNKNOWN, moment, number, percent_change
from server.feedwater.forms import AnalysisForm, LimitsForm
from server.feedwater.models import FeedAnalysis
from server.feedwater.queries import Operation, analysis_of
from server.plants.models import Train
from server.templating import Frame

USUAL_SALT_PASSAGE = 0.02
"""Where the train does not say; common practice, no source. [-]"""
USUAL_RECOVERY = 0.75


@dataclass(frozen=True)
class ScaleLine:
    """One scale: where it stands at the train's recovery, and how far recovery could go. Shares in percent."""

    label: str
    formula: str
    now: str
    limit: str
    without: str
    with_: str
    without_share: float
    with_share: float
    standing: str


@dataclass(frozen=True)
class IonLine:
    name: str
    label: str
    formula: str
    value: str
    unit: str
    error: str


@dataclass(frozen=True)
class AnalysisLine:
    analysis_id: int
    sampled_at: str
    said: str
    author: str
    withdrawn: str


@dataclass(frozen=True)
class LimitLine:
    label: str
    unit: str
    without_name: str
    with_name: str
    without: str
    with_: str
    error: str


@dataclass(frozen=True)
class Scaling:
    """What the newest analysis says of the concentrate."""

    sampled_at: str
    headline: str
    reasons: tuple[str, ...]
    doubts: tuple[str, ...]
    balance: str
    recovery: str
    recovery_share: float
    ph: str
    tds: str
    stiff_davis: str
    lines: tuple[ScaleLine, ...]


@dataclass(frozen=True)
class FeedWaterPage:
    frame: Frame
    site: str
    train: str
    train_id: int
    timezone: str
    scaling: Scaling | None
    form: AnalysisForm
    ions: tuple[IonLine, ...]
    units: tuple[str, ...]
    lines: tuple[AnalysisLine, ...]
    limits: tuple[LimitLine, ...]
    limits_form: LimitsForm


def feed_water_page(
    frame: Frame, train: Train, analyses: Sequence[FeedAnalysis], operation: Operation,
    limits: Mapping[str, Limit], form: AnalysisForm, limits_form: LimitsForm, indicators: Sequence[Mapping[str, Any]],
) -> FeedWaterPage:  # fmt: skip
    """Put the page of a train together; `indicators` are those of its latest assessment."""
    zone = ZoneInfo(train.site.timezone)
    newest = next((row for row in analyses if row.voided_at is None), None)
    return FeedWaterPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        timezone=train.site.timezone,
        scaling=None if newest is None else _scaling(newest, zone, operation, limits, indicators, len(train.stages)),
        form=form,
        ions=tuple(_ion(name, form) for name in IONS),
        units=GIVEN_AS,
        lines=tuple(_line(row, zone) for row in analyses),
        limits=tuple(_limit(n, name, limits_form) for n, name in enumerate(limits)),
        limits_form=limits_form,
    )


def _scaling(
    row: FeedAnalysis, zone: ZoneInfo, operation: Operation, limits: Mapping[str, Limit],
    indicators: Sequence[Mapping[str, Any]], stages: int,
) -> Scaling:  # fmt: skip
    analysis = analysis_of(row)
    passage = operation.salt_passage or USUAL_SALT_PASSAGE
    concentrate = concentrate_of(analysis, salt_passage=min(passage, 0.5))
    highest = highest_recoveries(concentrate, limits)
    recovery = operation.recovery or USUAL_RECOVERY
    balance = charge_balance(analysis)
    return Scaling(
        sampled_at=moment(row.sampled_at, zone),
        headline=_headline(highest, recovery, metered=operation.recovery is not None),
        reasons=(*_reasons(highest, recovery), *_last_stage(indicators, stages)),
        doubts=doubts(analysis),
        balance=f"{number(balance.cations, 2)} meq/L of cations, {number(balance.anions, 2)} of anions"
        f" ({number(balance.error_percent, 1)}{THIN}%)",
        recovery=_percent(recovery) + ("" if operation.recovery else ", taken; the train's is not metered"),
        recovery_share=round(100 * recovery, 2),
        ph=number(_at(concentrate, concentrate.ph, recovery), 2),
        tds=f"{number(_at(concentrate, concentrate.tds_mg_l, recovery))}{THIN}mg/L",
        stiff_davis=number(_at(concentrate, concentrate.stiff_davis, recovery), 2),
        lines=tuple(_scale_line(concentrate, one, limits[one.name], recovery) for one in highest),
    )


def _at(concentrate: Concentrate, values: Any, recovery: float) -> float:
    return float(values[abs(concentrate.recoveries - recovery).argmin()])


def _percent(share: float | None) -> str:
    return UNKNOWN if share is None else f"{number(100 * share)}{THIN}%"


def _lowest(highest: Sequence[HighestRecovery], side: str) -> tuple[float, str] | None:
    known = [(getattr(one, side), one.name) for one in highest if getattr(one, side) is not None]
    return min(known, default=None)


def _scale_of(name: str) -> str:
    """What would form, inside a sentence."""
    return "calcium carbonate (by its Langelier index)" if name == LANGELIER else label_of(name).lower()


def _headline(highest: Sequence[HighestRecovery], recovery: float, *, metered: bool) -> str:
    found = _lowest(highest, "with_antiscalant")
    if found is None:
        return "This analysis holds none of the ions from which a scale could be told."
    most, name = found
    runs = "runs at" if metered else "is taken to run at"
    if most < recovery:
        return (
            f"Above {_percent(most)} recovery {_scale_of(name)} can form even with antiscalant;"
            f" the train {runs} {_percent(recovery)}."
        )
    return (
        f"With antiscalant up to {_percent(most)} recovery, held by {_scale_of(name)};"
        f" the train {runs} {_percent(recovery)}."
    )


def _reasons(highest: Sequence[HighestRecovery], recovery: float) -> tuple[str, ...]:
    without = _lowest(highest, "without_antiscalant")
    reasons = []
    if without is not None and without[0] < recovery:
        most, name = without
        where = "in the feed itself" if most == 0 else f"from {_percent(most)} recovery"
        reasons.append(
            f"Without antiscalant {_scale_of(name)} is past its limit {where}: the train depends on its dosing."
        )
    unknown = [_scale_of(one.name) for one in highest if one.with_antiscalant is None]
    if unknown:
        reasons.append(f"Not known, as an ion was not measured: {', '.join(unknown)}.")
    return tuple(reasons)


def _last_stage(indicators: Sequence[Mapping[str, Any]], stages: int) -> tuple[str, ...]:
    """What the membranes say beside it: scale shows first in the last stage."""
    last = [one for one in indicators if one["scope"] == f"stage{stages}" and one["value"] is not None]
    if not last:
        return ("The last stage is not metered by itself, so its membranes cannot confirm or deny it.",)
    said = ", ".join(f"{INDICATORS[one['name']]} {percent_change(one['value'])}" for one in last)
    return (f"The last stage, where scale shows first, stands against its reference at: {said}.",)


def _scale_line(concentrate: Concentrate, one: HighestRecovery, limit: Limit, recovery: float) -> ScaleLine:
    langelier = one.name == LANGELIER
    value = concentrate.at(recovery, one.name) if one.with_antiscalant is not None else float("nan")
    unit = "" if langelier else f"{THIN}%"
    decimals = 1 if langelier else 0
    formula = "as ASTM D3739" if langelier else MINERALS[one.name].formula
    if langelier and value != value and one.with_antiscalant is not None:
        formula = f"meant for {number(LANGELIER_RANGE_MG_L[0])} to {number(LANGELIER_RANGE_MG_L[1])} mg/L"
    return ScaleLine(
        label=label_of(one.name),
        formula=formula,
        now=UNKNOWN if value != value else f"{number(value, decimals)}{unit}",
        limit=f"{number(limit.without_antiscalant, decimals)} / {number(limit.with_antiscalant, decimals)}{unit}",
        without=_percent(one.without_antiscalant),
        with_=_percent(one.with_antiscalant),
        without_share=round(100 * (one.without_antiscalant or 0), 2),
        with_share=round(100 * (one.with_antiscalant or 0), 2),
        standing=_standing(one, recovery),
    )


def _standing(one: HighestRecovery, recovery: float) -> str:
    if one.with_antiscalant is None or one.without_antiscalant is None:
        return "not known"
    if one.with_antiscalant < recovery:
        return "past the limit"
    return "needs antiscalant" if one.without_antiscalant < recovery else "fine"


def _ion(name: str, form: AnalysisForm) -> IonLine:
    ion = IONS[name]
    return IonLine(
        name, ion.label, ion.formula, form.text(f"ion_{name}"), form.unit(name), form.errors.get(f"ion_{name}", "")
    )


def _line(row: FeedAnalysis, zone: ZoneInfo) -> AnalysisLine:
    ions = ", ".join(
        f"{IONS[name].label.lower()} {one['value']:g} {one['given_as']}".removesuffix(f" {GIVEN_AS[0]}")
        for name, one in row.entered.items()
    )
    withdrawn = ""
    if row.voided_at is not None:
        withdrawn = f"{row.void_reason} ({row.voided_by or 'somebody'}, {moment(row.voided_at, zone)})"
    said = f"pH {row.ph:g}, {row.temperature_c:g} °C; {ions}" + (f". {row.remark}" if row.remark else "")
    return AnalysisLine(row.id, moment(row.sampled_at, zone), said, row.author, withdrawn)


def _limit(n: int, name: str, form: LimitsForm) -> LimitLine:
    unit = "index" if name == LANGELIER else "% of saturation"
    without, with_ = f"without_{n}", f"with_{n}"
    error = form.errors.get(with_, "")
    return LimitLine(label_of(name), unit, without, with_, form.text(without), form.text(with_), error)


def blank_form(zone: ZoneInfo, now: datetime) -> AnalysisForm:
    """The form before anything is entered: now, by the clock of the site."""
    return AnalysisForm({"when": now.astimezone(zone).strftime("%Y-%m-%dT%H:%M")})
