"""The page of a train's cleanings as typed values: when to clean, what an interval costs, and what became of each."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from analytics.plant import Plant
from server.assessments.graphs import ChartBox, figure_json
from server.assessments.levels import CAUSES
from server.cleanings.charts import chart_words, interval_figure
from server.cleanings.economics import Economics
from server.cleanings.fields import FROM_BUDGET, PRICES
from server.cleanings.forms import as_entered
from server.cleanings.results import Done, Row
from server.cleanings.words import (
    ADVICE_LABELS,
    ADVICE_LOOKS,
    QUALITY_LABELS,
    QUALITY_LOOKS,
    chemistry,
    effect_name,
    look_of_programme,
    result_sentence,
    scope_of_stage,
    share_text,
)
from server.display import counted, day, moment, number, sentence
from server.templating import Frame

PARTS = (
    ("chemicals", "Chemicals"), ("labour", "Labour"), ("lost_production", "Permeate not made"),
    ("water_and_waste", "Water and waste"), ("energy", "Heat"), ("exposure", "Wear of the elements"),
)  # fmt: skip


@dataclass(frozen=True)
class WhenPart:
    """The window, in words."""

    look: str
    label: str
    headline: str
    reasons: tuple[str, ...]
    days: tuple[tuple[str, str, str], ...]
    worksheet: str
    record: str


@dataclass(frozen=True)
class PriceField:
    name: str
    label: str
    unit: str
    text: str
    hint: str
    error: str


@dataclass(frozen=True)
class MoneyPart:
    """The economic interval: what it is, or what is missing for it, and the prices."""

    sentence: str
    reasons: tuple[str, ...]
    chart: ChartBox | None
    parts: tuple[tuple[str, str], ...]
    total: str
    prices: tuple[PriceField, ...]
    from_budget: tuple[tuple[str, str], ...]
    given: bool

    @property
    def wrong(self) -> bool:
        """Whether a price was refused."""
        return any(one.error for one in self.prices)


@dataclass(frozen=True)
class CleaningLine:
    """One cleaning in the list; `link` leads to its record, `write` to where a missing one is written."""

    day: str
    where: str
    chemistry: str
    look: str
    quality: str
    sentence: str
    share: str
    governing: str
    delay: str
    next: str
    link: str
    write: str


@dataclass(frozen=True)
class CleaningsPage:
    """Everything about the cleanings of one train."""

    frame: Frame
    site: str
    train: str
    train_id: int
    site_id: int
    currency: str
    when: WhenPart
    money: MoneyPart
    programme_look: str
    programme: str
    programme_reasons: tuple[str, ...]
    lines: tuple[CleaningLine, ...]
    withdrawn: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class PriceForm:
    """Prices as entered, with what is wrong."""

    entered: Mapping[str, str]
    errors: Mapping[str, str]


def when_part(document: Mapping[str, Any] | None, train_id: int) -> WhenPart:
    """The window of the latest assessment, in words."""
    window = (document or {}).get("cleaning")
    base = f"/trains/{train_id}/cleanings"
    if not window:
        return WhenPart("unknown", ADVICE_LABELS["unknown"], "When to clean cannot be told yet.",
                        ("It follows from the next assessment.",), (), f"{base}/worksheet", f"{base}/new")  # fmt: skip
    advice, stage = window["advice"], window["stage"]
    chosen = {key: str(value) for key, value in (("stage", stage), ("cause", window["cause"])) if value}
    query = f"?{urlencode(chosen)}" if chosen else ""
    days = [
        ("Earliest that makes sense", window["earliest"], "enough to take off, and to prove it by"),
        ("Aim for", window["aim"], "when the limit is reached"),
        ("Latest that still works", window["latest"], "before deposits harden"),
    ]
    return WhenPart(
        look=ADVICE_LOOKS.get(advice, "unknown"),
        label=ADVICE_LABELS.get(advice, ADVICE_LABELS["unknown"]),
        headline=_headline(advice, stage, window),
        reasons=tuple(window["reasons"]),
        days=tuple((title, day(date.fromisoformat(value)), why) for title, value, why in days if value),
        worksheet=f"{base}/worksheet{query}",
        record=f"{base}/new{query}",
    )


def _headline(advice: str, stage: int | None, window: Mapping[str, Any]) -> str:
    where = scope_of_stage(stage)
    cause = CAUSES.get(window["cause"], "").lower()
    suspected = f" {cause} is suspected." if cause else ""
    if advice == "now":
        return f"Clean {where} now.{sentence(suspected.strip()) and ' ' + sentence(suspected.strip())}"
    if advice == "plan":
        aim = f", for {day(date.fromisoformat(window['aim']))}" if window["aim"] else ""
        return f"Plan a cleaning of {where}{aim}.{sentence(suspected.strip()) and ' ' + sentence(suspected.strip())}"
    if advice == "look first":
        return "Do not clean yet: something else comes first."
    return "No cleaning is needed yet." if advice == "not yet" else "When to clean cannot be told yet."


def money_part(
    found: Economics, prices: Mapping[str, float], currency: str, form: PriceForm | None, means: Mapping[str, float]
) -> MoneyPart:
    """The economic interval in words, its chart, and the fields of the prices; `means` stand where none is entered."""
    texts = form.entered if form else {one.name: as_entered(prices.get(one.name), one, "SI") for one in PRICES}
    errors = form.errors if form else {}
    fields = tuple(
        PriceField(
            one.name,
            one.label,
            unit_words(one.unit, currency),
            texts.get(one.name, ""),
            one.hint,
            errors.get(one.name, ""),
        )
        for one in PRICES
    )
    budget = tuple(
        (label, f"{prices[here]:g} {unit_words(unit, currency)}" if here in prices else "not given yet")
        for _, here, label, unit in FROM_BUDGET
    )
    given = any(one.name in prices for one in PRICES)
    parts = tuple((label, number(getattr(found.price, name))) for name, label in PARTS if getattr(found.price, name))
    total = number(found.price.total)
    told = _means_told(means, prices, currency)
    if found.interval is None:
        return MoneyPart(found.missing, told, None, parts, total, fields, budget, given)
    interval = found.interval
    words = chart_words(interval, [found.limit_days], currency)
    figure = interval_figure(interval, limit_days=found.limit_days, currency=currency)
    box = ChartBox("interval", "Cost per day against the interval", words, figure_json(figure))
    return MoneyPart(
        _money_sentence(found), (*_money_reasons(found, currency), *told), box, parts, total, fields, budget, given
    )


def _means_told(means: Mapping[str, float], prices: Mapping[str, float], currency: str) -> tuple[str, ...]:
    """Which figures are the mean of the records, because no price was entered."""
    used = [
        f"{one.label.lower()} {number(means[one.name])} {unit_words(one.unit, currency)}"
        for one in PRICES
        if one.name in means and one.name not in prices
    ]
    return (f"Not entered, so the mean of the records stands: {', '.join(used)}.",) if used else ()


def unit_words(unit: str, currency: str) -> str:
    """A unit with the money of the site."""
    unit = unit.replace("money", currency or "money").replace("m3", "m³")
    return "" if unit == "-" else unit


def _money_sentence(found: Economics) -> str:
    interval = found.interval
    assert interval is not None
    best = f"By money alone, a cleaning every {counted(round(interval.optimum_days), 'day')} costs least"
    if interval.bounded_by_limit and found.limit_days is not None:
        return (
            f"{best}; but at the present pace the limit comes after {counted(round(found.limit_days), 'day')}, and the "
            "limit goes first: what is cleaned later comes off worse."
        )
    return f"{best}, and no limit comes before that."


def _money_reasons(found: Economics, currency: str) -> tuple[str, ...]:
    interval = found.interval
    assert interval is not None
    reasons = [
        f"Between {number(interval.flat_from_days)} and {number(interval.flat_to_days)} days it costs within 5 % of "
        "the best: no need to be exact.",
        f"Fouling asks for {number(1000 * found.pressure_growth_bar, 1)} mbar more feed pressure each day.",
        f"At the planned interval: {number(interval.planned_cost, 2)} {currency} a day; at the best: "
        f"{number(interval.optimum_cost, 2)} {currency}.",
    ]
    if interval.closed_form_days == interval.closed_form_days:
        reasons.append(
            f"The square-root law, best interval √(2 × cost / growth), gives {number(interval.closed_form_days)} days."
        )
    if found.pump_limit_days is not None:
        reasons.append(
            f"The pump is at its limit {number(found.pump_limit_days)} days after a cleaning; then permeate is lost."
        )
    return tuple(reasons)


def cleaning_lines(row: Row, train_id: int, zone: ZoneInfo) -> tuple[CleaningLine, ...]:
    """The cleanings of a train, newest first."""
    return tuple(_line(one, train_id, zone) for one in reversed(row.done))


def _line(one: Done, train_id: int, zone: ZoneInfo) -> CleaningLine:
    governing = one.result.governing
    write = ""
    if one.event is not None:
        local = one.started_at.astimezone(zone).strftime("%Y-%m-%dT%H:%M")
        write = f"/trains/{train_id}/cleanings/new?{urlencode({'stage': one.stage or '', 'started': local})}"
    return CleaningLine(
        day=day(one.first),
        where=sentence(scope_of_stage(one.stage)),
        chemistry=chemistry(one.record.content.get("steps", ()))
        if one.record
        else (one.event.detail if one.event else ""),
        look=QUALITY_LOOKS[one.result.quality],
        quality=QUALITY_LABELS[one.result.quality],
        sentence=result_sentence(one.result),
        share=share_text(governing) if governing else "",
        governing=effect_name(governing) if governing else "",
        delay=counted(one.delay_days, "day") if one.delay_days is not None else "before the limit",
        next=counted(one.next_days, "day") if one.next_days is not None else "",
        link=f"/cleanings/{one.record.id}" if one.record else "",
        write=write,
    )


def withdrawn_lines(records: Sequence[Any], zone: ZoneInfo) -> tuple[tuple[str, str, str], ...]:
    """Records that were taken out of use: when the cleaning was, why the record went, and where it can be read."""
    return tuple(
        (day(one.started_at.astimezone(zone)), f"{one.void_reason} ({one.voided_by}, {moment(one.voided_at, zone)})",
         f"/cleanings/{one.id}")
        for one in records if one.voided_at is not None
    )  # fmt: skip


def cleanings_page(
    frame: Frame,
    plant: Plant,
    ids: tuple[int, int],
    document: Mapping[str, Any] | None,
    row: Row,
    records: Sequence[Any],
    money: MoneyPart,
) -> CleaningsPage:
    """Put the page together; `ids` are those of train and site, `records` all, those out of use among them."""
    zone = ZoneInfo(plant.site.timezone)
    return CleaningsPage(
        frame=frame,
        site=plant.site.name,
        train=plant.train.name,
        train_id=ids[0],
        site_id=ids[1],
        currency=plant.site.currency,
        when=when_part(document, ids[0]),
        money=money,
        programme_look=look_of_programme(row.programme),
        programme=row.programme.headline,
        programme_reasons=row.programme.reasons,
        lines=cleaning_lines(row, ids[0], zone),
        withdrawn=withdrawn_lines(records, zone),
    )
