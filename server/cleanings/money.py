"""What an interval between cleanings costs, as a page shows it: in words, its chart, and the prices it rests on."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.assessments.graphs import ChartBox, figure_json
from server.cleanings.charts import chart_words, interval_figure
from server.cleanings.economics import Economics
from server.cleanings.fields import FROM_BUDGET, PRICES
from server.cleanings.forms import as_entered
from server.display import counted, number

PARTS = (
    ("chemicals", "Chemicals"), ("labour", "Labour"), ("lost_production", "Permeate not made"),
    ("water_and_waste", "Water and waste"), ("energy", "Heat"), ("exposure", "Wear of the elements"),
)  # fmt: skip


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
class PriceForm:
    """Prices as entered, with what is wrong."""

    entered: Mapping[str, str]
    errors: Mapping[str, str]


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
